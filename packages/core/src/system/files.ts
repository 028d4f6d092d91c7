import { visible } from "../bytes/index.ts";
import { mapBlocks } from "../geometry/index.ts";
import type { Entry, Volume } from "../volume/index.ts";

/**
 * On a damaged volume thousands of entries may claim the same blocks. Reading stops at this many times the bytes of
 * the image, so that time and memory stay in proportion to it.
 */
const MOST_READ = 4;

/** Files that are not marked as deleted. */
export const filesOf = (volume: Volume): Entry[] =>
  volume.entries.filter((entry) => entry.type === "file" && !entry.deleted);

/** Reads each file once, path made safe to show. Gives how many were left unread because of `MOST_READ`. */
export function eachFile(volume: Volume, visit: (path: string, bytes: Uint8Array, entry: Entry) => void): number {
  let left = MOST_READ * mapBlocks(volume.geometry).bytes;
  let unread = 0;
  for (const entry of filesOf(volume)) {
    if (entry.size > left) {
      unread++;
      continue;
    }
    const { bytes } = volume.read(entry);
    left -= bytes.length;
    visit(visible(entry.path), bytes, entry);
  }
  return unread;
}
