import { visible } from "../bytes/index.ts";
import { InputError } from "../errors/index.ts";
import { mapBlocks } from "../geometry/index.ts";
import { KIND_NAMES, openBest, type VolumeWish } from "./open-best.ts";
import type { Entry, Volume } from "./types.ts";

/**
 * Addresses of what lies in an image: `image:path/inner:path`. Each part between colons is a path on the volume that
 * the parts before it open; a last part that is empty is that volume itself. `@blocks=10-699` is a run of blocks of
 * the volume, `@bytes=0x2800-0x2BFFF` a run of bytes, both ends included, in place of a file. In a part, `%3A` is a
 * colon and `%40` an `@` of the name.
 */

export interface Resolved {
  /** The bytes in which the last part was looked up: the image itself, a file's content or a run. */
  image: Uint8Array;
  /** The volume in these bytes; null where the address ends in a run that is no volume. */
  volume: Volume | null;
  /** The entry that the last part names; null where the address is the volume or the run itself. */
  entry: Entry | null;
}

/** Splits `images/disk.img:inner.img:path`; a drive letter with its slash (`C:\…`) stays with the first part. */
export function parseAddress(text: string): { image: string; parts: string[] } {
  const drive = /^[A-Za-z]:(?=[\\/])/.exec(text)?.[0] ?? "";
  const [first, ...parts] = text.slice(drive.length).split(":");
  return { image: drive + first, parts };
}

/** A path as a part of an address. */
export const escapePart = (path: string): string => path.replaceAll(":", "%3A").replace(/^@/, "%40");

const unescapePart = (part: string): string => part.replaceAll(/%3A/gi, ":").replace(/^%40/, "@");

/**
 * Follows the parts from the image inwards. `wish` says what the outermost volume is. Throws an `InputError` that
 * names what exists nearest to what was asked.
 */
export function resolveAddress(image: Uint8Array, parts: readonly string[], wish: VolumeWish = {}): Resolved {
  let bytes = image;
  let volume: Volume | null = null;
  let where = "The image";
  const open = (): Volume => {
    volume ??= openIn(bytes, where, bytes === image ? wish : {});
    return volume;
  };
  for (const [index, part] of parts.entries()) {
    const last = index === parts.length - 1;
    if (part === "" && last) return { image: bytes, volume: open(), entry: null };
    if (part.startsWith("@")) bytes = runOf(bytes, part, open);
    else {
      const entry = findEntry(open(), part);
      if (last) return { image: bytes, volume: open(), entry };
      if (entry.type === "folder")
        throw new InputError("not-a-file", `${entry.path} is a folder; write / after it to go on, not a colon.`);
      bytes = open().read(entry).bytes;
    }
    volume = null;
    where = visible(part);
  }
  if (bytes === image) return { image, volume: open(), entry: null };
  return { image: bytes, volume: orNull(open), entry: null };
}

function openIn(bytes: Uint8Array, where: string, wish: VolumeWish): Volume {
  try {
    return openBest(bytes, wish).volume;
  } catch (error) {
    if (error instanceof InputError && error.code === "no-volume")
      throw new InputError(error.code, `${where} cannot be opened as a volume. ${error.message}`);
    throw error;
  }
}

function orNull(open: () => Volume): Volume | null {
  try {
    return open();
  } catch (error) {
    if (error instanceof InputError) return null;
    throw error;
  }
}

const RUN = /^@(blocks|bytes)=(0x[0-9a-f]+|\d+)(?:-(0x[0-9a-f]+|\d+))?$/i;

/** The bytes of `@blocks=10-699` or `@bytes=4096-8191`; a view, not a copy. */
function runOf(bytes: Uint8Array, part: string, open: () => Volume): Uint8Array {
  const found = RUN.exec(part);
  if (!found)
    throw new InputError(
      "bad-run",
      `${visible(part)} is no run: write @blocks=10-699 or @bytes=0x2800-0x2BFFF (a name that begins with @ is written %40…).`,
    );
  const unit = found[1]!.toLowerCase();
  const from = Number(found[2]);
  const to = Number(found[3] ?? found[2]);
  let start = from;
  let end = to + 1;
  let most = bytes.length;
  if (unit === "blocks") {
    let volume: Volume;
    try {
      volume = open();
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      throw new InputError("no-blocks", `${error.message} Its blocks have no known size: use @bytes=FIRST-LAST.`);
    }
    const map = mapBlocks(volume.geometry);
    most = map.blocks;
    if (from <= to && to < most) {
      start = map.offset(from);
      end = map.offset(to) + map.size(to);
    }
  }
  if (from > to || to >= most)
    throw new InputError("bad-run", `${visible(part)} is not a run of the ${unit} 0 to ${most - 1} that there are.`);
  if (start >= bytes.length) throw new InputError("bad-run", `${visible(part)} lies past the end of these bytes.`);
  return bytes.subarray(start, end);
}

/** The entry of a path: exactly, else the only one that differs in the case of letters. */
function findEntry(volume: Volume, part: string): Entry {
  const tries = [part, unescapePart(part)].map((path) => path.replace(/^\/+|\/+$/g, ""));
  for (const path of tries) {
    const exact = volume.entries.find((entry) => entry.path === path);
    if (exact) return exact;
    const folded = volume.entries.filter((entry) => entry.path.toLowerCase() === path.toLowerCase());
    if (folded.length === 1) return folded[0]!;
  }
  const path = tries[1]!;
  throw new InputError(
    "no-entry",
    `There is no ${visible(path)} on this ${KIND_NAMES[volume.kind]}; ${nearest(volume.entries, path)}.`,
  );
}

/** At most this many names are compared letter by letter for a message. */
const MOST_COMPARED = 2000;

function nearest(entries: readonly Entry[], path: string): string {
  const pieces = path.split("/");
  let depth = pieces.length - 1;
  let parent: Entry | undefined;
  for (; depth > 0; depth--) {
    const prefix = pieces.slice(0, depth).join("/").toLowerCase();
    parent = entries.find((entry) => entry.path.toLowerCase() === prefix);
    if (parent) break;
  }
  if (parent?.type === "file")
    return `${parent.path} is a file, and what lies in it is written ${escapePart(parent.path)}:…`;
  const within = parent ? `${parent.path}/` : "";
  const wanted = pieces.slice(depth).join("/");
  let best: { path: string; distance: number } | undefined;
  for (const entry of entries.slice(0, MOST_COMPARED)) {
    if (!entry.path.startsWith(within)) continue;
    const own = entry.path.slice(within.length).toLowerCase();
    const distance = own.startsWith(wanted.toLowerCase()) ? 1 : editDistance(own, wanted.toLowerCase());
    if (!best || distance < best.distance) best = { path: entry.path, distance };
  }
  if (best && best.distance <= Math.max(2, wanted.length / 2)) return `the nearest path is ${best.path}`;
  if (parent) return `the nearest path is ${parent.path}`;
  const first = entries.slice(0, 3).map((entry) => entry.path);
  return first.length === 0 ? "it has no entries" : `it begins with ${first.join(", ")}`;
}

/** Letters to insert, remove or change to make `b` of `a`; only the first 64 of each are compared. */
function editDistance(a: string, b: string): number {
  const [from, to] = [a.slice(0, 64), b.slice(0, 64)];
  let row = Array.from({ length: to.length + 1 }, (_, index) => index);
  for (let i = 1; i <= from.length; i++) {
    const next = [i];
    for (let j = 1; j <= to.length; j++)
      next.push(Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + (from[i - 1] === to[j - 1] ? 0 : 1)));
    row = next;
  }
  return row[to.length]! + Math.max(0, a.length - 64);
}
