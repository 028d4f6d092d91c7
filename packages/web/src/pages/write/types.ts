/** A block device that may be meant. */
export interface ListedTarget {
  path: string;
  size: number;
  model: string | null;
}

/** What a target is, as the server found it. */
export interface TargetFacts {
  path: string;
  kind: "block device" | "file" | "new file";
  size: number;
  model?: string;
  removable?: boolean;
  mounted: readonly string[];
  holds?: string;
  /** The word that is typed to confirm. */
  word: string;
}

/** The timing model's word on a stage, in seconds; where not `known`, at least so long. */
export interface Estimate {
  seconds: number;
  low: number;
  high: number;
  known: boolean;
}

export interface WritePlan {
  id: string;
  image: { name: string; size: number; sha256: string; format: string | null };
  target: TargetFacts;
  blocks: number;
  blockSize: number;
  from: number;
  copyTo: string | null;
  estimate: Readonly<Record<"writing" | "verifying", Estimate>> | null;
  noEstimate: string | null;
  stops: readonly string[];
}

export type Stage = "saving" | "writing" | "verifying";

export interface Certificate {
  image: { name: string; sha256: string; size: number };
  target: { path: string; kind: string; model: string | null; held: string | null };
  blocks: number;
  resumedFrom: number;
  copyOfBefore: string | null;
  unreadBefore: number;
  retries: number;
  bad: readonly { block: number; tries: number; why: string; holds: string }[];
  verified: boolean;
  pastCache: boolean;
  sha256ReadBack: string | null;
  started: string;
  ended: string;
  madeBy: string;
}

/** A write as the server keeps it. */
export interface WriteState {
  id: string;
  plan: WritePlan;
  state: "running" | "stopping" | "done" | "failed";
  progress: { stage: Stage; done: number; blocks: number; elapsed: number } | null;
  /** Milliseconds of each stage so far. */
  took: Partial<Record<Stage, number>>;
  certificate: Certificate | null;
  problem: { code: string; sentence: string } | null;
}

/** What is asked to be planned. */
export interface PlanAsked {
  image: string;
  device?: string;
  file?: string;
  twice?: boolean;
  resume?: boolean;
  withoutCopy?: boolean;
}
