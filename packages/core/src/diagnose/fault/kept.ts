import type { MemoryMap } from "../../memory/index.ts";
import { WORK } from "../plan/spaces.ts";
import type { PlannedTest } from "../plan/types.ts";
import type { TestProgram } from "../types.ts";
import type { KeptBytes } from "./pruned.ts";

/** Memory that a program itself uses: where it lies, if not in a ROM, and the bytes in which a 6502's keeps its variables. */
export function keptBytes(map: MemoryMap, program: TestProgram): KeptBytes[] {
  const view = map.view(map.powerOn);
  const kept: KeptBytes[] = [];
  const keep = (first: number, last: number, variable: boolean) => {
    for (const { from, to, read } of view) {
      const [start, end] = [Math.max(first, from), Math.min(last, to)];
      if (start <= end && (read?.kind === "ram" || read?.kind === "window"))
        kept.push({ part: read.part, from: read.offset + start - from, to: read.offset + end - from, variable });
    }
  };
  for (const { address, bytes } of program.segments) keep(address, address + bytes.length - 1, false);
  const works = new Set(program.tests.flatMap((test) => (test as Partial<PlannedTest>).work ?? []));
  for (const work of works) keep(work, work + WORK - 1, true);
  return kept;
}
