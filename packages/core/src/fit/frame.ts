import type { Bench } from "../bench/index.ts";
import type { Catalogue, Source, Sourced } from "../catalogue/index.ts";
import type { Quantity } from "../quantity/index.ts";
import { formatQuantity } from "../quantity/index.ts";
import type { Need, SystemReport } from "../system/index.ts";
import type { Volume } from "../volume/index.ts";
import type { Figure, Finding, Link, Verdict } from "./types.ts";

/** An image of the bench with what was found on it, or why it could not be read. */
export interface SurveyedImage {
  /** Name under `images` in the bench file. */
  name: string;
  size: number;
  /** One sentence, where the file could not be read at all. */
  problem?: string;
  volume?: Volume;
  system?: SystemReport;
  needs: readonly Need[];
}

/** The file of a ROM region, or one sentence why it could not be read. */
export interface RomFile {
  region: string;
  file: string;
  size: number;
  problem?: string;
}

/** Everything a check may look at. Checks change nothing and read nothing else. */
export interface FitContext {
  bench: Bench;
  catalogue: Catalogue;
  images: readonly SurveyedImage[];
  /** ROM images that the bench names; left out where no files are at hand. */
  roms?: readonly RomFile[];
}

/** What a check gives; the frame adds id, link and the check's own sources. */
export interface Outcome {
  /** Which part of the bench it speaks of, where a check speaks of several; part of the finding's id. */
  about?: string;
  verdict: Verdict;
  sentence: string;
  figures?: readonly Figure[];
  result?: string;
  margin?: string;
  remedy?: string;
  missing?: readonly string[];
  sources?: readonly Source[];
  caution?: string;
  at?: string;
}

/** One check: a small file of its own in `checks/`. */
export interface Check {
  id: string;
  link: Link;
  title: string;
  /** Why it matters and how it is worked out, for `rouse check --explain`. */
  about: string;
  /** The arithmetic in words. */
  formula?: string;
  /** Rules that the check itself rests on; sources of values come with the figures. */
  sources: readonly Source[];
  /** No outcome where the bench has nothing that the check speaks of. */
  run(context: FitContext): readonly Outcome[];
}

/** What findings say together. `tight` says that it works, which nobody can say while something is `unknown`. */
const WORST: readonly Verdict[] = ["stops", "unknown", "tight", "runs"];
export const worstOf = (verdicts: readonly Verdict[]): Verdict =>
  WORST.find((each) => verdicts.includes(each)) ?? "unknown";

/** The order in which findings are read: those with something to do come first. */
const ORDER: readonly Verdict[] = ["stops", "tight", "unknown", "runs"];
export const byGravity = (a: { verdict: Verdict }, b: { verdict: Verdict }): number =>
  ORDER.indexOf(a.verdict) - ORDER.indexOf(b.verdict);

/** Runs one check. A finding carries the sources of its figures and of the check, each once. */
export function runCheck(check: Check, context: FitContext): Finding[] {
  return check.run(context).map((outcome) => {
    const figures = outcome.figures ?? [];
    const sources = new Map<string, Source>();
    for (const source of [
      ...check.sources,
      ...(outcome.sources ?? []),
      ...figures.flatMap((each) => each.source ?? []),
    ])
      if (source.kind !== "user") sources.set(source.id, source);
    const { about, ...rest } = outcome;
    return {
      ...rest,
      id: about === undefined ? check.id : `${check.id}/${about}`,
      link: check.link,
      figures,
      ...(check.formula === undefined ? {} : { formula: check.formula }),
      sources: [...sources.values()],
    };
  });
}

/** A figure of a looked-up value, shown with its tolerance and its source. */
export const figureOf = (
  label: string,
  each: Sourced<Quantity> | Sourced<number> | Sourced<string>,
  path?: string,
): Figure => ({
  label,
  value: typeof each.value === "object" ? formatQuantity(each.value) : String(each.value),
  from: each.source.kind === "user" ? "bench" : "catalogue",
  ...(path === undefined ? {} : { path }),
  source: each.source,
});

/** A figure that the bench file states. */
export const benchFigure = (label: string, value: Quantity | number | string, path: string): Figure => ({
  label,
  value: typeof value === "object" ? formatQuantity(value) : String(value),
  from: "bench",
  path,
});

/** A figure read from an image; `path` is the place in it. */
export const imageFigure = (label: string, value: string | number, path: string): Figure => ({
  label,
  value: String(value),
  from: "image",
  path,
});

/** A figure that the check worked out. */
export const worked = (label: string, value: string | number): Figure => ({
  label,
  value: String(value),
  from: "arithmetic",
});

/** An outcome for what cannot be judged, with the keys that would settle it. */
export const unknown = (sentence: string, missing: readonly string[], rest: Partial<Outcome> = {}): Outcome => ({
  verdict: "unknown",
  sentence,
  missing,
  ...rest,
});
