import { hex } from "../../bytes/index.ts";
import { FormatError } from "../../errors/index.ts";
import { type Condition, type Content, type Entry, OWNER, type Volume } from "../types.ts";
import { DamageList } from "./damage.ts";
import { FILL, nameFault } from "./directory.ts";
import { type Extent, type Found, filled, imageSector, readDirectory, recordsOfEntry } from "./files.ts";
import { type ExtentEntryOptions, type Layout, layoutInWords, layoutOf, placeOf } from "./layout.ts";
import { ENTRY, parameterBlockFaults, parameterBlockText, RECORD } from "./parameters.ts";

/** Owner of each block by number: index of a live file, or one of `OWNER`. */
type Claims = Int32Array;

/** Sectors of the image that a block takes, in order. */
function sectorsOf(layout: Layout, block: number): number[] {
  const sectors: number[] = [];
  for (let i = 0; i < layout.sectorsPerBlock; i++)
    sectors.push(imageSector(layout, block * layout.sectorsPerBlock + i));
  return sectors;
}

const inFiles = (layout: Layout, block: number): boolean => block >= layout.directoryBlocks && block < layout.blocks;

/** Blocks that an entry's records need. */
const needed = (layout: Layout, extent: Extent): number =>
  Math.min(extent.pointers.length, Math.ceil(extent.content / layout.recordsPerBlock));

interface Tally {
  good: number;
  /** Blocks that hold content but can't be had: number out of range, or beyond the end of the image. */
  bad: number;
  holes: number;
  blocks: number[];
  ownBlocks: number[];
}

/** Counts what of a file can be had. `claims` matters to deleted files: what a live file took over is gone. */
function tally(image: Uint8Array, layout: Layout, file: Found, claims: Claims): Tally {
  const sum: Tally = { good: 0, bad: 0, holes: 0, blocks: [], ownBlocks: [] };
  for (const extent of file.extents) {
    const need = needed(layout, extent);
    const last = filled(extent);
    for (let i = 0; i < Math.max(need, last); i++) {
      const block = extent.pointers[i]!;
      if (block === 0) {
        if (i < need) i < last ? sum.holes++ : sum.bad++;
        continue;
      }
      if (!inFiles(layout, block) || (file.deleted && claims[block]! >= 0)) {
        if (i < need) sum.bad++;
        continue;
      }
      const records = Math.min(extent.content - i * layout.recordsPerBlock, layout.recordsPerBlock);
      const sectors = i < need ? Math.ceil((records * RECORD) / layout.sectorSize) : 0;
      let present = true;
      for (let j = 0; j < layout.sectorsPerBlock; j++) {
        const logical = block * layout.sectorsPerBlock + j;
        if (j < sectors) {
          sum.blocks.push(imageSector(layout, logical));
          if (layout.startByte + (placeOf(layout, logical) + 1) * layout.sectorSize > image.length) present = false;
        } else sum.ownBlocks.push(imageSector(layout, logical));
      }
      if (i < need) present ? sum.good++ : sum.bad++;
    }
  }
  return sum;
}

/** Entries that are absent below the last one of a file. */
function absentOf(file: Found): number {
  const last = file.extents.at(-1);
  return last ? last.index + 1 - file.extents.length : 0;
}

function sizeOf(layout: Layout, file: Found): number {
  const last = file.extents.at(-1);
  return last ? (last.index * recordsOfEntry(layout) + last.content) * RECORD : 0;
}

function readFile(image: Uint8Array, layout: Layout, file: Found, claims: Claims, condition: Condition): Content {
  const bytes = new Uint8Array(sizeOf(layout, file));
  const missing: { offset: number; length: number }[] = [];
  const lack = (offset: number, length: number): void => {
    const last = missing.at(-1);
    if (length <= 0) return;
    if (last && last.offset + last.length === offset) last.length += length;
    else missing.push({ offset, length });
  };
  // Sectors that follow each other in the image are copied in one go.
  const run = { from: 0, to: 0, at: 0 };
  const copy = (): void => {
    const had = Math.max(0, Math.min(run.to, image.length) - run.from);
    if (had > 0) bytes.set(image.subarray(run.from, run.from + had), run.at);
    lack(run.at + had, run.to - run.from - had);
    run.from = run.to = 0;
  };
  const span = recordsOfEntry(layout) * RECORD;
  let end = 0;
  for (const extent of file.extents) {
    const base = extent.index * span;
    if (base > end) {
      copy();
      lack(end, base - end);
    }
    const size = extent.content * RECORD;
    const last = filled(extent);
    for (let i = 0; i * layout.blockSize < size; i++) {
      const block = extent.pointers[i] ?? 0;
      const from = base + i * layout.blockSize;
      const to = Math.min(from + layout.blockSize, base + size);
      if (block === 0 && i < last) continue;
      if (!inFiles(layout, block) || (file.deleted && claims[block]! >= 0)) {
        copy();
        lack(from, to - from);
        continue;
      }
      for (let at = from, j = 0; at < to; at += layout.sectorSize, j++) {
        const length = Math.min(layout.sectorSize, to - at);
        const start = layout.startByte + placeOf(layout, block * layout.sectorsPerBlock + j) * layout.sectorSize;
        if (start !== run.to || at !== run.at + run.to - run.from) {
          copy();
          run.from = start;
          run.at = at;
        }
        run.to = start + length;
      }
    }
    // What an entry before the last one doesn't count was never written, and reads as zero bytes.
    end = base + span;
  }
  copy();
  return { bytes, condition, missing };
}

