import { formatNumber } from "../quantity/index.ts";
import { OWNER, type Volume } from "./types.ts";

/** Bytes of a block that are a file's own: a chained block begins with its two link bytes. */
const payload = (volume: Volume, size: number): number => (volume.kind === "chained-block" ? size - 2 : size);

const BOOKKEEPING: Readonly<Record<number, string>> = {
  [OWNER.free]: "free",
  [OWNER.system]: "the volume's own tables or system tracks",
  [OWNER.bad]: "marked as bad",
  [OWNER.lost]: "in use, but no file's",
  [OWNER.clash]: "claimed by more than one file",
};

/**
 * What a block of the image holds, in words: "record 17 of ACCOUNTS", "bytes 512 to 767 of sys/log", "free". `size` is
 * the block's size in bytes.
 */
export function blockHolds(volume: Volume, block: number, size: number): string {
  const owner = volume.owners[block];
  if (owner === undefined) return "beyond the volume";
  const entry = owner >= 0 ? volume.entries[owner] : undefined;
  if (!entry) return BOOKKEEPING[owner] ?? "not known";
  const index = entry.blocks.indexOf(block);
  if (index < 0) return `the index or descriptor of ${entry.path}`;
  const bytes = payload(volume, size);
  const from = index * bytes;
  const to = Math.min(entry.size, from + bytes) - 1;
  if (entry.records && entry.records.length > 0) {
    const first = Math.floor(from / entry.records.length) + 1;
    const last = Math.floor(Math.max(from, to) / entry.records.length) + 1;
    return first === last ? `record ${first} of ${entry.path}` : `records ${first} to ${last} of ${entry.path}`;
  }
  return to < from
    ? `the unused end of ${entry.path}`
    : `bytes ${formatNumber(from, 9)} to ${formatNumber(to, 9)} of ${entry.path}`;
}
