import { createHash } from "node:crypto";
import { InputError } from "@rouse/core/errors";
import type { TimingInput } from "@rouse/core/timing";
import { type CheckedJob, checkJob, type ImageCache } from "../job/index.ts";
import { CATALOGUE_FOLDER, IMAGES_FOLDER, type Job, listFiles, readBench } from "../store/index.ts";

/** What a time is worked out from; `key` names this state of the job's files. */
export interface JobTiming extends TimingInput {
  key: string;
  checked: CheckedJob;
}

/** The job as it stands now, checked; worked out anew only when one of its files changed. */
export function checkedJobs(job: Job): () => Promise<{ key: string; checked: CheckedJob }> {
  const cache: ImageCache = new Map();
  let known: { key: string; checked: CheckedJob } | undefined;
  return async () => {
    const [{ text, hash }, images, catalogue] = await Promise.all([
      readBench(job),
      listFiles(job, IMAGES_FOLDER),
      listFiles(job, CATALOGUE_FOLDER),
    ]);
    const key = createHash("sha256")
      .update(JSON.stringify([hash, images, catalogue]))
      .digest("hex");
    if (known?.key !== key) {
      if (cache.size > 16) cache.clear();
      known = { key, checked: await checkJob(job, text, cache) };
    }
    return known;
  };
}

/** The bench with one of its images: the shown one, unless named. */
export function timingOfJob(job: Job): (name?: string) => Promise<JobTiming> {
  const check = checkedJobs(job);
  return async (name) => {
    const { key, checked } = await check();
    const { bench } = checked;
    if (!bench) throw new InputError("bad-bench", "The bench file cannot be used; the page Bench file shows why.");
    const wished = name ?? (bench.show?.image ?? bench.images[0])?.name;
    const image = checked.images.find((each) => each.name === wished);
    if (!image)
      throw new InputError(
        "no-such-image",
        wished === undefined
          ? "The bench has no image; describe one under images."
          : `There is no image “${wished}” on this bench.`,
      );
    if (image.problem !== undefined) throw new InputError("no-image", image.problem);
    return { bench, image, key, checked };
  };
}
