import type { FileData } from "./chains.ts";
import { type LastByte, lastBlockBytes } from "./disk.ts";
import { DATA } from "./layout.ts";
import type { RecordFile } from "./record-file.ts";
import { POINTERS_AT } from "./record-index.ts";

/**
 * The guides call the second byte of a last block a count of valid data bytes; practice (from memory) has it as the
 * index of the last valid byte, which is one more. Some files can mean only one of the two, and settle it for all.
 */
export interface LastByteReading {
  reading: LastByte;
  /** How it was settled, for a person. */
  how: string;
}

/** The reading for which a file speaks, or null. */
function voteOf(file: FileData | RecordFile): LastByte | null {
  if (file.ending !== "end") return null;
  if (file.lastValue === 255) return "index";
  if (file.lastValue === 0) return "count";
  if (!("index" in file)) return null;
  const { index, recordLength, positions } = file;
  if (index.lastValue === POINTERS_AT - 1 + 2 * index.lastPointers) return "index";
  if (index.lastValue === POINTERS_AT - 2 + 2 * index.lastPointers) return "count";
  if (recordLength < 2) return null;
  const fits = (reading: LastByte): boolean =>
    ((positions.length - 1) * DATA + lastBlockBytes(file.lastValue, reading)) % recordLength === 0;
  return fits("index") === fits("count") ? null : fits("index") ? "index" : "count";
}

const WORDS: Readonly<Record<LastByte, string>> = {
  index: "index of the last valid byte",
  count: "count of valid data bytes",
};

/** Settles the reading: as asked, by the closed files that can mean only one, or as is common practice. */
export function settleLastByte(
  files: readonly (FileData | RecordFile)[],
  asked: LastByte | undefined,
): LastByteReading {
  const votes = { index: 0, count: 0 };
  for (const file of files)
    if (file.slot.closed && !file.slot.deleted) {
      const vote = voteOf(file);
      if (vote) votes[vote]++;
    }
  if (asked) return { reading: asked, how: `${WORDS[asked]} (as asked)` };
  const reading: LastByte = votes.count > votes.index ? "count" : "index";
  const against = votes[reading === "index" ? "count" : "index"];
  const how =
    votes[reading] === 0
      ? `${WORDS[reading]} (assumed: no file on this volume settles it)`
      : `${WORDS[reading]} (seen: ${votes[reading]} of the files can mean only that${against > 0 ? `, ${against} only the other` : ""})`;
  return { reading, how };
}
