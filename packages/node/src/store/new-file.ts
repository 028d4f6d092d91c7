import { lstat } from "node:fs/promises";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { writeWhole } from "./whole.ts";

/** Writes a file that is not there yet, whole or not at all. Throws an `InputError` where anything stands at `path`. */
export async function writeNew(path: string, bytes: Uint8Array): Promise<void> {
  const refuseExisting = async (): Promise<void> => {
    const there = await lstat(path).then(
      () => true,
      () => false,
    );
    if (there) throw new InputError("target-there", `${visible(path)} is there already; nothing was written.`);
  };
  await refuseExisting();
  // Asked again when all bytes are on the disk: the least time in which another could put something there.
  await writeWhole(path, bytes, refuseExisting);
}
