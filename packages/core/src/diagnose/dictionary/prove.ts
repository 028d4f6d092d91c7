import type { Bench } from "../../bench/index.ts";
import { InputError } from "../../errors/index.ts";
import { memoryMapOf } from "../../memory/index.ts";
import { type CellFault, wordsOf } from "../fault/cells.ts";
import { CLASSES, type Claim, FAULT_CLASSES, type FaultClass, PROVED } from "../fault/classes.ts";
import { keptBytes } from "../fault/kept.ts";
import type { MachineFault } from "../fault/machine.ts";
import { FaultSimulator } from "../fault/pruned.ts";
import { chance, someFault } from "../fault/sample.ts";
import { readReport } from "../report/read.ts";
import type { TestProgram } from "../types.ts";
import { Predictor } from "./predict.ts";
import { rankSuspects } from "./rank.ts";
import { arraysOf, type ChipArray, candidatesOf, chipSuspect } from "./suspects.ts";
import type { Suspect } from "./types.ts";

/** A single fault of a bench, and the part that is to blame for it. */
export interface SingleFault {
  suspect: Suspect;
  /** Class of a bad cell; the kind of the suspect for the rest, as `address line`. */
  group: FaultClass | Suspect["kind"];
  /** `U23 …: address pin 3 always 0` */
  title: string;
  fault: MachineFault;
}

/** What a program does about the faults of one group. */
export interface ProofRow {
  group: SingleFault["group"];
  title: string;
  faults: number;
  /** Faults with which the report is not good, or does not come to its end. */
  found: number;
  /** Faults for which the right part comes first by the report, and among the first three. */
  first: number;
  inThree: number;
  /** What the literature proves of the program's marches, for classes of cells. */
  claim?: Claim;
  /** The first fault that was not found. */
  missed?: string;
}

export interface ProofOptions {
  /** Faults of each class of cells. Default 40. */
  cells?: number;
  classes?: readonly FaultClass[];
  /** Faults of pins, lines, selects, refresh, latches and translation, all of them where there are no more. Default 40. */
  lines?: number;
  seed?: number;
}

const USUAL = 40;
/** A leaking cell holds for this many seconds: longer than a march takes from one visit to the next in a small memory. */
const HOLDS = 0.02;

/** Pins, lines, selects, refresh, latches and translation: all faults, or some in a seeded order. */
function lineFaults(bench: Bench, seed: number, most = Number.POSITIVE_INFINITY): SingleFault[] {
  const map = memoryMapOf(bench);
  if (!map) return [];
  const below = chance(seed);
  const all = candidatesOf(bench, map).map(
    ({ suspect, how, fault }): SingleFault => ({
      suspect,
      group: suspect.kind,
      title: `${suspect.title}: ${how}`,
      fault,
    }),
  );
  const count = Math.min(most, all.length);
  for (let index = 0; index < count; index++) {
    const other = index + below(all.length - index);
    [all[index], all[other]] = [all[other]!, all[index]!];
  }
  return all.slice(0, count);
}

/**
 * Bad cells where the program's marches go, the classes in turn; anywhere where it has none. Memory that lies under a ROM, say, has cells
 * that nothing can find. Where two cells are involved they lie in the same chip: no chip reaches into another.
 */
