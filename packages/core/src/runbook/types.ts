import type { Dimension } from "../quantity/index.ts";

/** The stages of a bring-up, in the order in which they are worked through. */
export const STAGES = [
  "cautions",
  "inspection",
  "supply",
  "fitting",
  "memory",
  "cable",
  "disk",
  "line",
  "start",
  "show",
  "put back",
] as const;
export type Stage = (typeof STAGES)[number];

/** A reading that a step asks for. Limits are in the base unit, both included. */
export interface Wanted {
  what: string;
  dimension: Dimension;
  low: number;
  high: number;
  /** "5 V ± 5 %" */
  text: string;
}

/** Something to be done at the bench. */
export interface Step {
  /** Stable while the thing it is about keeps its name: `supply-on-load/+5 V`. */
  id: string;
  stage: Stage;
  title: string;
  why: string;
  how: readonly string[];
  expected: string;
  /** Where an instrument is read, what it must show. */
  reading?: Wanted;
  tools: readonly string[];
  /** Seconds of work or waiting, and who says so; `at least` where the bench lacks what the rest depends on. */
  time: { seconds: number; from: "usual" | "simulated" | "at least" };
  fails: {
    say: string;
    /** Checks of the chain that speak of it, by id. */
    checks: readonly string[];
  };
  /** Findings of the chain that stop or are tight where this step goes. */
  warnings: readonly string[];
  /** Keys of the bench that would make the step complete. */
  missing: readonly string[];
  /** Names the state of the bench that the step rests on: it changes when that does. */
  basis: string;
  /** SHA-256 of the image that a disk must hold; a certificate of exactly that is evidence. */
  image?: string;
}

export interface RunBook {
  bench: string;
  steps: readonly Step[];
}

/** What a person did at a step; entries of the log with `kind` "run-book". */
export interface StepEntry {
  kind: "run-book";
  step: string;
  /** `tick` and `reading` say that the step was done; `reopen` takes that back. */
  what: "tick" | "reading" | "note" | "file" | "reopen";
  basis: string;
  /** A name of its own, so that an entry which comes twice counts once. */
  id?: string;
  /** When it was done (ISO 8601, UTC), where that is not when it was logged. */
  at?: string;
  note?: string;
  reading?: string;
  file?: { path: string; sha256: string };
}
