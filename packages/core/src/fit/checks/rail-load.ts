import type { BenchBoard, BenchComputer } from "../../bench/index.ts";
import { benchFigure, figureOf } from "../frame.ts";
import type { Figure } from "../types.ts";

/** Current on a rail in A, with the figures it is made of and the keys of parts whose current is not known. */
export interface Load {
  typical: number;
  max: number;
  /** Part of `max` that added boards draw. */
  added: number;
  figures: readonly Figure[];
  missing: readonly string[];
}

/** Current of a board on one rail: stated where the bench states it, else the sum over its chips. */
function boardLoad(board: BenchBoard, rail: string): Load {
  const stated = board.draws.get(rail);
  const label = `${board.name}${board.added ? " (added)" : ""}`;
  const load = (typical: number, max: number, figures: Figure[], missing: string[] = []): Load => ({
    typical,
    max,
    added: board.added ? max : 0,
    figures,
    missing,
  });
  if (stated)
    return load(stated.value, stated.high, [benchFigure(`${label}, as stated`, stated, `${board.path}.draws`)]);
  let typical = 0;
  let most = 0;
  const figures: Figure[] = [];
  const missing: string[] = [];
  for (const each of board.chips) {
    const row = each.chip?.supply.find((line) => line.rail === rail);
    // A part with no row for this rail does not use it; one with no rows at all has unknown currents.
    if (each.chip && !row && each.chip.supply.length > 0) continue;
    const max = row?.max ?? row?.typical;
    if (!max) {
      missing.push(each.path);
      continue;
    }
    most += each.count * max.value.value;
    typical += each.count * (row?.typical ?? max).value.value;
    figures.push(figureOf(`${label}: ${each.count} × ${each.part}${row?.max ? "" : " (typical)"}`, max, each.path));
  }
  return load(typical, most, figures, missing);
}

/** Everything that the boards of a computer draw from one rail. */
export function railLoad(computer: BenchComputer, rail: string): Load {
  const loads = computer.boards.map((board) => boardLoad(board, rail));
  const sum = (of: (each: Load) => number) => loads.reduce((total, each) => total + of(each), 0);
  return {
    typical: sum((each) => each.typical),
    max: sum((each) => each.max),
    added: sum((each) => each.added),
    figures: loads.flatMap((each) => each.figures),
    missing: loads.flatMap((each) => each.missing),
  };
}