/** Claims all blocks of live files; a block that two want is `clash`. Gives the pairs of files that clash. */
function claimBlocks(layout: Layout, files: readonly Found[]): { claims: Claims; clashes: Map<string, Set<number>> } {
  const claims = new Int32Array(layout.blocks).fill(OWNER.free);
  const first = new Int32Array(layout.blocks);
  const clashes = new Map<string, Set<number>>();
  files.forEach((file, index) => {
    if (file.deleted) return;
    for (const extent of file.extents)
      for (const block of extent.pointers) {
        if (block === 0 || !inFiles(layout, block)) continue;
        if (claims[block] === OWNER.free) {
          claims[block] = index;
          first[block] = index;
          continue;
        }
        const pair = `${first[block]},${index}`;
        const blocks = clashes.get(pair) ?? new Set();
        clashes.set(pair, blocks.add(block));
      }
  });
  return { claims, clashes };
}

function pathsOf(files: readonly Found[]): string[] {
  const seen = new Set<string>();
  return files.map(({ user, name }) => {
    const plain = user > 0 ? `user-${user}/${name}` : name;
    let path = plain;
    for (let n = 2; seen.has(path); n++) path = `${plain}~${n}`;
    seen.add(path);
    return path;
  });
}

const kib = (bytes: number): string => `${Math.round((bytes / 1024) * 100) / 100} KiB`;

/** "2 tracks, 6656 bytes, all E5: nothing on them". */
function systemInWords(image: Uint8Array, layout: Layout): string {
  let bytes = 0;
  let same = true;
  const fill = image[0]!;
  for (const { from, to } of layout.system) {
    const end = Math.min(to, image.length);
    bytes += Math.max(0, end - from);
    for (let i = from; i < end && same; i++) same = image[i] === fill;
  }
  if (bytes === 0) return "none";
  const empty = `empty: every byte is ${hex(fill, 2)}${fill === FILL ? ", as formatted" : ""}`;
  return `${layout.parameters.off} reserved, ${bytes} bytes, ${same ? empty : "hold something"}`;
}

