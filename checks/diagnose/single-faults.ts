import type { Bench } from "@rouse/core/bench";
import {
  arraysOf,
  type CellFault,
  candidatesOf,
  chipSuspect,
  FAULT_CLASSES,
  type FaultClass,
  type FaultSimulator,
  type MachineFault,
  nextMeasurement,
  rankSuspects,
  readReport,
  type TestProgram,
} from "@rouse/core/diagnose";
import { memoryMapOf } from "@rouse/core/memory";
import { chance, someFault } from "./faults.ts";

/** Single faults of a bench, each with the part that is to blame. */
export interface SingleFault {
  /** Id of the suspect that has to be named. */
  blame: string;
  /** `SAF` for a bad cell; `chip`, `address line` … for the rest. */
  group: string;
  title: string;
  fault: MachineFault;
}

/** Faults of pins, lines, selects, refresh, latches and translation: all of them, or some in a seeded order. */
export function lineFaults(bench: Bench, seed: number, most = Number.POSITIVE_INFINITY): SingleFault[] {
  const below = chance(seed);
  const all = candidatesOf(bench, memoryMapOf(bench)!).map(({ suspect, how, fault }) => ({
    blame: suspect.id,
    group: suspect.kind,
    title: `${suspect.title}: ${how}`,
    fault,
  }));
  for (let index = 0; index < Math.min(most, all.length); index++) {
    const other = index + below(all.length - index);
    [all[index], all[other]] = [all[other]!, all[index]!];
  }
  return all.slice(0, most);
}

/** Bad cells, the classes in turn. Where two cells are involved they lie in the same chip: no chip reaches into another. */
export function cellFaults(
  bench: Bench,
  seed: number,
  count: number,
  hold: number,
  classes: readonly FaultClass[] = FAULT_CLASSES,
): SingleFault[] {
  const below = chance(seed);
  const arrays = arraysOf(bench, memoryMapOf(bench)!);
  return Array.from({ length: count }, (_, index) => {
    const array = arrays[below(arrays.length)]!;
    const name = classes[index % classes.length]!;
    let fault: CellFault;
    do fault = someFault(name, array.part.bytes, below, hold);
    while (chipsIn(array, fault).size > 1);
    const [chip] = chipsIn(array, fault);
    const suspect = chipSuspect(array, Math.floor(chip! / array.columns), chip! % array.columns);
    return {
      blame: suspect.id,
      group: name,
      title: `${suspect.title}: ${JSON.stringify(fault)}`,
      fault: { on: "cells", part: array.part.name, fault },
    };
  });
}

/** Numbers of the chips that a cell fault lies in. */
function chipsIn({ words, columns }: ReturnType<typeof arraysOf>[number], fault: CellFault): Set<number> {
  const at = (word: number, bit: number) => Math.floor(word / words) * columns + Math.floor((bit * columns) / 8);
  if (fault.kind === "decoder") {
    const bit = Math.log2(fault.bits);
    return new Set(fault.routes.flatMap(({ address, words: to }) => [address, ...to].map((word) => at(word, bit))));
  }
  const cells = "cells" in fault ? fault.cells : "cell" in fault ? [fault.cell] : [fault.aggressor, fault.victim];
  return new Set(cells.map((cell) => at(Math.floor(cell / 8), cell % 8)));
}

export interface Score {
  faults: number;
  /** Faults with which the program found nothing. */
  silent: number;
  first: number;
  inThree: number;
  /** Faults with a measurement to make next. */
  measured: number;
}

/** Runs the program with each fault and asks the dictionary which part is to blame. */
export function judge(
  bench: Bench,
  program: TestProgram,
  simulator: FaultSimulator,
  faults: readonly SingleFault[],
  tell: (fault: SingleFault, place: number, report: string) => void = () => {},
): Map<string, Score> {
  const scores = new Map<string, Score>();
  for (const fault of faults) {
    const { report } = simulator.simulate(fault.fault);
    const ranked = rankSuspects(bench, program, readReport(report));
    const place = ranked.findIndex(({ suspect }) => suspect.id === fault.blame);
    const score = scores.get(fault.group) ?? { faults: 0, silent: 0, first: 0, inThree: 0, measured: 0 };
    scores.set(fault.group, score);
    score.faults++;
    if (ranked.length === 0) score.silent++;
    if (place === 0) score.first++;
    if (place >= 0 && place < 3) score.inThree++;
    if (nextMeasurement(bench, ranked)) score.measured++;
    tell(fault, place, report);
  }
  return scores;
}

export function totalOf(scores: Iterable<Score>): Score {
  const total: Score = { faults: 0, silent: 0, first: 0, inThree: 0, measured: 0 };
  for (const each of scores) for (const key of Object.keys(total) as (keyof Score)[]) total[key] += each[key];
  return total;
}
