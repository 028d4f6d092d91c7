import type { Verdict } from "../../job/types.ts";
import { inSeconds } from "../../parts/seconds.ts";
import { counted } from "../../parts/words.ts";
import type { Certificate, Estimate, Stage, TargetFacts, WriteState } from "./types.ts";

export const STAGES: readonly (readonly [Stage, string])[] = [
  ["saving", "Saving what was on it"],
  ["writing", "Writing"],
  ["verifying", "Reading back and comparing"],
];

/** A narrower range is within what a person would see of it. */
const WIDE = 0.005;

/** "14 min 24 s (14 min 10 s to 14 min 40 s)", or "at least 12 s". */
export function estimateInWords({ seconds, low, high, known }: Estimate): string {
  if (!known) return `at least ${inSeconds(low)}`;
  return high - low < WIDE * seconds
    ? inSeconds(seconds)
    : `${inSeconds(seconds)} (${inSeconds(low)} to ${inSeconds(high)})`;
}

/** What is overwritten, in one sentence. */
export function overwriteInWords({ path, kind, holds, model }: TargetFacts): string {
  if (kind === "new file") return `${path} will be made.`;
  if (kind === "adapter") return `Everything on the disk that “${path}” reaches will be overwritten.`;
  const what = kind === "file" ? "the file" : `the disk in ${model ?? "the drive"}`;
  return `Everything on ${what} ${kind === "file" ? path : `(${path})`} will be overwritten. It holds ${holds ?? "nothing that was recognised"}.`;
}

/** What is saved of the disk before it is overwritten. */
export function copyInWords({ copyTo, target }: { copyTo: string | null; target: TargetFacts }): string {
  if (copyTo) return `what is on it is saved as images/${copyTo} first`;
  return target.kind === "new file" ? "there is nothing to save" : "nothing is saved of what is on it";
}

/** A command as it would be typed: arguments with blanks or quotes in quotation marks. */
export const commandInWords = (command: readonly string[]): string =>
  command.map((each) => (/^[\w./:=,@%+{}-]+$/.test(each) ? each : `“${each}”`)).join(" ");

/** Milliseconds that are left of a stage, going on as it went so far; undefined before the first block. */
export const leftOf = ({ done, blocks, elapsed }: NonNullable<WriteState["progress"]>): number | undefined =>
  done > 0 ? (elapsed / done) * (blocks - done) : undefined;

/** How far the bench's drive would be by now, from 0 to 1; by the least that a time is known to be. */
export const modelShare = (
  { elapsed }: NonNullable<WriteState["progress"]>,
  { seconds, low, known }: Estimate,
): number => Math.min(1, elapsed / 1000 / Math.max(known ? seconds : low, 1e-6));

/** What came of it, in one sentence. */
export function outcomeInWords({ verified, compared, blocks, bad, pastCache, retries, target }: Certificate): string {
  const all = blocks.toLocaleString("en-GB");
  if (compared === false)
    return "It was written. The bench file does not say how to read it back (readBack under writers), so nothing is verified.";
  if (!verified)
    return bad.length > 0
      ? `${counted(bad.length, "block")} of ${all} ${bad.length === 1 ? "is" : "are"} bad. The disk is not to be trusted; try another one.`
      : "What was read back is not the image. The disk is not to be trusted; try another one.";
  const tried = `with ${counted(retries, "retry", "retries")}`;
  if (target.kind === "adapter") return `All ${all} blocks were written and read back the same, ${tried}.`;
  const cache = pastCache ? "past the host's cache" : "though the host's cache could not be passed by";
  return `All ${all} blocks were written and read back the same, ${cache}, ${tried}.`;
}

/** The verdict on a write that came to its end. */
export const verdictOf = ({ verified, compared }: Certificate): Verdict =>
  compared === false ? "unknown" : verified ? "runs" : "stops";

const RESUMABLE = ["interrupted", "target-failed", "journal-failed"];

/** Whether an ended write can be gone on with: an adapter writes a disk whole. */
export const canResume = ({ state, problem, plan }: WriteState): boolean =>
  state === "failed" && plan.target.kind !== "adapter" && RESUMABLE.includes(problem?.code ?? "");
