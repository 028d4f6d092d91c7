import { type Capture, readCapture } from "@rouse/core/show";
import { openRegular, readWhole } from "../store/index.ts";

/** A day and a night at 9,600 bit/s, written as text, is about this. */
export const CAPTURE_LIMIT = 512 * 1024 * 1024;

/** Reads a session capture that the person named. */
export async function readCaptureFile(path: string): Promise<Capture> {
  const handle = await openRegular(path);
  try {
    return readCapture(await readWhole(handle, path, CAPTURE_LIMIT));
  } finally {
    await handle.close();
  }
}
