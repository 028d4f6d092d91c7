import type { Evidence } from "./asks.ts";

/** What a system asks of the bench. What could not be found out is absent; nothing is assumed. */
export type Need =
  | CpuNeed
  | MemoryNeed
  | TranslationNeed
  | DriveNeed
  | FilesNeed
  | PortNeed
  | ScreenNeed
  | ControlsNeed;

interface Proven {
  /** Where it was found, at most `MOST_EVIDENCE` places. */
  evidence: readonly Evidence[];
}

export interface CpuNeed extends Proven {
  kind: "cpu";
  instructionSet: "6809" | "8080" | "Z80";
  /** CPUs by part number that run it. */
  runsOn: readonly string[];
}

export interface MemoryNeed extends Proven {
  kind: "memory";
  /** At least this much, in bytes: the sum of `parts`. */
  bytes: number;
  /** Largest part that must lie in one run. */
  contiguous: number;
  /** First and last address, where the program has a fixed place. */
  from?: number;
  last?: number;
  parts: readonly { what: string; bytes: number }[];
  /** The arithmetic in words. */
  computed: string;
}

export interface TranslationNeed extends Proven {
  kind: "translation";
  /** Which rule found it. */
  rule: "top of memory" | "device address" | "more than 64 KiB";
  sentence: string;
  /** Highest address or number of bytes that 16 bits do not reach. */
  reach: number;
}

export interface DriveNeed extends Proven {
  kind: "drive";
  /** The disk that the image is of, or a drive that a descriptor sets up. */
  of: "image" | "descriptor";
  name?: string;
  tracks?: number;
  sides?: number;
  /** Sectors of each zone, from track to track; one entry where all tracks are alike. */
  zones?: readonly { from: number; to: number; side?: 0 | 1; sectors: number; size: number }[];
  sectorsPerTrack?: number;
  stepCode?: number;
}

export interface FilesNeed extends Proven {
  kind: "files";
  wants: "record files";
  count: number;
}

export interface PortNeed extends Proven {
  kind: "port";
  /** Of the descriptor: `TERM`. */
  name: string;
  address: number;
  /** Whether the configuration names it as the first terminal. */
  console: boolean;
  /** bit/s. */
  rate?: number;
  /** "8N1". */
  frame?: string;
  /** How rate and frame were read from the two bytes. */
  coding?: string;
  controlByte?: number;
  rateByte?: number;
  clockRatio?: 16 | 64;
}

export interface ScreenNeed extends Proven {
  kind: "screen";
  /** Longest line in text and messages. */
  columns?: number;
  /** Lines a page, from a terminal's descriptor. */
  rows?: number;
  /** How many lines have each width, widths in rising order. */
  widths: readonly { columns: number; lines: number }[];
}

export interface ControlsNeed extends Proven {
  kind: "controls";
  /** ECMA-48 abbreviations in alphabetical order. */
  functions: readonly { name: string; times: number }[];
}

export const MOST_EVIDENCE = 8;
