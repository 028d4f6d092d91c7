import { mapBlocks, placeInWords } from "../geometry/index.ts";
import { fitting, openFirst, recogniseAll, type VolumeWish } from "./open-best.ts";
import type { Entry, Volume } from "./types.ts";

/** How two images differ, by blocks and by files. */
export interface Compared {
  same: boolean;
  sizes: readonly [number, number];
  /** Of one volume kind and layout, so that files could be compared. */
  volumes: readonly [string | null, string | null];
  blockSize: number | null;
  differingBlocks: number;
  differingBytes: number;
  /** Runs of blocks that differ, at most `MOST_RUNS`; `files` are those of either image that own them. */
  runs: readonly { from: number; to: number; place: string | null; files: readonly string[] }[];
  runsLeftOut: number;
  files: readonly ComparedFile[];
}

export interface ComparedFile {
  path: string;
  /** `details`: the content is the same, what the directory says of it is not. */
  how: "only in the first" | "only in the second" | "content" | "details";
  sentence: string;
}

const MOST_RUNS = 500;

function openOf(image: Uint8Array, wish: VolumeWish): Volume | undefined {
  return openFirst(image, fitting(recogniseAll(image), wish))?.volume;
}

/** Compares two images. Takes any bytes; without volumes of one layout blocks are 256 bytes, and there are no files. */
export function compareImages(a: Uint8Array, b: Uint8Array, wish: VolumeWish = {}): Compared {
  const first = openOf(a, wish);
  const second = openOf(b, wish);
  const map = first && (!second || second.format === first.format) ? mapBlocks(first.geometry) : undefined;
  const longest = Math.max(a.length, b.length);
  const inMap = map ? map.bytes : 0;
  const blockOf = (offset: number): number =>
    map ? (offset < inMap ? map.blockAt(offset) : map.blocks + Math.floor((offset - inMap) / 256)) : offset >> 8;
  const endOf = (block: number): number =>
    map
      ? block < map.blocks
        ? map.offset(block) + map.size(block)
        : inMap + (block - map.blocks + 1) * 256
      : (block + 1) << 8;
  const blocks: number[] = [];
  let differingBytes = 0;
  for (let at = 0; at < longest; ) {
    if (a[at] === b[at]) {
      at++;
      continue;
    }
    const block = blockOf(at);
    blocks.push(block);
    for (const end = Math.min(endOf(block), longest); at < end; at++) if (a[at] !== b[at]) differingBytes++;
  }
  const ownersOf = (block: number): string[] =>
    [first, second].flatMap((volume) => {
      const entry = volume?.entries[volume.owners[block] ?? -1];
      return entry ? [entry.path] : [];
    });
  const runs: { from: number; to: number; place: string | null; files: string[] }[] = [];
  let runsLeftOut = 0;
  let last: (typeof runs)[number] | undefined;
  for (const block of blocks) {
    if (last && last.to === block - 1) {
      last.to = block;
      last.files = [...new Set([...last.files, ...ownersOf(block)])];
      continue;
    }
    last = {
      from: block,
      to: block,
      place: map && block < map.blocks ? placeInWords(map.geometry, map.place(block)) : null,
      files: [...new Set(ownersOf(block))],
    };
    if (runs.length < MOST_RUNS) runs.push(last);
    else runsLeftOut++;
  }
  const shared = first && second && first.kind === second.kind;
  return {
    same: a.length === b.length && blocks.length === 0,
    sizes: [a.length, b.length],
    volumes: [first ? `${first.kind}: ${first.format}` : null, second ? `${second.kind}: ${second.format}` : null],
    blockSize: map ? null : 256,
    differingBlocks: blocks.length,
    differingBytes,
    runs,
    runsLeftOut,
    files: shared ? compareFiles(first, second) : [],
  };
}

const liveOf = (volume: Volume): Map<string, Entry> =>
  new Map(volume.entries.filter((entry) => !entry.deleted).map((entry) => [entry.path, entry]));

/** Details that tell where a file lies, not what it is. */
const PLACE = new Set(["First cluster", "Descriptor", "Segments", "Read beyond the break"]);

function compareFiles(first: Volume, second: Volume): ComparedFile[] {
  const others = liveOf(second);
  const out: ComparedFile[] = [];
  for (const [path, entry] of liveOf(first)) {
    const other = others.get(path);
    others.delete(path);
    if (!other) {
      out.push({ path, how: "only in the first", sentence: `${path} is only in the first, ${entry.size} bytes.` });
      continue;
    }
    const found = entry.type === "folder" ? undefined : contentDiffers(first, entry, second, other);
    if (found !== undefined) out.push({ path, how: "content", sentence: `${path}: ${found}` });
    else {
      const details = detailsDiffer(entry, other);
      if (details !== "") out.push({ path, how: "details", sentence: `${path}: ${details}` });
    }
  }
  for (const [path, entry] of others)
    out.push({ path, how: "only in the second", sentence: `${path} is only in the second, ${entry.size} bytes.` });
  return out;
}

function contentDiffers(first: Volume, entry: Entry, second: Volume, other: Entry): string | undefined {
  const a = first.read(entry).bytes;
  const b = second.read(other).bytes;
  let differing = 0;
  let at = -1;
  for (let i = 0; i < Math.min(a.length, b.length); i++)
    if (a[i] !== b[i]) {
      if (at < 0) at = i;
      differing++;
    }
  const sizes = a.length === b.length ? "" : ` It has ${a.length} bytes in the first and ${b.length} in the second.`;
  if (differing === 0) return sizes === "" ? undefined : `the shorter is the start of the longer.${sizes}`;
  const record =
    entry.records && entry.records.length > 0 ? ` (record ${Math.floor(at / entry.records.length) + 1})` : "";
  return `${differing === 1 ? "1 byte differs" : `${differing} bytes differ`}, the first at ${at}${record}.${sizes}`;
}

function detailsDiffer(entry: Entry, other: Entry): string {
  const seen = new Map(other.details);
  const words: string[] = [];
  if (entry.kind !== other.kind) words.push(`kind ${entry.kind}, then ${other.kind}`);
  for (const [label, value] of entry.details) {
    const there = seen.get(label);
    seen.delete(label);
    if (!PLACE.has(label) && there !== value) words.push(`${label} ${value}, then ${there ?? "nothing"}`);
  }
  for (const [label, value] of seen) if (!PLACE.has(label)) words.push(`${label} nothing, then ${value}`);
  return words.join("; ");
}
