import type { RunBook, StepEntry } from "@rouse/core/runbook/state";

/** What the server knows of the run book. */
export interface RunBookTold {
  /** Names the job, so that entries kept for another one are not added to it. */
  job: string;
  book: RunBook;
  log: readonly { time: string; entry: Readonly<Record<string, unknown>> }[];
  unread: readonly string[];
}

/** Names of the entries that were sent. */
export interface Taken {
  added: readonly string[];
  known: readonly string[];
  refused: readonly { id: string; sentence: string }[];
}

/** An entry that is kept here until the server has it. */
export interface Kept {
  id: string;
  job: string;
  /** Counts up. */
  order: number;
  entry: StepEntry;
  /** A photograph that goes with it. */
  photo?: Blob;
  /** A file of the job that goes with it. */
  path?: string;
  /** Why the server would not take it. */
  refused?: string;
}
