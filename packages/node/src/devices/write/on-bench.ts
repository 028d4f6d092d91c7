import type { Bench } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import type { Finding, JobReport } from "@rouse/core/fit";
import { type TimingAnswer, type TimingInput, timeJob } from "@rouse/core/timing";
import type { Stage } from "./engine.ts";

/** What the timing model says of a stage on the bench's drive, in seconds; where not `known`, at least so long. */
export type Estimate = Pick<TimingAnswer, "seconds" | "low" | "high" | "known">;
export type Estimates = Readonly<Record<Stage, Estimate>>;

/** A finding of the check about an image on its way onto the disk. */
export interface FitFinding extends Pick<Finding, "link" | "verdict" | "sentence"> {
  remedy: string | null;
}

/** What the bench file says of an image in `images/`. */
export interface OnBench {
  /** Whether it is one of the bench's images. */
  named: boolean;
  /** Findings of the links image, medium and drive that speak of it. */
  fit: readonly FitFinding[];
  /** How long its drive would take; null where that cannot be said, and `noEstimate` says why. */
  estimates: Estimates | null;
  noEstimate: string | null;
}

/** What a checked job gives for this; the images are surveyed. */
interface Checked {
  bench: Bench;
  report: JobReport;
  images: readonly (TimingInput["image"] & { problem?: string })[];
}

/** Name in `images/` of a file as the bench gives it. */
export const inImages = (file: string): string => file.replace(/^(\.\/)?images\//, "");

/** The findings that a write of an image rests on. */
const fitOf = (report: JobReport, image: string): FitFinding[] =>
  report.links
    .filter(({ link }) => ["image", "medium", "drive"].includes(link))
    .flatMap(({ findings }) => findings)
    .filter(({ id }) => id.endsWith(`/${image}`))
    .map(({ link, verdict, sentence, remedy }) => ({ link, verdict, sentence, remedy: remedy ?? null }));

/** Those that stop it. */
export const stopsOf = (fit: readonly FitFinding[]): FitFinding[] => fit.filter(({ verdict }) => verdict === "stops");

/** How long the bench's own drive writes and reads a disk. Saving what is on one is reading it whole. */
function estimatesOf(input: TimingInput): Estimates {
  const [writing, verifying] = (["write", "verify"] as const).map((what): Estimate => {
    const { seconds, low, high, known } = timeJob(input, { what });
    return { seconds, low, high, known };
  });
  return { saving: verifying!, writing: writing!, verifying: verifying! };
}

/** What the bench says of an image file. Whole disks take the simulation a second on a slow computer. */
export function onBench({ bench, report, images }: Checked, file: string): OnBench {
  const image = bench.images.find((each) => inImages(each.file) === file);
  const none = (noEstimate: string, fit: readonly FitFinding[] = []): OnBench => ({
    named: image !== undefined,
    fit,
    estimates: null,
    noEstimate,
  });
  if (!image) return none("The bench file does not name this image, so neither its fit nor its drive's time is known.");
  const fit = fitOf(report, image.name);
  const surveyed = images.find((each) => each.name === image.name);
  if (!surveyed || surveyed.problem !== undefined) return none(surveyed?.problem ?? "It was not surveyed.", fit);
  if (!image.drive || !image.recording) return none("The bench file gives this image no drive and recording.", fit);
  try {
    return { named: true, fit, estimates: estimatesOf({ bench, image: surveyed }), noEstimate: null };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return none(error.message, fit);
  }
}
