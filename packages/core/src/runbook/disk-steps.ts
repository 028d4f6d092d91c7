import type { Bench, BenchImage } from "../bench/index.ts";
import { InputError } from "../errors/index.ts";
import type { SurveyedImage } from "../fit/index.ts";
import { formatValue } from "../quantity/index.ts";
import { type JobWish, type TimingAnswer, timeJob } from "../timing/index.ts";
import type { Draft } from "./step.ts";
import type { Step } from "./types.ts";

/** An image with the hash of its bytes, in hex; null where it could not be read. */
export type HashedImage = SurveyedImage & { sha256: string | null };

/** What the timing room says; nothing where the bench or the image lacks what the job is about. */
export function timed(bench: Bench, image: SurveyedImage | undefined, wish: JobWish): TimingAnswer | undefined {
  if (!image?.volume) return undefined;
  try {
    return timeJob({ bench, image }, wish);
  } catch (error) {
    if (error instanceof InputError) return undefined;
    throw error;
  }
}

export const timeOf = (answer: TimingAnswer | undefined, minutes: number): Step["time"] =>
  answer === undefined
    ? { seconds: minutes * 60, from: "usual" }
    : { seconds: answer.seconds, from: answer.known ? "simulated" : "at least" };

export const inSeconds = (answer: TimingAnswer): string =>
  answer.known
    ? `${formatValue(answer.seconds, "time", 3)} (${formatValue(answer.low, "time", 3)} to ${formatValue(answer.high, "time", 3)})`
    : `at least ${formatValue(answer.low, "time", 3)} (${answer.missing.map((each) => each.key).join(", ")} would say more)`;

const CHECKS = ["image-size", "image-whole", "medium-drive", "medium-recording", "drive-sides", "drive-recording"];

/** Writing and verifying the disk of each image. */
export const diskSteps = (bench: Bench, images: readonly HashedImage[]): Draft[] =>
  bench.images.flatMap((image) => {
    const found = images.find((each) => each.name === image.name);
    const rests = [image, found?.sha256];
    const name = image.file.replace(/^images\//, "");
    return [
      {
        id: `disk/${image.name}/medium`,
        title: `Prepare a disk for ${image.name}`,
        why: "A worn disk or a dirty head spoils the write, and a preserved disk that is written over is gone.",
        how: [
          `Take ${image.medium ? `a ${image.medium.title}` : "a disk of the right kind"} that holds nothing of worth, and label it before it is written.`,
          "Look at both surfaces for scratches and shedding; turn it by hand in its sleeve.",
          `Clean the heads of ${image.drive?.name ?? "the drive"}; write-protect every original that lies near.`,
        ],
        expected: "Clean surfaces, free turning, label on; no original in the drive.",
        tools: ["label", "head cleaner of the drive's kind", "write-protect tabs"],
        time: 5,
        say: "Take another disk. Nothing is tried twice on a disk that sheds.",
        checks: ["medium-drive", "medium-recording"],
        missing: [...(image.medium ? [] : [`${image.path}.medium`]), ...(image.drive ? [] : [`${image.path}.drive`])],
        rests: [image.medium, image.drive],
      },
      {
        id: `disk/${image.name}/write`,
        title: `Write ${image.name}, and verify it`,
        why: "What is on the disk must be, block by block, what was preserved.",
        how: [
          `\`rouse write JOB --image ${name}\` names what is on the target, asks, writes, and reads everything back.`,
          ...(found?.sha256 ? [`SHA-256 of the image: ${found.sha256}.`] : []),
        ],
        expected: `Every block read back the same; the certificate is in the log.${machineTime(bench, found, image)}`,
        tools: ["drive on a computer, or an adapter for the disk drive"],
        time: timeOf(undefined, 10),
        say: "The certificate lists bad blocks and the files they hold. Another disk, clean heads; then the drive.",
        checks: CHECKS,
        missing: found?.sha256 ? [] : [`${image.path}.file`],
        ...(found?.sha256 ? { image: found.sha256 } : {}),
        rests,
      },
    ];
  });

/** Seconds on the machine's own drive, where it is written there. */
function machineTime(bench: Bench, image: SurveyedImage | undefined, described: BenchImage): string {
  const write = timed(bench, image, { what: "write" });
  const verify = timed(bench, image, { what: "verify" });
  if (!write || !verify) return "";
  return ` On ${described.drive?.name ?? "the machine's drive"} itself, writing takes ${inSeconds(write)} and verifying ${inSeconds(verify)}.`;
}
