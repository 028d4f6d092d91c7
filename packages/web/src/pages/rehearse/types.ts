import type { Disassembled } from "@rouse/core/assemble";
import type { MemoryPicture } from "@rouse/core/memory";
import type { DriveShape, RehearsalState } from "@rouse/core/rehearse";
import type { Runs } from "@rouse/core/show";

/** What the page asks of the machine in the worker. */
export type Asked =
  | { kind: "switch on"; text: string }
  | { kind: "go" }
  | { kind: "pause" }
  | { kind: "step" }
  | { kind: "pace"; fast: boolean }
  | { kind: "type"; text: string; terminal: string }
  | { kind: "breakpoints"; at: readonly number[] }
  | { kind: "keep" }
  | { kind: "back"; moment: number }
  | { kind: "drop"; moment: number }
  /** Memory to be shown from an address on; none where null. */
  | { kind: "look"; at: number | null }
  /** The last frame was shown: the next may come. */
  | { kind: "seen" };

/** What never changes while a machine is on. */
export interface About {
  cpu: string;
  hertz: number;
  terminals: readonly { name: string; title: string; columns: number; rows: number; paper: boolean }[];
  mainTerminal: string | null;
  drives: readonly DriveShape[];
  /** What had to be taken for granted. */
  assumed: readonly string[];
}

/** What one terminal shows. */
export interface Shown {
  name: string;
  rows: readonly Runs[];
  cursor: { row: number; column: number };
  bells: number;
  received: number;
  faults: number;
}

/** Why the machine stands still. */
export type Pause = "pause" | "breakpoint" | "stopped";

/** The machine as it is at a moment. Parts that are left out are as they were in the frame before. */
export interface Frame {
  pause: Pause | null;
  /** Seconds of the machine a second, of late; null while it stands still. */
  speed: number | null;
  /** All that it ran since it was switched on, and the time that took, in seconds. */
  ran: { machine: number; took: number };
  state: RehearsalState;
  moments: readonly { id: number; seconds: number }[];
  terminals?: readonly Shown[];
  code?: readonly Disassembled[];
  picture?: MemoryPicture;
  memory?: { at: number; bytes: readonly (number | null)[] } | null;
}

/** What the worker tells the page. */
export type Told =
  | { kind: "on"; about: About }
  /** The machine could not be switched on. */
  | { kind: "off"; sentence: string }
  /** Something that was asked could not be done; the machine goes on. */
  | { kind: "notice"; sentence: string }
  | { kind: "frame"; frame: Frame };
