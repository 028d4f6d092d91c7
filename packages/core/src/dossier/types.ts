import type { Source } from "../catalogue/index.ts";
import type { JobReport } from "../fit/index.ts";
import type { StepState } from "../runbook/index.ts";
import type { Condition } from "../volume/index.ts";

/** One entry of the job's log, as read. */
export interface LoggedEntry {
  time: string;
  entry: Readonly<Record<string, unknown>>;
}

/** A file of the job folder. */
export interface JobFile {
  /** Path in the job folder, parts joined by `/`. */
  path: string;
  bytes: Uint8Array;
  sha256: string;
}

/** An image of a disk or a ROM: what it is, and by whose leave it is used. Null where nobody said. */
export interface Provenance {
  kind: "disk" | "ROM";
  name: string;
  file: string;
  size: number | null;
  sha256: string | null;
  holds: string;
  from: string | null;
  received: string | null;
  permission: string | null;
  licence: string | null;
  /** Key of the bench file under which these four stand. */
  key: string;
}

export interface SurveyRecord {
  image: string;
  format: string;
  label: string;
  condition: Condition;
  facts: readonly (readonly [label: string, value: string])[];
  entries: readonly {
    path: string;
    kind: string;
    size: number;
    condition: Condition;
    deleted: boolean;
  }[];
  damages: readonly string[];
}

/** A change to the machine, how it is undone, and what the log says of both. */
export interface Change {
  change: string;
  undo: string;
  state: StepState["state"] | "not in the run book";
  /** When it was ticked. */
  at: string | null;
  /** Whether the step that takes the board back out is ticked. */
  undone: boolean;
}

export interface ReadingRecord {
  at: string;
  step: string;
  what: string;
  wanted: string;
  reading: string;
  within: boolean;
}

/** What a write left in the log. */
export interface CertificateRecord {
  time: string;
  image: string;
  sha256: string;
  target: string;
  blocks: number | null;
  verified: boolean;
  bad: number;
}

export interface DiagnosticsRecord {
  /** What was seen or measured in the search for a fault. */
  answers: readonly { at: string | null; test: string; found: string; reading: string | null }[];
  /** What those answers make of it, the likeliest first; chances from 0 to 1. */
  causes: readonly { part: string; chance: number }[];
  /** What test programs printed, from files of the job. */
  reports: readonly {
    file: string;
    program: string;
    verdicts: string;
    findings: number;
    end: "good" | "bad" | null;
  }[];
}

export interface CaptureRecord {
  file: string;
  sha256: string;
  started: string;
  port: string;
  rate: number;
  frame: string;
  seconds: number;
  received: number;
  sent: number;
  /** Lines that cannot be read. */
  bad: number;
  /** What was to be read on the screen, its middle left out where it is long. */
  text: readonly string[];
  leftOut: number;
}

export interface PhotoRecord {
  file: string;
  sha256: string;
  size: number;
  type: string;
  /** Titles of the steps at which it was kept. */
  steps: readonly string[];
}

/** The record that stays, as data. */
export interface Dossier {
  format: "rouse-dossier";
  version: 2;
  report: JobReport;
  /** Text of the bench file. */
  bench: string;
  images: readonly Provenance[];
  surveys: readonly SurveyRecord[];
  changes: readonly Change[];
  runBook: readonly StepState[];
  /** What was done at steps that the bench no longer has. */
  left: readonly { step: string; evidence: StepState["evidence"] }[];
  readings: readonly ReadingRecord[];
  certificates: readonly CertificateRecord[];
  diagnostics: DiagnosticsRecord;
  captures: readonly CaptureRecord[];
  photos: readonly PhotoRecord[];
  /** Entries of the log that stand nowhere above. */
  log: readonly { time: string; kind: string; particulars: string }[];
  /** What of the log, captures and script could not be read. */
  unread: readonly string[];
  credits: readonly string[];
  sources: readonly Source[];
}