function cellFaults(
  bench: Bench,
  program: TestProgram,
  seed: number,
  count: number,
  classes: readonly FaultClass[] = FAULT_CLASSES,
): SingleFault[] {
  const map = memoryMapOf(bench);
  if (!map) return [];
  const predictor = new Predictor(map, program, []);
  const all = arraysOf(bench, map).filter(({ part }) => part.bytes > 1);
  const marched = new Map(all.map((array) => [array, predictor.marched(array.part.name)]));
  const gone = all.filter((array) => marched.get(array)!.some(({ from, to }) => to > from));
  const arrays = gone.length > 0 ? gone : all;
  if (arrays.length === 0) return [];
  const isMarched = (array: ChipArray, fault: CellFault) =>
    gone.length === 0 ||
    wordsOf(fault).every((word) => marched.get(array)!.some(({ from, to }) => word >= from && word <= to));
  const below = chance(seed);
  const hold = Math.round((bench.computer?.cpu?.clock?.value ?? 1e6) * HOLDS);
  return Array.from({ length: count }, (_, index): SingleFault => {
    const array = arrays[below(arrays.length)]!;
    const group = classes[index % classes.length]!;
    let fault: CellFault;
    do fault = someFault(group, array.part.bytes, below, hold);
    while (chipsIn(array, fault).size > 1 || !isMarched(array, fault));
    const [chip] = chipsIn(array, fault);
    const suspect = chipSuspect(array, Math.floor(chip! / array.columns), chip! % array.columns);
    return {
      suspect,
      group,
      title: `${suspect.title}: ${CLASSES[group].title}`,
      fault: { on: "cells", part: array.part.name, fault },
    };
  });
}

/** Numbers of the chips that a cell fault lies in. */
function chipsIn({ words, columns }: ChipArray, fault: CellFault): Set<number> {
  const at = (word: number, bit: number) => Math.floor(word / words) * columns + Math.floor((bit * columns) / 8);
  if (fault.kind === "decoder") {
    const bit = Math.log2(fault.bits);
    return new Set(fault.routes.flatMap(({ address, words: to }) => [address, ...to].map((word) => at(word, bit))));
  }
  const cells = "cells" in fault ? fault.cells : "cell" in fault ? [fault.cell] : [fault.aggressor, fault.victim];
  return new Set(cells.map((cell) => at(Math.floor(cell / 8), cell % 8)));
}

/**
 * Puts single faults into the simulated machine, one at a time, runs the program with each, and asks the dictionary for the part from
 * what was printed. Yields after every fault, so that whoever waits sees it come. Throws an `InputError` without RAM of known chips.
 */
export function* prove(
  bench: Bench,
  program: TestProgram,
  options: ProofOptions = {},
): Generator<{ done: number; of: number; fault: SingleFault; place: number; report: string }, ProofRow[]> {
  const map = memoryMapOf(bench);
  if (!map || arraysOf(bench, map).length === 0)
    throw new InputError("no-chips", "Faults need RAM whose chips the catalogue knows: computer.memory.….chips.");
  const { seed = 1, classes = FAULT_CLASSES } = options;
  const faults = [
    ...cellFaults(bench, program, seed, (options.cells ?? USUAL) * classes.length, classes),
    ...lineFaults(bench, seed + 1, options.lines ?? USUAL),
  ];
  const simulator = new FaultSimulator(map, program, keptBytes(map, program));
  const rows = new Map<string, ProofRow>();
  for (const [index, fault] of faults.entries()) {
    const { report, ended } = simulator.simulate(fault.fault);
    const read = readReport(report);
    const place = rankSuspects(bench, program, read).findIndex(({ suspect }) => suspect.id === fault.suspect.id);
    const row = rows.get(fault.group) ?? rowOf(fault.group, program);
    rows.set(fault.group, row);
    row.faults++;
    if (!ended || read.end !== "good") row.found++;
    else row.missed ??= fault.title;
    if (place === 0) row.first++;
    if (place >= 0 && place < 3) row.inThree++;
    yield { done: index + 1, of: faults.length, fault, place, report };
  }
  return [...rows.values()];
}

function rowOf(group: SingleFault["group"], program: TestProgram): ProofRow {
  const row = { group, faults: 0, found: 0, first: 0, inThree: 0 };
  if (!(group in CLASSES)) return { ...row, title: group };
  const name = group as FaultClass;
  const marches = program.tests.flatMap(({ march }) => (march ? [PROVED[march.id]?.[name] ?? "none"] : []));
  const claim = (["proved", "partly", "none"] as const).find((each) => marches.includes(each)) ?? "none";
  return { ...row, title: CLASSES[name].title, claim };
}
