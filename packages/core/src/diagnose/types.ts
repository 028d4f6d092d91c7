import type { Assembly, CpuName } from "../assemble/index.ts";
import type { Segment } from "../bytes/index.ts";
import type { March } from "./march/types.ts";

export type { Direction, March, MarchElement, MarchOperation } from "./march/types.ts";

/** What the parts of this room have in common: what a test program walks over, what it is, and what it prints. */

/** Addresses that the program walks over, or the same addresses once for each bank or block behind them. */
export interface Stretch {
  /** First and last address as the CPU puts them out, both included. */
  from: number;
  to: number;
  /** Banks of a window or physical blocks of a translation, first to last, each shown in turn at these addresses. */
  views?: { first: number; last: number };
}

/** Memory that one march goes through as a whole: every element over all of it, from one end to the other. */
export interface Space {
  /** `main`, the name of a window, or `translation`. */
  name: string;
  kind: "main" | "window" | "translation";
  /** In ascending order. A descending element takes them, their views and their addresses backwards. */
  stretches: readonly Stretch[];
  bytes: number;
  /** Memory of this kind that the program cannot test, since it lies there itself or keeps something there. */
  left: readonly { from: number; to: number; view?: number; why: string }[];
}

/** What a test looks for. */
export type TestKind = "march" | "address" | "retention" | "views" | "latches" | "rom" | "timer" | "port";

/** One test of a program, in the order in which they run. */
export interface Test {
  /** One capital that begins each line of its report. */
  letter: string;
  kind: TestKind;
  /** As on paper: `March C− over main memory`. */
  title: string;
  march?: March;
  space?: Space;
  /** Bytes that stand for 0, one turn of the march each; 1 is the complement. */
  backgrounds?: readonly number[];
}

/** Where the program runs: in an EPROM in the monitor's place, reached by the reset; or in memory, started by the monitor. */
export type Place = "eprom" | "memory";

/** How the program speaks. */
export interface Voice {
  /** Name of the port in the bench. */
  port: string;
  /** Data and status register; `ports` where they are the numbers of Z80 ports. */
  data: number;
  status: number;
  ports: boolean;
  /** Mask of the status bit that is 1 while the part can take a character. */
  ready: number;
  /** Mask of the status bit that is 1 while a received character waits. */
  received: number;
}

/** A test program made for one bench. */
export interface TestProgram {
  cpu: CpuName;
  place: Place;
  /** Where it begins, and where its first instruction is. */
  origin: number;
  entry: number;
  source: string;
  assembly: Assembly;
  segments: readonly Segment[];
  symbols: ReadonlyMap<string, number>;
  tests: readonly Test[];
  voice: Voice;
  /** Four hex digits that the report begins with, so that it is read with the right program. */
  id: string;
  /** What it takes for granted, and what it cannot do here; one sentence each. */
  notes: readonly string[];
}

/**
 * One fault that a program saw. Printed as a line of fields, in any order, each with its letter:
 * `C3 A1234 N02 W55 G5D`: test C, element 3, address 1234, bank or block 2, wanted 55, got 5D.
 */
export interface Finding {
  test: string;
  /** Element of a march, or step of another test, from 1. */
  element: number;
  address?: number;
  /** Bank or physical block. */
  view?: number;
  wanted?: number;
  got?: number;
}
