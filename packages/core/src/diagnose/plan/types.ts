import type { CpuName } from "../../assemble/index.ts";
import type { March, Place, Space, Test, Voice } from "../types.ts";

/** A program before it is written: tests as steps that every CPU can do. */

/** A byte that the program writes to a register or latch. `port`: a Z80 port's number. */
export interface Poke {
  at: number;
  port: boolean;
  value: number;
  meaning: string;
}

/** One mark in memory: what shows its place, where it is, and the byte. */
export interface Mark {
  show?: { at: number; value: number };
  /** Bank or block, as it is reported. */
  view?: number;
  address: number;
  byte: number;
}

export type Step =
  /** `seconds` is how long a delay of the march lasts. */
  | {
      kind: "march";
      space: Space;
      march: March;
      backgrounds: readonly number[];
      select?: Select;
      seconds: number;
    }
  /** Writes all marks in order. */
  | { kind: "write marks"; marks: readonly Mark[]; port: boolean }
  /** Reads all marks in order, and reports each that is not there. */
  | { kind: "read marks"; element: number; marks: readonly Mark[]; port: boolean; mask: number }
  | { kind: "wait"; seconds: number }
  | { kind: "pokes"; pokes: readonly Poke[] }
  /** Adds up all bytes, 16 bits; a sum that is not known is printed. `to` left out: the program itself, up to its end. */
  | { kind: "sum"; element: number; from: number; to?: number; wanted?: number; title: string }
  /** Counts turns of a loop from one flag to the next. */
  | { kind: "period"; element: number; timer: TimerStep }
  /** Counts turns of a loop while a channel of a counter-timer is read, and which of its bits change. */
  | { kind: "counter"; element: number; counter: CounterStep }
  /**
   * Lets a timer interrupt, and waits for it. `stack`: an address below which the CPU may put what it puts there. `response` is how
   * a Z80 comes to the program; it has elements for what was told of an interrupt that was not to come and of its vector, too.
   */
  | { kind: "interrupt"; element: number; timer: Interrupting; stack: number; response?: Response }
  /** Says every character that can be printed. */
  | { kind: "pattern"; lines: readonly string[] }
  /** Sends the byte of each mark at each rate and expects it back; the marks' address is that of the data register. */
  | { kind: "echo"; element: number; voice: Voice; mask: number; marks: readonly Mark[]; rates: readonly EchoRate[] };

/** Steps of one kind. */
export type Of<K extends Step["kind"]> = Extract<Step, { kind: K }>;

/** One rate of a port, with what is written for it. */
export interface EchoRate {
  rate: number;
  pokes: readonly Poke[];
}

/** The register that shows a bank or block: its number is written there. */
export interface Select {
  at: number;
  port: boolean;
}

/** What comes again and again, how it is started and answered, and how it interrupts. */
export interface Interrupting {
  title: string;
  /** Whether its registers are numbers of Z80 ports. */
  port: boolean;
  /** Done before the first comes. */
  start: readonly Poke[];
  /** Done when it has come; `read` is a register that is read for it. */
  clear: { pokes: readonly Poke[]; read?: number };
  /** Cycles from one to the next. */
  every: number;
  /** Whether and how it interrupts; left out where it does not. */
  interrupt?: { enable: readonly Poke[]; disable: readonly Poke[] };
}

/** A timer with a flag that comes and goes. */
export interface TimerStep extends Interrupting {
  flag: { at: number; mask: number };
  /** Wait states of a read of it. */
  waits: number;
}

/** How a Z80 comes to the program when it is interrupted: at $0038, or by a table, where the device gives a vector. */
export type Response = { mode: 1; handler: "program" | "memory" } | { mode: 2; vector: number };

/** One channel of a counter-timer that counts down from its time constant again and again. */
interface CounterStep {
  title: string;
  at: number;
  port: boolean;
  /** Wait states of a read of it. */
  waits: number;
  start: readonly Poke[];
  /** Cycles from one reload to the next, and over how many of them it is timed. */
  every: number;
  periods: number;
  /** Element that tells which of its bits changed; left out where not all of them must. */
  bits?: number;
}

export interface PlannedTest extends Test {
  steps: readonly Step[];
  /** 6502: where the program keeps its few bytes of the zero page; undefined where it keeps none yet. */
  work?: number;
}

/** A test that has no letter yet. */
export type Unlettered = Omit<PlannedTest, "letter">;

/** What the bench shows beside the report; empty where it has nothing for it. */
export interface Signs {
  /** First byte of a screen's memory, where the letter of the test that runs is put. */
  screen?: number;
  good: readonly Poke[];
  /** Done when something was found, and then off and on in turn. */
  bad: readonly Poke[];
  on: readonly Poke[];
  off: readonly Poke[];
}

export interface Plan {
  cpu: CpuName;
  hertz: number;
  title: string;
  place: Place;
  /** Where the code may lie. */
  code: { from: number; to: number };
  /** Wait states of each byte that is fetched there. */
  waits: number;
  /** First address of the CPU's vectors, where the program supplies them. */
  vectors?: number;
  voice: Voice;
  /** Latches put where the program needs them, then the registers of the port. */
  prelude: readonly Poke[];
  tests: readonly PlannedTest[];
  notes: readonly string[];
  signs: Signs;
  /** What goes to where the vectors point when a timer interrupts; left out where nothing does. */
  interrupts: boolean;
}
