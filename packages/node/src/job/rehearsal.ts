import type { Bench } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import { createRehearsal, type Rehearsal, type RehearsalOptions } from "@rouse/core/rehearse";
import { type Job, openInside, readImage, readWhole } from "../store/index.ts";

/** More than any ROM in the addresses of these CPUs, banks and all. */
const ROM_LIMIT = 1 << 20;

/** A ROM image by the `file` that the bench names, from anywhere in the job folder. Throws an `InputError`. */
export async function romOfJob(job: Job, file: string): Promise<Uint8Array> {
  const handle = await openInside(job.folder, file);
  try {
    return await readWhole(handle, file, ROM_LIMIT);
  } finally {
    await handle.close();
  }
}

/** A disk by the `file` that the bench names; disks lie in the job's `images/`. Throws an `InputError`. */
export const diskOfJob = async (job: Job, file: string): Promise<Uint8Array> =>
  (await readImage({ job, name: file.replace(/^(\.\/)?images\//, "") })).bytes;

/** The machine of a job's bench, with ROMs and disks read from the job folder. */
export async function jobRehearsal(job: Job, bench: Bench, options: RehearsalOptions = {}): Promise<Rehearsal> {
  const roms = new Map<string, Uint8Array>();
  for (const { file } of bench.computer?.regions ?? [])
    if (file !== undefined && !roms.has(file)) roms.set(file, await romOfJob(job, file));
  const images = new Map<string, Uint8Array>();
  for (const { file } of bench.images) {
    if (images.has(file)) continue;
    try {
      images.set(file, await diskOfJob(job, file));
    } catch (error) {
      // A disk that is not there is told by the rehearsal, where the machine needs it.
      if (!(error instanceof InputError) || error.code !== "no-such-file") throw error;
    }
  }
  return createRehearsal(bench, { roms, images }, options);
}
