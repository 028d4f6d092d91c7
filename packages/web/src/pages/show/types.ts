import type { PlannedShow, Runs } from "@rouse/core/show";

export interface ScriptText {
  text: string;
  /** Empty where there is no file yet. */
  hash: string;
}

export interface PlanTold {
  plan: PlannedShow;
  ends: number | null;
  spare: number;
}

export interface ListedCapture {
  name: string;
  size: number;
  stamp: string;
  head: { started: string; rate: number; frame: string; about?: string } | null;
}

/** A session made ready to be shown. */
export interface Session {
  rows: number;
  columns: number;
  /** When each piece came in, in seconds, ascending. */
  times: Float64Array;
  /** What is shown at its beginning. */
  first: Shown;
  /** Terminals of the catalogue that it can be shown on: id and title. */
  terminals: readonly (readonly [id: string, title: string])[];
  /** Lines of the capture that are no entries. */
  spoilt: number;
}

/** What the screen shows at a moment. */
export interface Shown {
  rows: readonly Runs[];
  cursor: readonly [row: number, column: number];
}

/** How a session kept to a scene of the script. */
export interface KeptScene {
  name: string;
  from: number;
  expects: string | null;
  seen: boolean;
  waited: number | null;
}

export type ExportKind = "html" | "captions" | "chapters" | "still" | "text";

export interface ExportWish {
  kind: ExportKind;
  title: string;
  speed: number;
  longestWait: number | null;
  /** Seconds of the capture, for the still. */
  at: number;
  /** A moment that the camera saw, and when; null where the clocks are the same. */
  mark: { by: "byte" | "appears" | "clap"; value: string; seen: string } | null;
}

/** What the page asks of the worker, and what it is told. `screen`: of a moment, in seconds. */
export interface Work {
  open: { asked: { bytes: ArrayBuffer; terminal: string }; told: Session };
  screen: { asked: number; told: Shown };
  /** The text of a script, empty where there is none; told null then. */
  follow: { asked: string; told: readonly KeptScene[] | null };
  make: { asked: ExportWish; told: string };
}

type Kind = keyof Work;
export type Asked = { [Each in Kind]: { id: number; kind: Each; asked: Work[Each]["asked"] } }[Kind];
export type Answer = { id: number; told: Work[Kind]["told"] } | { id: number; problem: string };
