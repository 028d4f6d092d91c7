import type { BenchBoard, BenchComputer, BenchRail } from "../bench/index.ts";
import type { Sourced } from "../catalogue/index.ts";
import type { Quantity } from "../quantity/index.ts";

/** What makes up a rail's load: a part with its current, or a board's stated current. Currents in A. */
export interface LoadRow {
  board: string;
  path: string;
  /** Undefined for a board's stated current. */
  part?: string;
  count: number;
  typical: number;
  max: number;
  added: boolean;
  /** The current as stated or looked up; `typicalOnly` where the data sheet gives no greatest value. */
  value: Quantity | Sourced;
  typicalOnly: boolean;
}

/** Current on a rail in A, with the keys of parts whose current is not known. */
export interface RailLoad {
  typical: number;
  max: number;
  /** Part of both that added boards draw. */
  added: number;
  addedTypical: number;
  rows: readonly LoadRow[];
  missing: readonly string[];
}

function boardRows(board: BenchBoard, rail: string): { rows: LoadRow[]; missing: string[] } {
  const stated = board.draws.get(rail);
  const shared = { board: board.name, added: board.added };
  if (stated)
    return {
      rows: [
        {
          ...shared,
          path: `${board.path}.draws`,
          count: 1,
          typical: stated.value,
          max: stated.high,
          value: stated,
          typicalOnly: false,
        },
      ],
      missing: [],
    };
  const rows: LoadRow[] = [];
  const missing: string[] = [];
  for (const { chip, count, part, path } of board.chips) {
    const row = chip?.supply.find((line) => line.rail === rail);
    // A part with no row for this rail does not use it; one with no rows at all has unknown currents.
    if (chip && !row && chip.supply.length > 0) continue;
    const max = row?.max ?? row?.typical;
    if (!max) missing.push(path);
    else
      rows.push({
        ...shared,
        path,
        part,
        count,
        typical: count * (row?.typical ?? max).value.value,
        max: count * max.value.value,
        value: max,
        typicalOnly: row?.max === undefined,
      });
  }
  return { rows, missing };
}

/** Everything that the boards of a computer draw from one rail. */
export function railLoad(computer: BenchComputer, rail: string): RailLoad {
  const boards = computer.boards.map((board) => boardRows(board, rail));
  const rows = boards.flatMap((each) => each.rows);
  const sum = (of: (each: LoadRow) => number, some = rows) => some.reduce((total, each) => total + of(each), 0);
  const added = rows.filter((each) => each.added);
  return {
    typical: sum((each) => each.typical),
    max: sum((each) => each.max),
    added: sum((each) => each.max, added),
    addedTypical: sum((each) => each.typical, added),
    rows,
    missing: boards.flatMap((each) => each.missing),
  };
}

/** Thermal resistance of an insulating washer with paste, case to sink, °C/W. Common practice, no source. */
export const WASHER = 0.5;

export interface Heat {
  /** V across the regulator, W of heat, °C/W on the way to the air, °C at the junction. */
  drop: number;
  power: number;
  resistance: number;
  junction: number;
}

/**
 * Junction temperature of a linear regulator: air + (input − output) × current × thermal resistance. Voltages count by size, so
 * that the input of a negative one may be written −18 V; with too little between input and output there is no heat.
 */
export function regulatorHeat(
  input: number,
  output: number,
  current: number,
  ambient: number,
  resistance: number,
): Heat {
  const drop = Math.abs(input) - Math.abs(output);
  const power = Math.max(0, drop) * current;
  return { drop, power, resistance, junction: ambient + power * resistance };
}

/** Forward voltage of one silicon rectifier under load, V. Common practice, no source. */
const DIODE = 1;
/** Mains may be this much low (EN 50160: ±10 %, from memory). */
export const LOW_MAINS = 0.1;

export interface Ripple {
  /** Peak of the rectified voltage at low mains, and the lowest point between two peaks, V. */
  peak: number;
  valley: number;
  /** Peak to valley, V, and how long the capacitor carries the load alone, s. */
  ripple: number;
  period: number;
  diodes: number;
}

/**
 * Lowest input of a regulator between two peaks of the rectified mains: the capacitor feeds the load for a whole period,
 * which is a little pessimistic as the rectifier conducts for part of it. Ripple = I ÷ (f × C), f twice the mains
 * frequency with a bridge or a centre tap.
 */
export function rippleValley(
  secondary: number,
  rectifier: "bridge" | "centre tap" | "half wave",
  filter: number,
  frequency: number,
  current: number,
  lowMains: number,
): Ripple {
  const diodes = rectifier === "bridge" ? 2 : 1;
  const peak = secondary * (1 - lowMains) * Math.SQRT2 - diodes * DIODE;
  const period = 1 / (frequency * (rectifier === "half wave" ? 1 : 2));
  const ripple = (current * period) / filter;
  return { peak, valley: peak - ripple, ripple, period, diodes };
}

/** Ripple of a rail that says what feeds its regulator; the keys that are missing otherwise. */
export function rippleOf(rail: BenchRail, current: number): Ripple | { missing: readonly string[] } | undefined {
  const raw = rail.unregulated;
  if (!raw) return undefined;
  const missing = (["rectifier", "filter", "frequency"] as const)
    .filter((key) => raw[key] === undefined)
    .map((key) => `${rail.path}.unregulated.${key}`);
  if (!raw.rectifier || !raw.filter || !raw.frequency) return { missing };
  return rippleValley(
    raw.secondary.low,
    raw.rectifier,
    raw.filter.low,
    raw.frequency.low,
    current,
    raw.lowMains?.value ?? LOW_MAINS,
  );
}

/** Resistivity of copper at 20 °C, Ω·m (IEC 60028: 1/58 Ω·mm²/m, from memory). */
const COPPER = 1 / 58e6;
/** Resistance of a contact of a plug or socket that has aged, Ω. Common practice, no source. */
export const CONTACT = 0.02;

/** Diameter of a wire by its gauge, m: 0.127 mm × 92^((36 − n) ÷ 39) (ASTM B258, from memory). */
export const wireDiameter = (gauge: number): number => 0.127e-3 * 92 ** ((36 - gauge) / 39);

/** Resistance of a solid copper wire, Ω a metre. */
export const wireResistance = (gauge: number): number => COPPER / (Math.PI * (wireDiameter(gauge) / 2) ** 2);

export interface FeedDrop {
  /** Ω of wires there and back, and of contacts; V lost. */
  wires: number;
  contacts: number;
  drop: number;
}

/** What a board's own supply wires lose at a current; the keys that are missing otherwise. */
export function feedDrop(board: BenchBoard, current: number): FeedDrop | { missing: readonly string[] } | undefined {
  const { feed } = board;
  if (!feed) return undefined;
  const wired = feed.wires ?? 1;
  const contacts = ((feed.contacts ?? 0) * (feed.contact?.high ?? CONTACT)) / wired;
  if (feed.resistance)
    return { wires: feed.resistance.high, contacts, drop: current * (feed.resistance.high + contacts) };
  const missing = (["length", "gauge"] as const)
    .filter((key) => feed[key] === undefined)
    .map((key) => `${board.path}.feed.${key}`);
  if (!feed.length || feed.gauge === undefined) return { missing };
  const wires = (2 * feed.length.high * wireResistance(feed.gauge)) / wired;
  return { wires, contacts, drop: current * (wires + contacts) };
}
