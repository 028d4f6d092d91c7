import { type Logic, parseLogic } from "./logic.ts";

/**
 * What the outputs of logic parts do, by the names of the pins in their data sheets, and the pins' numbers in the
 * 14- and 16-pin package. Functions are those of the 74LS data sheets; pin numbers are from memory.
 */
export interface Gates {
  /** Function of each output, over the names of inputs. */
  outputs: ReadonlyMap<string, Logic>;
  inputs: ReadonlySet<string>;
  /** Name of each numbered pin that carries a signal. */
  pins: ReadonlyMap<number, string>;
}

interface Row {
  outputs: Readonly<Record<string, string>>;
  /** Pin names in the order of their numbers; `-` for ground and supply. */
  pins: string;
}

const QUAD = "1A 1B 1Y 2A 2B 2Y - 3Y 3A 3B 4Y 4A 4B -";
const HEX = "1A 1Y 2A 2Y 3A 3Y - 4Y 4A 5Y 5A 6Y 6A -";
const units = (count: number, output: (unit: number) => string): Record<string, string> =>
  Object.fromEntries(Array.from({ length: count }, (_, index) => [`${index + 1}Y`, output(index + 1)]));

const decoder = (enable: string, outputs: number, names: readonly string[], prefix = ""): Record<string, string> =>
  Object.fromEntries(
    Array.from({ length: outputs }, (_, value) => [
      `${prefix}Y${value}`,
      `!(${enable} & ${names.map((name, bit) => `${value & (2 ** bit) ? "" : "!"}${name}`).join(" & ")})`,
    ]),
  );

const fourToOne = (unit: number): string =>
  `!${unit}G & (!B & !A & ${unit}C0 | !B & A & ${unit}C1 | B & !A & ${unit}C2 | B & A & ${unit}C3)`;

const ROWS: Readonly<Record<string, Row>> = {
  "74LS00": { outputs: units(4, (n) => `!(${n}A & ${n}B)`), pins: QUAD },
  "74LS02": { outputs: units(4, (n) => `!(${n}A | ${n}B)`), pins: "1Y 1A 1B 2Y 2A 2B - 3A 3B 3Y 4A 4B 4Y -" },
  "74LS04": { outputs: units(6, (n) => `!${n}A`), pins: HEX },
  "74LS08": { outputs: units(4, (n) => `${n}A & ${n}B`), pins: QUAD },
  "74LS10": { outputs: units(3, (n) => `!(${n}A & ${n}B & ${n}C)`), pins: "1A 1B 2A 2B 2C 2Y - 3Y 3A 3B 3C 1Y 1C -" },
  "74LS14": { outputs: units(6, (n) => `!${n}A`), pins: HEX },
  "74LS30": { outputs: { Y: "!(A & B & C & D & E & F & G & H)" }, pins: "A B C D E F - Y - - G H - -" },
  "74LS32": { outputs: units(4, (n) => `${n}A | ${n}B`), pins: QUAD },
  "74LS86": { outputs: units(4, (n) => `${n}A ^ ${n}B`), pins: QUAD },
  "74LS138": {
    outputs: decoder("G1 & !G2A & !G2B", 8, ["A", "B", "C"]),
    pins: "A B C G2A G2B G1 Y7 - Y6 Y5 Y4 Y3 Y2 Y1 Y0 -",
  },
  "74LS139": {
    outputs: { ...decoder("!1G", 4, ["1A", "1B"], "1"), ...decoder("!2G", 4, ["2A", "2B"], "2") },
    pins: "1G 1A 1B 1Y0 1Y1 1Y2 1Y3 - 2Y3 2Y2 2Y1 2Y0 2B 2A 2G -",
  },
  "74LS153": {
    outputs: { "1Y": fourToOne(1), "2Y": fourToOne(2) },
    pins: "1G B 1C3 1C2 1C1 1C0 1Y - 2Y 2C0 2C1 2C2 2C3 A 2G -",
  },
  "74LS157": {
    outputs: units(4, (n) => `!G & (!S & ${n}A | S & ${n}B)`),
    pins: "S 1A 1B 1Y 2A 2B 2Y - 3Y 3B 3A 4Y 4B 4A G -",
  },
  "74LS158": {
    outputs: units(4, (n) => `!(!G & (!S & ${n}A | S & ${n}B))`),
    pins: "S 1A 1B 1Y 2A 2B 2Y - 3Y 3B 3A 4Y 4B 4A G -",
  },
};

const made = new Map<string, Gates>();

/** The logic of a part by its catalogue name, where it is one that is without memory and without a third state. */
export function gatesOf(part: string): Gates | undefined {
  const known = made.get(part);
  const row = ROWS[part];
  if (known || !row) return known;
  const names = row.pins.split(" ");
  const gates: Gates = {
    outputs: new Map(Object.entries(row.outputs).map(([output, text]) => [output, parseLogic(text)])),
    inputs: new Set(names.filter((name) => name !== "-" && !Object.hasOwn(row.outputs, name))),
    pins: new Map(names.flatMap((name, index) => (name === "-" ? [] : [[index + 1, name] as const]))),
  };
  made.set(part, gates);
  return gates;
}

/** Parts whose logic is known, for messages. */
export const GATE_PARTS: readonly string[] = Object.keys(ROWS);