/** Opens an image by its options. A damaged volume gives what can be had; see `damage.ts` for what is told. */
export function openExtentEntry(image: Uint8Array, options: ExtentEntryOptions): Volume {
  const layout = layoutOf(options);
  if (image.length < layout.startByte + ENTRY)
    throw new FormatError(
      "short",
      `The image ends before the directory, which starts behind ${layout.parameters.off} reserved tracks`,
      image.length,
    );
  const directory = readDirectory(image, layout);
  // Deleted files come last, so that a live file has the plain path.
  const files = [...directory.found.filter((each) => !each.deleted), ...directory.found.filter((each) => each.deleted)];
  const paths = pathsOf(files);
  const { claims, clashes } = claimBlocks(layout, files);
  const damages = new DamageList(image, layout, files, paths);
  damages.ofDisk(parameterBlockFaults(options.parameters), directory);

  const clashing = new Uint8Array(files.length);
  for (const [pair, blocks] of clashes) {
    const [a, b] = pair.split(",").map(Number) as [number, number];
    clashing[a] = 1;
    clashing[b] = 1;
    damages.clash(
      a,
      b,
      [...blocks].flatMap((block) => sectorsOf(layout, block)),
    );
  }

  const entries: Entry[] = [];
  const sources = new Map<Entry, Found>();
  files.forEach((file, index) => {
    const sum = tally(image, layout, file, claims);
    const absent = absentOf(file);
    if (!file.deleted) damages.ofFile(index, sum, absent, nameFault(file.nameBytes));
    const size = sizeOf(layout, file);
    const loss = sum.bad > 0 || absent > 0 || file.far.length > 0 || clashing[index] === 1;
    const lost = (size > 0 || file.far.length > 0) && sum.good + sum.holes === 0;
    const condition = lost ? "lost" : loss ? "readable with loss" : "whole";
    const details: [string, string][] = [["User", file.deleted ? "unknown, the entry is deleted" : String(file.user)]];
    if (file.attributes.length > 0) details.push(["Attributes", file.attributes.join(", ")]);
    details.push(
      ["Records", `${size / RECORD} of ${RECORD} bytes`],
      ["Directory entries", String(file.extents.length)],
    );
    if (sum.holes > 0) details.push(["Holes", `${sum.holes} blocks never written, read as zero bytes`]);
    if (file.s1 !== 0)
      details.push(["Byte 13 (S1)", `${file.s1}; some systems keep the bytes in the last record here`]);
    details.push(...(file.dates as [string, string][]));
    const entry: Entry = {
      path: paths[index]!,
      name: file.name,
      nameBytes: file.nameBytes,
      type: "file",
      kind: sum.holes > 0 || absent > 0 ? "sparse" : "sequential",
      size,
      blocks: sum.blocks,
      ownBlocks: sum.ownBlocks,
      details,
      deleted: file.deleted,
      condition,
    };
    entries.push(entry);
    sources.set(entry, file);
  });

  const owners = ownersOf(layout, claims, clashes, files);
  let free = 0;
  for (let block = layout.directoryBlocks; block < layout.blocks; block++) if (claims[block] === OWNER.free) free++;
  const users = [...new Set(files.filter((each) => !each.deleted).map((each) => each.user))].sort((a, b) => a - b);
  const facts: [string, string][] = [
    ["Layout", layoutInWords(options)],
    ["Parameter block", parameterBlockText(options.parameters)],
    ["Block numbers", layout.pointerBytes === 1 ? "one byte, 16 an entry" : "two bytes, 8 an entry"],
    ["Blocks", `${layout.blocks} of ${kib(layout.blockSize)}, ${layout.directoryBlocks} of them the directory`],
    ["Free", `${free} blocks, ${kib(free * layout.blockSize)}`],
    ["Directory entries", `${directory.used} of ${layout.entries} in use, ${directory.neverUsed} never used`],
    ["Users", users.length > 0 ? users.join(", ") : "none"],
    ["System tracks", systemInWords(image, layout)],
    [
      "File lengths",
      `whole records of ${RECORD} bytes; where a text ends within its last record is the text's own affair`,
    ],
  ];
  if (directory.label) facts.push(["Label", directory.label]);
  if (directory.dated) facts.push(["Date entries", "yes, the later format"]);
  if (directory.passwords > 0)
    facts.push(["Password entries", `${directory.passwords} (later format), or files of users 16 to 31`]);
  const told = damages.list;
  return {
    kind: "extent-entry",
    format: layoutInWords(options),
    label: directory.label,
    geometry: layout.geometry,
    freeBlocks: free * layout.sectorsPerBlock,
    facts,
    entries,
    owners,
    damages: told,
    condition: told.some((each) => each.condition === "lost" && each.files.length === 0)
      ? "lost"
      : told.some((each) => each.condition !== "whole")
        ? "readable with loss"
        : "whole",
    read(entry) {
      const file = sources.get(entry);
      if (!file) throw new FormatError("no-entry", `${entry.path} is no entry of this volume`, 0);
      return readFile(image, layout, file, claims, entry.condition);
    },
  };
}

function ownersOf(
  layout: Layout,
  claims: Claims,
  clashes: Map<string, Set<number>>,
  files: readonly Found[],
): Int32Array {
  // What no block number reaches (reserved tracks, the rest behind the last whole block) is not free for files.
  const owners = new Int32Array(layout.imageBlocks).fill(OWNER.system);
  const clash = new Set([...clashes.values()].flatMap((blocks) => [...blocks]));
  const lost = new Set(
    files.flatMap((file) => (file.deleted ? [] : [...file.doubles, ...file.far]).flatMap((each) => each.pointers)),
  );
  for (let block = layout.directoryBlocks; block < layout.blocks; block++) {
    const claim = claims[block]!;
    const owner = clash.has(block) ? OWNER.clash : claim === OWNER.free && lost.has(block) ? OWNER.lost : claim;
    const first = block * layout.sectorsPerBlock;
    for (let i = first; i < first + layout.sectorsPerBlock; i++) owners[imageSector(layout, i)] = owner;
  }
  return owners;
}
