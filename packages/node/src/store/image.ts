import { createHash } from "node:crypto";
import { openInside, openRegular, readWhole } from "./inside.ts";
import type { Job } from "./job.ts";
import { IMAGES_FOLDER } from "./job.ts";

/** No flexible disk of the trade comes near this, recovered transition records included. */
export const IMAGE_LIMIT = 64 * 1024 * 1024;

export interface ImageBytes {
  bytes: Uint8Array;
  /** In hex. */
  sha256: string;
  size: number;
}

/**
 * Reads an image: a path that the person gave, or a name in the job's `images/` that cannot lead out. Refuses devices,
 * pipes and folders, and files of more than `limit` bytes, before reading.
 */
export async function readImage(source: string | { job: Job; name: string }, limit = IMAGE_LIMIT): Promise<ImageBytes> {
  const [shown, handle] =
    typeof source === "string"
      ? [source, await openRegular(source)]
      : [source.name, await openInside(source.job.folder, `${IMAGES_FOLDER}/${source.name}`)];
  try {
    const bytes = await readWhole(handle, shown, limit);
    return { bytes, sha256: createHash("sha256").update(bytes).digest("hex"), size: bytes.length };
  } finally {
    await handle.close();
  }
}
