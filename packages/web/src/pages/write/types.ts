import type { Verdict } from "../../job/types.ts";

/** A block device that may be meant. */
interface ListedDevice {
  path: string;
  size: number;
  model: string | null;
  /** Where it is mounted or used; such a device is refused. */
  mounted: readonly string[];
}

/** An adapter of the bench file. */
interface ListedWriter {
  name: string;
  command: readonly string[];
  readsBack: boolean;
  /** Why it is not called from here, where that is so. */
  problem: string | null;
}

export interface Targets {
  devices: readonly ListedDevice[];
  writers: readonly ListedWriter[];
}

/** What a target is, as the server found it. */
export interface TargetFacts {
  path: string;
  kind: "block device" | "file" | "new file" | "adapter";
  size: number;
  model?: string;
  removable?: boolean;
  mounted: readonly string[];
  holds?: string;
  /** The word that is typed to confirm. */
  word: string;
  /** An adapter's programs, as they would be called. */
  calls?: { write: readonly string[]; readBack: readonly string[] | null };
}

/** The timing model's word on a stage, in seconds; where not `known`, at least so long. */
export interface Estimate {
  seconds: number;
  low: number;
  high: number;
  known: boolean;
}

/** What the check says of the image on its way onto the disk. */
export interface FitFinding {
  link: string;
  verdict: Verdict;
  sentence: string;
  remedy: string | null;
}

export interface WritePlan {
  id: string;
  image: { name: string; size: number; sha256: string; format: string | null };
  target: TargetFacts;
  blocks: number;
  blockSize: number;
  from: number;
  copyTo: string | null;
  fit: readonly FitFinding[];
  estimates: Readonly<Record<Stage, Estimate>> | null;
  noEstimate: string | null;
}

export type Stage = "saving" | "writing" | "verifying";

export interface Certificate {
  image: { name: string; sha256: string; size: number };
  target: { path: string; kind: string; model: string | null; held: string | null };
  blocks: number;
  blocksVerified: number;
  compared: boolean;
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
  /** What an adapter's program printed. */
  output?: string;
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

/** A target as it is asked for. */
export interface TargetAsked {
  device?: string;
  file?: string;
  writer?: string;
}

/** What is asked to be planned. */
export interface PlanAsked extends TargetAsked {
  image: string;
  twice?: boolean;
  resume?: boolean;
  withoutCopy?: boolean;
}

/** A write whose journal says that it did not come to its end. */
export interface Interrupted extends TargetAsked {
  image: string;
  target: string;
  done: number;
  blocks: number;
  started: string;
}
