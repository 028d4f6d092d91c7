import { inSeconds } from "../../parts/seconds.ts";
import { counted } from "../../parts/words.ts";
import type { Certificate, Estimate, Stage, TargetFacts, WriteState } from "./types.ts";

export const STAGES: readonly (readonly [Stage, string])[] = [
  ["saving", "Saving what was on it"],
  ["writing", "Writing"],
  ["verifying", "Reading back and comparing"],
];

/** "14 min 24 s (14 min 20 s to 14 min 30 s)", or "at least 12 s". */
export function estimateInWords({ seconds, low, high, known }: Estimate): string {
  if (!known) return `at least ${inSeconds(low)}`;
  return inSeconds(low) === inSeconds(high)
    ? inSeconds(seconds)
    : `${inSeconds(seconds)} (${inSeconds(low)} to ${inSeconds(high)})`;
}

/** What is overwritten, in one sentence. */
export function overwriteInWords({ path, kind, holds, model }: TargetFacts): string {
  if (kind === "new file") return `${path} will be made.`;
  const what = kind === "file" ? "the file" : `the disk in ${model ?? "the drive"}`;
  return `Everything on ${what} ${kind === "file" ? path : `(${path})`} will be overwritten. It holds ${holds ?? "nothing that was recognised"}.`;
}

/** Milliseconds that are left of a stage, going on as it went so far; undefined before the first block. */
export const leftOf = ({ done, blocks, elapsed }: NonNullable<WriteState["progress"]>): number | undefined =>
  done > 0 ? (elapsed / done) * (blocks - done) : undefined;

/** What came of it, in one sentence. */
export function outcomeInWords({ verified, blocks, bad, pastCache, retries }: Certificate): string {
  if (!verified)
    return bad.length > 0
      ? `${counted(bad.length, "block")} of ${blocks.toLocaleString("en-GB")} ${bad.length === 1 ? "is" : "are"} bad. The disk is not to be trusted; try another one.`
      : "What was read back is not the image. The disk is not to be trusted; try another one.";
  const cache = pastCache ? "past the host's cache" : "though the host's cache could not be passed by";
  return `All ${blocks.toLocaleString("en-GB")} blocks were written and read back the same, ${cache}, with ${counted(retries, "retry", "retries")}.`;
}

/** Whether an ended write can be gone on with. */
export const canResume = ({ state, problem }: WriteState): boolean =>
  state === "failed" && ["interrupted", "target-failed"].includes(problem?.code ?? "");
