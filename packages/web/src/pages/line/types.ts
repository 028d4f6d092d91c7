/** What the server tells of lines; its `line-types.ts` and `line-bench.ts` say the same. */

type Flow = "none" | "lines" | "characters";

export interface Settings {
  rate: number;
  frame: string;
  flow: Flow;
}

export interface ListedPort {
  path: string;
  about: string;
  serial?: string;
}

export interface Transfer {
  protocol: string;
  file: string;
  bytes: number;
  length: number | null;
  retries: number;
  lastRetry: string | null;
  arrived: number;
  files: number | null;
  saved: readonly { name: string; size: number }[];
}

interface Heard {
  rate: number;
  bytes: number;
  answer?: { frame: string; text: string };
  sense: number;
  ranked?: readonly { rate: number; frame: string; inverted: boolean; probability: number }[];
}

export interface RateResult {
  rate: number;
  sent: number;
  received: number;
  characters: number;
  wrongBits: number;
  lost: number;
  extra: number;
  unplaced: number;
  bitErrors: { rate: number; low: number; high: number };
  speed: number;
  verdict: "good" | "errors" | "nothing came back" | "port refuses the rate";
}

export interface Work {
  id: number;
  kind: "paste" | "send" | "receive" | "listen" | "test";
  state: "running" | "done" | "failed" | "stopped";
  took: number;
  problem: string | null;
  transfer?: Transfer;
  heard?: { heard: readonly Heard[]; best: Heard | null };
  test?: {
    rates: readonly number[];
    results: readonly RateResult[];
    verdict: string | null;
    controls: readonly string[] | null;
  };
}

interface LinesIn {
  cts: boolean;
  dsr: boolean;
  dcd: boolean;
}

export interface Seat {
  port: string;
  run: string;
  state: "open" | "lost" | "closed";
  /** Null before it is first opened. */
  settings: Settings | null;
  in: LinesIn | null;
  out: { dtr: boolean; rts: boolean };
  received: number;
  sent: number;
  windows: number;
  capture: { name: string; problem: string | null } | null;
  work: Work | null;
  problem: string | null;
}

export interface BenchEnd {
  name: string;
  kind: "port" | "terminal";
  rate: number | null;
  frame: string | null;
  flow: Flow;
  pace: { character: number; line: number } | null;
}

export interface BenchScreen {
  name: string;
  title: string;
  columns: number;
  rows: number;
  bits: 7 | 8;
  upperOnly: boolean;
}

export interface BenchLines {
  ends: readonly BenchEnd[];
  screens: readonly BenchScreen[];
  cables: readonly { name: string; from: string; to: string; kind: string }[];
  problem: string | null;
}

export interface CableTold {
  name: string;
  reasons: readonly string[];
  problems: readonly { grave: boolean; sentence: string }[];
  beep: readonly (readonly string[])[];
  silent: readonly { on: string; against: string }[];
  silentPairs: number;
}

export type LineMessage =
  | { kind: "state"; seats: readonly Seat[] }
  | { kind: "port"; run: string; first: number; position: number }
  | { kind: "answers"; yes: boolean };
