import { Hono } from "hono";
import { checkJob, type ImageCache, jobCatalogue } from "../job/index.ts";
import { type Job, listFiles, openInside, readWhole } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";

const CAPTURES_FOLDER = "captures";
/** Ten turns of a high-density track as text; more is no capture of one track. */
const CAPTURE_LIMIT = 64 * 1024 * 1024;

/**
 * Routes of the disk page. The page itself lays out tracks and recovers captures, in a worker of its own:
 *
 *     GET disk             {images: [{name, file, recording, drive, rotation, interleave}], recordings}
 *     GET captures         [{name, size, problem?}]: files of the job's captures/
 *     GET captures/NAME    octets
 */
export function createDiskApi(job: Job): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  const cache: ImageCache = new Map();

  api.get("/disk", async (c) => {
    if (cache.size > 16) cache.clear();
    const [{ bench }, catalogue] = await Promise.all([checkJob(job, undefined, cache), jobCatalogue(job)]);
    const images = (bench?.images ?? []).map(({ name, file, recording, drive, interleave }) => ({
      name,
      file: file.replace(/^(\.\/)?images\//, ""),
      recording: recording?.id ?? null,
      drive: drive?.name ?? null,
      rotation: drive?.rotation?.value ?? null,
      interleave: interleave ?? drive?.interleave ?? null,
    }));
    const recordings = new Map([...catalogue.recordings.values()].map((each) => [each.id, each]));
    // A bench may describe a recording of its own.
    for (const { recording } of bench?.images ?? []) if (recording) recordings.set(recording.id, recording);
    return c.json({ images, recordings: [...recordings.values()] });
  });

  api.get("/captures", async (c) =>
    c.json((await listFiles(job, CAPTURES_FOLDER)).map(({ stamp: _, ...each }) => each)),
  );
  api.get("/captures/:name", async (c) => {
    const path = `${CAPTURES_FOLDER}/${c.req.param("name")}`;
    const handle = await openInside(job.folder, path);
    try {
      const bytes = await readWhole(handle, path, CAPTURE_LIMIT);
      return c.body(bytes as Uint8Array<ArrayBuffer>, 200, { "content-type": "application/octet-stream" });
    } finally {
      await handle.close();
    }
  });
  return api;
}
