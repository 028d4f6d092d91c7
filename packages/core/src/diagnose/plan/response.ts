import type { CpuName } from "../../assemble/index.ts";
import type { Bench } from "../../bench/index.ts";
import { type MemoryMap, segmentAt } from "../../memory/index.ts";
import type { Space } from "../types.ts";
import type { Ground } from "./place.ts";
import type { Interrupting, Mark, Response, Step } from "./types.ts";

/**
 * Where a Z80's interrupts can be led to a program: to $0038 in mode 1, by a table in mode 2 (UM0080, “Interrupt Response”). What
 * is at $0038 and in the table only goes on at IX, so that the stack is never looked at.
 */

/** Where mode 1 goes; and what is put there where it is memory: JP (IX). */
export const MODE_1 = 0x38;
export const HANDLER: readonly number[] = [0xdd, 0xe9];

/** DI and a jump over handlers and table, at the program's beginning. */
const JUMP = 4;
/** Bytes that a program needs at least behind them. */
const REST = 0x200;
/** Shortest period, cycles: half of one is long against the program's own lines. */
const SHORTEST = 1000;
/** What an interrupt's steps tell: how many came, whether one came that was masked, and its vector or the handler's place. */
export const ELEMENTS = 3;

/** Whether the program that begins there has $0038 in it. */
export const holdsMode1 = (from: number): boolean => from <= MODE_1 - JUMP;

/**
 * The table of a program that begins at `from`: 257 bytes, all of them the number of the next page, `page`; so any vector that is not
 * ours leads to `other`, whether it is even or not.
 */
export function tableOf(from: number): { at: number; page: number; other: number } {
  const at = (from + JUMP + 0xff) & 0xff00;
  const page = (at >> 8) + 1;
  return { at, page, other: (page << 8) | page };
}

/** What tests of timers are made from. */
export interface TimerFrame {
  bench: Bench;
  cpu: CpuName;
  map: MemoryMap;
  ground: Ground;
  main: Space | undefined;
  notes: string[];
}

/** Wait states of a read, with latches as at power-on; none of a port's. */
export const waitsAt = (map: MemoryMap, address: number, port: boolean): number =>
  port ? 0 : (segmentAt(map.view(map.powerOn), address).read?.waits ?? 0);

/** Steps of an interrupt; none, with a note, where it cannot be led to the program. `vector`: for devices that give one. */
export function responseSteps(frame: TimerFrame, timer: Interrupting, element: number, vector?: number): Step[] {
  const { bench, main, notes } = frame;
  const { tick } = bench.computer!;
  const stack = main?.stretches.at(-1)?.to;
  const found = stack === undefined ? "there is no memory for what the CPU stacks" : responseOf(frame, vector);
  const why =
    typeof found === "string"
      ? found
      : timer.every < SHORTEST * (1 + waitsAt(frame.map, frame.ground.code.from, false))
        ? "it comes too often for this program"
        : tick?.interrupts && timer.interrupt?.disable.length !== 0
          ? "that of the tick cannot be kept away meanwhile"
          : undefined;
  if (typeof found === "string" || why !== undefined) {
    notes.push(`The interrupt of ${timer.title} is not tested: ${why}.`);
    return [];
  }
  notes.push(noteOf(frame, found));
  const step: Step = { kind: "interrupt", element, timer, stack: stack!, response: found };
  if (found.mode === 2 || found.handler === "program") return [step];
  const marks = HANDLER.map((byte, index): Mark => ({ address: MODE_1 + index, byte }));
  return [
    { kind: "write marks", marks, port: false },
    { kind: "read marks", element: element + 2, marks, port: false, mask: 0xff },
    step,
  ];
}

/** Why there is none, as the end of a sentence. */
function responseOf({ ground, main }: TimerFrame, vector: number | undefined): Response | string {
  const { from, to } = ground.code;
  if (vector !== undefined)
    return tableOf(from).other + REST <= to
      ? { mode: 2, vector }
      : "there is no room for a table of vectors in the program’s place";
  if (holdsMode1(from) && to >= MODE_1 + REST) return { mode: 1, handler: "program" };
  const last = MODE_1 + HANDLER.length - 1;
  // Not even where the program begins just there: it would be written over.
  const free = main?.stretches.some((each) => each.from <= MODE_1 && last <= each.to);
  return free && (last < from || MODE_1 > to)
    ? { mode: 1, handler: "memory" }
    : "it gives no vector, and $0038, where mode 1 goes, is neither in this program nor in memory";
}

const noteOf = ({ ground }: TimerFrame, found: Response): string =>
  found.mode === 2
    ? `Interrupts with a vector come in mode 2, by a table at $${tableOf(ground.code.from).at.toString(16).toUpperCase().padStart(4, "0")} in this program.`
    : `Interrupts without a vector come in mode 1, to a handler at $0038, which ${found.handler === "program" ? "lies in this program" : "is written to memory there"}.`;
