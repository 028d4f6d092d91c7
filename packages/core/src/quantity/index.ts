import { InputError } from "../errors/index.ts";
import { type Dimension, PRINTED, SPELLINGS, UNITS } from "./units.ts";

export type { Dimension } from "./units.ts";

/** A number with its unit and, where stated, its tolerance. */
export interface Quantity {
  dimension: Dimension;
  /** In the base unit of the dimension. */
  value: number;
  /** Lowest and highest value that the tolerance allows; both equal `value` where none was stated. */
  low: number;
  high: number;
  /** The text it was read from, or as it would be printed. */
  text: string;
}

const NUMBER = String.raw`[+-]?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?(?:[eE][+-]?\d+)?`;
const WHOLE = new RegExp(
  String.raw`^(${NUMBER})\s*([^\d\s\u00b1,;+-][^\u00b1+,;]*?)?(?:\s*(?:\u00b1|\+/-|\+-)\s*(${NUMBER})\s*([^\d\s]\S*)?)?$`,
);

const toNumber = (text: string): number => Number(text.replaceAll(",", ""));

const unitNamed = (name: string) => {
  const unit = UNITS[SPELLINGS[name] ?? name];
  return unit;
};

/** Units that a dimension may be written in, for messages. */
const unitsOf = (dimension: Dimension): string[] =>
  Object.keys(UNITS).filter((name) => UNITS[name]!.dimension === dimension);

/** What is said of a unit that isn't one: `mhz` is told from `MHz` by its letters' case alone. */
function unknownUnit(name: string, dimension: Dimension): string {
  const known = unitsOf(dimension);
  const meant = known.find((each) => each.toLowerCase() === name.toLowerCase());
  return `has the unknown unit “${name}” ${meant ? `(did you mean “${meant}”?)` : `(known here: ${known.join(", ")})`}`;
}

/** How to write one, for messages and hover texts. */
export const EXAMPLES: Readonly<Record<Dimension, string>> = {
  frequency: "1.5 MHz",
  voltage: "5 V ± 5 %",
  current: "350 mA",
  power: "2 W",
  resistance: "10 kΩ",
  capacitance: "100 nF",
  time: "6 ms",
  length: "2 m",
  rate: "2,400 bit/s",
  rotation: "300 rpm ± 1 %",
  memory: "48 KiB",
  temperature: "40 °C",
  thermal: "10 °C/W",
  trackDensity: "96 tpi",
  bitDensity: "7958 ftprad",
  coercivity: "23 kA/m",
  share: "5 %",
  count: "8",
};

/**
 * Reads `1.8432 MHz`, `5 V ± 5 %`, `32 KiB`, `2,400 bit/s`. A tolerance is a percentage or an amount in the same
 * dimension. Throws an `InputError` naming what was expected.
 */
export function parseQuantity(text: string, dimension: Dimension): Quantity {
  const wrong = (why: string): never => {
    throw new InputError("bad-quantity", `“${text}” ${why}; expected something like “${EXAMPLES[dimension]}”`);
  };
  const match = WHOLE.exec(text.trim());
  if (!match) {
    const pointed = text.trim().replace(/(\d),(\d)/g, "$1.$2");
    return wrong(
      WHOLE.test(pointed)
        ? `has a comma where a point belongs (did you mean “${pointed}”?)`
        : "is not a number with a unit",
    );
  }
  const [, number = "", unitText = "", spreadText, spreadUnitText] = match;
  let factor = 1;
  if (unitText.trim() !== "") {
    const unit = unitNamed(unitText.trim());
    if (!unit) return wrong(unknownUnit(unitText.trim(), dimension));
    if (unit.dimension !== dimension) return wrong(`has a unit of ${unit.dimension}, where ${dimension} belongs`);
    factor = unit.factor;
  } else if (dimension !== "count") return wrong(`has no unit (known here: ${unitsOf(dimension).join(", ")})`);
  const value = toNumber(number) * factor;
  if (spreadText === undefined) return { dimension, value, low: value, high: value, text: text.trim() };
  const spreadUnit = spreadUnitText === undefined ? undefined : unitNamed(spreadUnitText.trim());
  if (spreadUnitText !== undefined && !spreadUnit)
    return wrong(`has the unknown unit “${spreadUnitText}” in its tolerance`);
  const spread = Math.abs(toNumber(spreadText));
  let amount: number;
  if (!spreadUnit) amount = spread * factor;
  else if (spreadUnit.dimension === dimension) amount = spread * spreadUnit.factor;
  else if (spreadUnit.dimension === "share") amount = Math.abs(value) * spread * spreadUnit.factor;
  else return wrong(`has a tolerance in ${spreadUnit.dimension}`);
  return { dimension, value, low: value - amount, high: value + amount, text: text.trim() };
}

