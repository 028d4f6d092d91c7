import type { Source } from "../catalogue/index.ts";

/** The stages between an image and an audience, in order. */
export const LINKS = [
  "image",
  "medium",
  "drive",
  "bus",
  "board",
  "memory",
  "system",
  "port",
  "cable",
  "terminal",
  "audience",
] as const;
export type Link = (typeof LINKS)[number];

/** `tight` works with less margin than is wise; `unknown` lacks a number and is never shown as good. */
export type Verdict = "runs" | "tight" | "stops" | "unknown";

/** A number a finding rests on, with its unit already printed. */
export interface Figure {
  label: string;
  value: string;
  /** Who says so: a catalogue source, or the bench (then `path` says where), or the image (then `path` is the file). */
  from: "bench" | "catalogue" | "image" | "arithmetic";
  path?: string;
  source?: Source;
}

/** What a check says. */
export interface Finding {
  /** Stable: the check's id, and a part of the bench where one check speaks of several: `port-rate/console`. */
  id: string;
  link: Link;
  verdict: Verdict;
  /** One sentence with the numbers in it. */
  sentence: string;
  figures: readonly Figure[];
  /** The arithmetic in words, and its outcome: "rate = crystal ÷ (16 × divisor)", "2,403.8 bit/s, +0.16 %". */
  formula?: string;
  result?: string;
  margin?: string;
  /** What to do; always there for `stops` and `tight`. */
  remedy?: string;
  /** Bench keys that would settle an `unknown`. */
  missing?: readonly string[];
  sources: readonly Source[];
  /** A caution to read before the remedy is tried. */
  caution?: string;
  /** Key in the bench file that it speaks of: "ports.console.divisor". */
  at?: string;
}
