import type { Fitted, JobKind, TimingAnswer } from "@rouse/core/timing";

export interface TimeChoices {
  image: string;
  what: "boot" | "login";
  images: readonly { name: string; files: readonly string[]; problem?: string }[];
}

/** Spans as columns, in seconds; `name` counts into `names`. */
export interface SpanColumns {
  names: readonly string[];
  lane: readonly string[];
  name: readonly number[];
  start: readonly number[];
  length: readonly number[];
}

export interface TimeTold {
  answer: TimingAnswer;
  spans: SpanColumns;
  fitted: Omit<Fitted, "samples"> | null;
}

/** Values tried in place of the bench's own, in base units. */
export type Tried = Readonly<Partial<Record<"interleave" | "skew" | "rotation" | "lineRate", number>>>;

export interface TimeAsked {
  image: string;
  what: JobKind;
  name?: string;
  tried: Tried;
  measured: readonly string[];
}
