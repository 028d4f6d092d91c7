import type { BenchComputer, BenchLines } from "../bench/index.ts";
import type { Chip, Sourced } from "../catalogue/index.ts";

/** Values that data sheets of the catalogue's parts leave out. Capacitances in F, currents in A. From memory. */
const INPUT_CAPACITANCE = 5e-12;
const OUTPUT_CAPACITANCE = 8e-12;
const OFF_CURRENT = 20e-6;
/** A wire beside others on a board or in a ribbon, F a metre. Common practice, no source. */
const WIRE_CAPACITANCE = 60e-12;
/** Current of one unit load of the LS family: 20 µA at the high and 0.4 mA at the low level (SDLS025B). */
const UNIT = { high: 20e-6, low: 0.4e-3 } as const;

/** Capacitance that an output's delays are given for, F. NMOS from memory (6809: 90 pF address, 130 pF data). */
function ratedLoad(chip: Chip): number {
  if (chip.family !== "LS") return 90e-12;
  return chip.output?.type === "three-state" ? 45e-12 : 15e-12;
}

/**
 * Delay added by each farad above that, s/F. LS gates 5 ns over 35 pF (74LS00 data sheets: 10 ns at 15 pF, 15 ns at
 * 50 pF); bus drivers a third of that, as they sink three times the current; NMOS 0.3 ns/pF (from memory).
 */
function slope(chip: Chip): number {
  if (chip.family !== "LS") return 0.3e3;
  return (5e-9 / 35e-12) * (chip.output?.type === "three-state" ? 1 / 3 : 1);
}

export interface LineLoad {
  /** Inputs and idle outputs by part, over all boards. */
  rows: readonly { board: string; added: boolean; part: string; count: number; kind: "input" | "output" }[];
  /** Currents that the driver must source and sink, A, and capacitance, F. */
  high: number;
  low: number;
  capacitance: number;
  /** The same in unit loads of the LS family. */
  unitsHigh: number;
  unitsLow: number;
  /** Part of `low` and of the capacitance that added boards bring. */
  addedLow: number;
  addedCapacitance: number;
}

/** One bus line, or several that are loaded alike. */
export interface FanOut {
  /** "A15..A12" */
  title: string;
  lines: readonly string[];
  paths: readonly string[];
  driver?: { part: string; chip?: Chip };
  /** What the driver gives; nothing where the catalogue does not say. */
  canHigh?: Sourced;
  canLow?: Sourced;
  load: LineLoad;
  /** Load of the driver's rating, F, and what the surplus costs, s. */
  rated?: number;
  slowed?: number;
  missing: readonly string[];
}

interface Entry {
  board: string;
  added: boolean;
  lines: BenchLines;
}

const stemOf = (name: string): [string, number] => {
  const [, stem = name, number] = /^(\D+)(\d+)$/.exec(name) ?? [];
  return [stem, number === undefined ? -1 : Number(number)];
};

/** `A15, A14, A13, A12` as `A15..A12`. */
function linesTitle(names: readonly string[]): string {
  const sorted = [...names].sort((a, b) => {
    const [x, m] = stemOf(a);
    const [y, n] = stemOf(b);
    return x === y ? n - m : x < y ? -1 : 1;
  });
  const runs: string[][] = [];
  for (const name of sorted) {
    const run = runs.at(-1);
    const last = run?.at(-1);
    const [stem, number] = stemOf(name);
    const [before, above] = last === undefined ? ["", 0] : stemOf(last);
    if (run && stem === before && number >= 0 && number === above - 1) run.push(name);
    else runs.push([name]);
  }
  return runs.map((run) => (run.length > 1 ? `${run[0]}..${run.at(-1)}` : run[0]!)).join(", ");
}

