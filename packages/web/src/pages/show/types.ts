import type { Frame, PlannedShow } from "@rouse/core/show";

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
  frames: readonly Frame[];
  /** Terminals of the catalogue that it can be shown on: id and title. */
  terminals: readonly (readonly [id: string, title: string])[];
  /** Lines of the capture that are no entries. */
  spoilt: number;
  /** How it kept to the script; null without one. */
  kept: readonly { name: string; from: number; expects: string | null; seen: boolean; waited: number | null }[] | null;
  notes: readonly { t: number; text: string }[];
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

export type Asked =
  | { id: number; open: { bytes: ArrayBuffer; terminal: string; script: string } }
  | { id: number; make: ExportWish };

export type Answer = { id: number; session: Session } | { id: number; made: string } | { id: number; problem: string };
