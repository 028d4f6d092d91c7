import type { BenchDrive } from "../bench/index.ts";
import type { Condition, CpuState } from "../cpu/index.ts";
import type { Geometry, Place } from "../geometry/index.ts";
import type { MapState } from "../memory/index.ts";

/** What the person supplies, by the `file` that the bench names. */
export interface RehearsalFiles {
  roms: ReadonlyMap<string, Uint8Array>;
  images: ReadonlyMap<string, Uint8Array>;
}

export interface RehearsalOptions {
  /** Where the disks stand at power-on, a share of a turn; 0 where nothing is said. */
  phase?: number;
  /** Keys a second of the person who types; 10 where nothing is said. */
  typing?: number;
}

/** Why `run` came back. */
export type Ending = "time" | "until" | "breakpoint" | "stopped";

/** A moment of the machine, whole: plain data that a worker can pass on. */
export interface Moment {
  readonly clock: number;
  readonly cpu: CpuState;
  readonly memory: Uint8Array;
  readonly map: MapState;
  readonly latches: ReadonlyMap<string, number>;
  readonly units: readonly object[];
  readonly receivers: readonly object[];
  readonly wires: readonly object[];
  readonly stations: readonly Uint8Array[];
  readonly written: readonly ReadonlyMap<number, Uint8Array>[];
}

/** What a terminal shows. */
export interface TerminalView {
  name: string;
  title: string;
  columns: number;
  rows: number;
  /** Rows from the top, blanks at their ends left out. */
  lines: readonly string[];
  cursor: { row: number; column: number };
  bells: number;
  /** Characters received; those with wrong parity or no stop bit. */
  received: number;
  faults: number;
}

export interface DriveView {
  name: string;
  class?: BenchDrive["class"];
  track: number;
  side: number;
  turning: boolean;
  /** The controller waits for it. */
  busy: boolean;
  reads: number;
  writes: number;
  /** The block that the head read or wrote last, a drive's own reading ahead included; −1 before the first. */
  block: number;
  /** Where that block lies. */
  place?: Place;
}

/** What of a drive and the disk in it never changes. */
export interface DriveShape {
  name: string;
  image: string;
  geometry: Geometry;
  /** What the drive reaches. */
  tracks: number;
  sides: number;
}

export interface RehearsalState {
  cycles: number;
  seconds: number;
  condition: Condition;
  registers: readonly { name: string; bits: number; value: number; flags?: string }[];
  /** What is run next. */
  next: { address: number; text: string };
  /** Latches and translation in words, as `rouse memory --state` takes them. */
  memory: string;
  drives: readonly DriveView[];
}