/** Up to `digits` significant digits without trailing zeros, thousands parted by commas: `2,400`, `1.8432`. */
export function formatNumber(value: number, digits = 6): string {
  if (!Number.isFinite(value)) return value > 0 ? "∞" : value < 0 ? "−∞" : "not a number";
  const rounded = Number(value.toPrecision(digits));
  const [whole = "0", fraction] =
    Math.abs(rounded) < 1e-6 && rounded !== 0
      ? [rounded.toExponential(), undefined]
      : String(rounded).includes("e")
        ? [rounded.toFixed(0), undefined]
        : String(rounded).split(".");
  const parted = /^-?\d+$/.test(whole) ? whole.replace(/\B(?=(\d{3})+(?!\d))/g, ",") : whole;
  return (fraction === undefined ? parted : `${parted}.${fraction}`).replace(/^-/, "−");
}

/** Prints a value in base units in the unit that people would choose: `formatValue(0.35, "current")` is `350 mA`. */
export function formatValue(value: number, dimension: Dimension, digits = 5): string {
  if (dimension === "count") return formatNumber(value, countDigits(value, digits));
  const names = PRINTED[dimension];
  const size = Math.abs(value);
  let name = names.find((each) => size >= UNITS[each]!.factor * 0.9999999) ?? names[size === 0 ? 0 : names.length - 1]!;
  // 1,536 bytes stay bytes: only whole kibibytes are printed as such.
  if (dimension === "memory" && value % 1024 !== 0) name = "bytes";
  const shown = value / UNITS[name]!.factor;
  return `${formatNumber(shown, dimension === "memory" ? countDigits(shown, digits) : digits)} ${name}`;
}

/** What is counted is told to the last one: an image of 1,066,496 bytes has no byte less. */
const countDigits = (value: number, digits: number): number => (Number.isSafeInteger(value) ? 16 : digits);

/** A stretch of time as people say it: `45 s`, `65 min`, `2 h 5 min`. */
export function formatDuration(seconds: number): string {
  if (seconds < 119.5) return formatValue(seconds, "time", seconds < 10 ? 2 : 3);
  const minutes = Math.round(seconds / 60);
  if (minutes < 120) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h${minutes % 60 === 0 ? "" : ` ${minutes % 60} min`}`;
}

/** A quantity made from a number in base units. */
export function quantity(value: number, dimension: Dimension): Quantity {
  return { dimension, value, low: value, high: value, text: formatValue(value, dimension) };
}

/** Prints a quantity with its tolerance, as `parseQuantity` reads it. */
export function formatQuantity(each: Quantity): string {
  const text = formatValue(each.value, each.dimension);
  if (each.low === each.high) return text;
  const share = each.value === 0 ? 0 : ((each.high - each.low) / 2 / Math.abs(each.value)) * 100;
  return `${text} ± ${formatNumber(share, 4)} %`;
}

/** Reads an address or a plain whole number: `$C000`, `0xC000`, `49152`. */
export function parseAddress(text: string | number): number {
  const [, hexadecimal, decimal] = /^(?:(?:\$|0x)([0-9a-f]{1,6})|(\d[\d,]{0,12}))$/i.exec(String(text).trim()) ?? [];
  const value = hexadecimal ? Number.parseInt(hexadecimal, 16) : Number(decimal?.replaceAll(",", ""));
  if (!(value <= 0xffffff))
    throw new InputError(
      "bad-address",
      `“${text}” is not an address; expected something like “$C000”, “0xC000” or “49152”`,
    );
  return value;
}
