import type { Drawing, FindingWithPlace, ImageReport, JobReport } from "@rouse/core/fit";

/** The report as the server gives it to the page. */
export type WorkbenchReport = JobReport & { drawing: Drawing | null };

export type LinkReport = JobReport["links"][number];
export type Verdict = FindingWithPlace["verdict"];
export type Link = FindingWithPlace["link"];
export type { Drawing, FindingWithPlace, ImageReport };

export interface BenchText {
  text: string;
  hash: string;
}

export interface ImageListed {
  name: string;
  size: number;
  /** Why it cannot be used, where that is so. */
  problem?: string;
}

/** A file of a volume, as text or as a dump; `shown` of its `size` bytes. */
export interface FileView {
  path: string;
  size: number;
  shown: number;
  condition: string;
  missing: readonly { offset: number; length: number }[];
  isText: boolean;
  text?: string;
  rows?: readonly { offset: number; hex: string; text: string }[];
}