/** Load and driver of every bus line that a board's `lines` speak of; lines that are alike together. */
export function fanOuts(computer: BenchComputer): FanOut[] {
  const byLine = new Map<string, Entry[]>();
  for (const board of computer.boards)
    for (const lines of board.lines)
      for (const name of lines.names) {
        const entry = { board: board.name, added: board.added, lines };
        const list = byLine.get(name);
        if (list) list.push(entry);
        else byLine.set(name, [entry]);
      }
  const alike = new Map<string, { names: string[]; entries: Entry[] }>();
  for (const [name, entries] of byLine) {
    const key = entries.map((each) => each.lines.path).join("\n");
    const group = alike.get(key) ?? { names: [], entries };
    group.names.push(name);
    alike.set(key, group);
  }
  return [...alike.values()].map(({ names, entries }) => fanOut(computer, names, entries));
}

function fanOut(computer: BenchComputer, names: readonly string[], entries: readonly Entry[]): FanOut {
  const missing: string[] = [];
  const rows: LineLoad["rows"][number][] = [];
  let [high, low, capacitance, addedLow, addedCapacitance] = [0, 0, 0, 0, 0];
  for (const { board, added, lines } of entries) {
    let [here, lowHere] = [0, 0];
    for (const { part, count, chip } of lines.loads) {
      rows.push({ board, added, part, count, kind: "input" });
      if (!chip?.input?.high || !chip.input.low) missing.push(`${lines.path}.loads.${part}`);
      high += count * (chip?.input?.high?.value.value ?? 0);
      lowHere += count * (chip?.input?.low?.value.value ?? 0);
      here += count * (chip?.input?.capacitance?.value.value ?? INPUT_CAPACITANCE);
    }
    for (const { part, count } of lines.outputs) {
      rows.push({ board, added, part, count, kind: "output" });
      high += count * OFF_CURRENT;
      lowHere += count * OFF_CURRENT;
      here += count * OUTPUT_CAPACITANCE;
    }
    here += lines.capacitance?.high ?? (lines.length?.high ?? 0) * WIRE_CAPACITANCE;
    low += lowHere;
    capacitance += here;
    if (added) {
      addedLow += lowHere;
      addedCapacitance += here;
    }
  }
  const driven = entries.find((each) => each.lines.drivenBy)?.lines.drivenBy;
  const cpu = computer.cpu?.part === undefined ? undefined : { part: computer.cpu.part, chip: computer.cpu.chip };
  const address = names.every((name) => /^A\d+$/.test(name));
  const driver = driven ?? (address && cpu ? (cpu as { part: string; chip?: Chip }) : undefined);
  if (!driver) missing.push(`${entries[0]!.lines.path}.drivenBy`);
  const output = driver?.chip?.output;
  if (driver && (!output?.high || !output.low)) missing.push(`${entries[0]!.lines.path}.drivenBy`);
  const rated = driver?.chip ? ratedLoad(driver.chip) : undefined;
  return {
    title: linesTitle(names),
    lines: names,
    paths: entries.map((each) => each.lines.path),
    load: {
      rows,
      high,
      low,
      capacitance,
      unitsHigh: high / UNIT.high,
      unitsLow: low / UNIT.low,
      addedLow,
      addedCapacitance,
    },
    missing: [...new Set(missing)],
    ...(driver ? { driver } : {}),
    ...(output?.high ? { canHigh: output.high } : {}),
    ...(output?.low ? { canLow: output.low } : {}),
    ...(rated !== undefined && driver?.chip
      ? { rated, slowed: Math.max(0, capacitance - rated) * slope(driver.chip) }
      : {}),
  };
}

/** Whole inputs of one chip that an output of another can drive, by its data sheet. */
export function fanOutOf(driver: Chip, load: Chip): number | undefined {
  const [high, low] = [driver.output?.high, driver.output?.low];
  const [takesHigh, takesLow] = [load.input?.high, load.input?.low];
  if (!high || !low || !takesHigh || !takesLow) return undefined;
  // Currents are decimal fractions of an ampere; a thousandth of a load is rounding.
  return Math.floor(Math.min(high.value.value / takesHigh.value.value, low.value.value / takesLow.value.value) + 1e-3);
}
