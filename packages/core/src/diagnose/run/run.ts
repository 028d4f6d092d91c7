import type { Bench } from "../../bench/index.ts";
import { BugError } from "../../errors/index.ts";
import { bitCycles, charactersPerSecond, readFrame, settingOf } from "../../line/index.ts";
import type { TestSpace } from "../machine/space.ts";
import type { TestProgram } from "../types.ts";
import { Board } from "./board.ts";
import type { Watched } from "./devices.ts";

/** A run of a program on the bench as it is described, or with a fault in it. */
export interface Run {
  /** What it printed. */
  text: string;
  /** Whether it came to its end. */
  ended: boolean;
  cycles: number;
  seconds: number;
  /** Seconds that each test took, by its letter; those that came to a verdict. */
  tests: ReadonlyMap<string, number>;
}

const LONGEST = 4 * 3600;
const DEFAULT_FRAME = "8N1";

/** Cycles of the CPU that one character of a port takes on its line. */
function characterCycles(bench: Bench, name: string): number {
  const port = bench.ports.find((each) => each.name === name);
  const hertz = bench.computer?.cpu?.clock?.value;
  if (!port?.clock || hertz === undefined) throw new BugError(`no clock for the port ${name}`);
  const setting = settingOf(port);
  if ("missing" in setting) throw new BugError(`no setting for the port ${name}`);
  const rate = port.clock.value / bitCycles(port, setting);
  return hertz / charactersPerSecond(rate, readFrame(port.format ?? DEFAULT_FRAME));
}

export interface RunOptions {
  /** Puts a fault in, before the first instruction. */
  spoil?: (space: TestSpace) => void;
  /** Gives another device for a timer or a port with a loop plug. */
  instead?: (device: Watched) => Watched;
  /** ROM images by the file that the bench names, for their sums. */
  roms?: ReadonlyMap<string, Uint8Array>;
  /** The longest that it may take, seconds of the machine's time. */
  seconds?: number;
}

/** Runs a program to its end on the bench as it is described, or with a fault in it. */
export function runProgram(bench: Bench, program: TestProgram, options: RunOptions = {}): Run {
  const { spoil, instead, roms, seconds = LONGEST } = options;
  const hertz = bench.computer!.cpu!.clock!.value;
  const board = new Board(bench, program, characterCycles(bench, program.voice.port), roms, instead);
  spoil?.(board.space);
  const ended = board.run(seconds * hertz);
  const tests = new Map<string, number>();
  let before = 0;
  for (const { text, clock } of board.lines) {
    const [, letter] = /^([A-Z]) (GOOD|BAD)$/.exec(text) ?? [];
    if (letter !== undefined) tests.set(letter, (clock - before) / hertz);
    if (letter !== undefined || text.startsWith("BEGIN")) before = clock;
  }
  return { text: board.said, ended, cycles: board.bus.clock, seconds: board.bus.clock / hertz, tests };
}
