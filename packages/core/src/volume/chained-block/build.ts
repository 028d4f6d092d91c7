import { InputError } from "../../errors/index.ts";
import type { TreeEntry } from "../types.ts";
import { TYPE, TYPE_BITS } from "./directory.ts";
import type { LastByte } from "./disk.ts";
import {
  BLOCK,
  DATA,
  GROUP_BLOCKS,
  type Layout,
  type LayoutName,
  layoutOf,
  RECORD_LIMITS,
  SLOT,
  SLOTS,
  trackOf,
} from "./layout.ts";
import { entryOffset, mapLinkAfter } from "./map.ts";
import { NAME_LENGTH, PAD, storedName } from "./names.ts";
import { POINTERS_AT } from "./record-index.ts";

export interface BuildChainedBlock {
  layout: LayoutName;
  /** Name of the volume, at most 16 characters. */
  name: string;
  /** Two characters. */
  id: string;
  /** How the second byte of a last block is written; `index` unless told. */
  lastByte?: LastByte;
  /**
   * On the 77-track kinds: the marker of a record file's upper index, or `none` for a plain index as on the 35-track
   * kinds. FE unless told, which practice (from memory) has; the guide prints FF.
   */
  upperIndex?: 0xfe | 0xff | "none";
}

const TYPES: Readonly<Record<string, number>> = {
  sequential: TYPE.sequential,
  program: TYPE.program,
  user: TYPE.user,
  records: TYPE.records,
};

/**
 * Builds a chained-block volume. Wishes of an entry: `kind` (`sequential` unless told, `program`, `user`, `records`),
 * `recordLength` (1–254, for `records`, whose bytes are whole records), `open` (left open, as by a machine switched
 * off), `locked`. Throws an `InputError` where something does not fit.
 */
export function buildChainedBlock(tree: readonly TreeEntry[], options: BuildChainedBlock): Uint8Array {
  const layout = layoutOf(options.layout);
  const writer = startWriter(layout);
  const reading = options.lastByte ?? "index";
  const upper = layout.mapEntry === 5 ? (options.upperIndex ?? 0xfe) : "none";
  const slots = tree.map((entry) => writeEntry(writer, entry, reading, upper));
  const names = new Set<string>();
  for (const { path } of tree) {
    if (names.has(path)) throw new InputError("same-name", `“${path}” is there twice.`);
    names.add(path);
  }
  writeDirectory(writer, slots);
  writeHeader(writer, options);
  writeMap(writer);
  return writer.image;
}

interface Writer {
  image: Uint8Array;
  layout: Layout;
  used: Uint8Array;
  /** Takes the next block for data; throws where there is none. */
  take(path: string): number;
  /** Writes a pointer to a block: its track and sector. */
  point(at: number, block: number): void;
}

/** Sectors of a track in the order in which a file takes them: `step` on, or the next one that is left. */
function stepped(sectors: number, step: number): number[] {
  const order: number[] = [];
  const taken = new Uint8Array(sectors);
  for (let sector = 0; order.length < sectors; sector = (sector + step) % sectors) {
    while (taken[sector] === 1) sector = (sector + 1) % sectors;
    taken[sector] = 1;
    order.push(sector);
  }
  return order;
}

function startWriter(layout: Layout): Writer {
  const image = new Uint8Array(layout.blocks * BLOCK);
  const used = new Uint8Array(layout.blocks);
  used[layout.headerBlock] = 1;
  for (const { block } of layout.mapBlocks) used[block] = 1;
  const tracksOfSide = layout.geometry.tracks;
  const distance = (track: number): number => Math.abs(((track - 1) % tracksOfSide) + 1 - layout.directoryTrack);
  // Files grow outwards from the directory, so that the head moves little.
  const order = Array.from({ length: layout.tracks }, (_, i) => i + 1)
    .filter((track) => track !== layout.directoryTrack)
    .sort((a, b) => distance(a) - distance(b) || a - b)
    .flatMap((track) =>
      stepped(layout.sectors[track]!, layout.step).map((sector) => layout.firstBlock[track]! + sector),
    )
    .filter((block) => used[block] === 0);
  let taken = 0;
  return {
    image,
    layout,
    used,
    take(path) {
      const block = order[taken++];
      if (block === undefined)
        throw new InputError("volume-full", `“${path}” does not fit: the volume has ${order.length} blocks for files.`);
      used[block] = 1;
      return block;
    },
    point(at, block) {
      const track = trackOf(layout, block);
      image[at] = track;
      image[at + 1] = block - layout.firstBlock[track]!;
    },
  };
}

/** Writes the chain of a file's data and gives its blocks. */
function writeChain(writer: Writer, path: string, bytes: Uint8Array, reading: LastByte): number[] {
  const count = Math.max(1, Math.ceil(bytes.length / DATA));
  const blocks = Array.from({ length: count }, () => writer.take(path));
  blocks.forEach((block, place) => {
    const part = bytes.subarray(place * DATA, (place + 1) * DATA);
    writer.image.set(part, block * BLOCK + 2);
    const next = blocks[place + 1];
    if (next !== undefined) writer.point(block * BLOCK, next);
    else writer.image[block * BLOCK + 1] = part.length + (reading === "index" ? 1 : 0);
  });
  return blocks;
}

/** Writes the index of a record file over its data blocks and gives the index blocks, the upper index first. */
function writeIndex(
  writer: Writer,
  path: string,
  data: readonly number[],
  recordLength: number,
  reading: LastByte,
  upper: 0xfe | 0xff | "none",
): number[] {
  const { image } = writer;
  const top = upper === "none" ? [] : [writer.take(path)];
  const { pointers, indexBlocks } = RECORD_LIMITS;
  const blocks = Array.from({ length: Math.ceil(data.length / pointers) }, () => writer.take(path));
  blocks.forEach((block, number) => {
    const at = block * BLOCK;
    const held = data.slice(number * pointers, (number + 1) * pointers);
    const next = blocks[number + 1];
    if (next !== undefined) writer.point(at, next);
    else image[at + 1] = POINTERS_AT - (reading === "index" ? 1 : 2) + 2 * held.length;
    image[at + 2] = number % indexBlocks;
    image[at + 3] = recordLength;
    const group = Math.floor(number / indexBlocks) * indexBlocks;
    blocks.slice(group, group + indexBlocks).forEach((each, i) => {
      writer.point(at + 4 + 2 * i, each);
    });
    held.forEach((each, i) => {
      writer.point(at + POINTERS_AT + 2 * i, each);
    });
  });
  for (const block of top) {
    const at = block * BLOCK;
    writer.point(at, blocks[0]!);
    image[at + 2] = upper as number;
    for (let number = 0; number < blocks.length; number += indexBlocks)
      writer.point(at + 3 + (2 * number) / indexBlocks, blocks[number]!);
  }
  return [...top, ...blocks];
}

/** Writes a file and gives its 30 bytes of directory slot. */
function writeEntry(writer: Writer, entry: TreeEntry, reading: LastByte, upper: 0xfe | 0xff | "none"): Uint8Array {
  const { path, wishes = {}, bytes } = entry;
  if (entry.type === "folder") throw new InputError("no-folders", `“${path}”: this kind of volume has no folders.`);
  const name = storedName(path);
  const kind = wishes.kind ?? "sequential";
  const type = TYPES[String(kind)];
  if (type === undefined)
    throw new InputError("bad-kind", `“${path}” is to be “${kind}”; a file here is ${Object.keys(TYPES).join(", ")}.`);
  const recordLength = wishes.recordLength ?? 0;
  if (type === TYPE.records) checkRecords(path, bytes, recordLength, upper);
  const data = writeChain(writer, path, bytes, reading);
  const index = type === TYPE.records ? writeIndex(writer, path, data, Number(recordLength), reading, upper) : [];
  const closed = wishes.open !== true;

  const slot = new Uint8Array(30);
  const pointer = (offset: number, block: number): void => {
    const track = trackOf(writer.layout, block);
    slot[offset] = track;
    slot[offset + 1] = block - writer.layout.firstBlock[track]!;
  };
  slot[0] = type | (closed ? TYPE_BITS.closed : 0) | (wishes.locked === true ? TYPE_BITS.locked : 0);
  pointer(1, data[0]!);
  slot.fill(PAD, 3, 3 + NAME_LENGTH);
  slot.set(name, 3);
  if (index.length > 0) {
    pointer(19, index[0]!);
    slot[21] = Number(recordLength);
  }
  // The block count is written when a file is closed.
  const count = closed ? data.length + index.length : 0;
  slot[28] = count & 0xff;
  slot[29] = count >> 8;
  return slot;
}

function checkRecords(path: string, bytes: Uint8Array, length: unknown, upper: 0xfe | 0xff | "none"): void {
  if (!(typeof length === "number" && Number.isInteger(length) && length >= 1 && length <= DATA))
    throw new InputError("record-length", `“${path}” needs a record length from 1 to ${DATA}, not “${length}”.`);
  if (bytes.length % length !== 0)
    throw new InputError(
      "record-length",
      `“${path}” has ${bytes.length} bytes, which are not whole records of ${length}.`,
    );
  const most = upper === "none" ? GROUP_BLOCKS : GROUP_BLOCKS * RECORD_LIMITS.groups;
  if (bytes.length > most * DATA)
    throw new InputError(
      "records-full",
      `“${path}” has ${bytes.length} bytes; a record file here holds ${most * DATA} at most.`,
    );
}

function writeDirectory(writer: Writer, slots: readonly Uint8Array[]): void {
  const { layout, image, used } = writer;
  const first = layout.firstBlock[layout.directoryTrack]!;
  const order = stepped(layout.sectors[layout.directoryTrack]! - 1, 3).map((sector) => first + 1 + sector);
  const blocks = order.slice(0, Math.max(1, Math.ceil(slots.length / SLOTS)));
  if (slots.length > order.length * SLOTS)
    throw new InputError(
      "directory-full",
      `${slots.length} files do not fit: the directory has ${order.length * SLOTS} places.`,
    );
  blocks.forEach((block, i) => {
    used[block] = 1;
    const next = blocks[i + 1];
    if (next !== undefined) writer.point(block * BLOCK, next);
    else image[block * BLOCK + 1] = 0xff;
  });
  slots.forEach((slot, i) => {
    image.set(slot, blocks[Math.floor(i / SLOTS)]! * BLOCK + 2 + (i % SLOTS) * SLOT);
  });
}

function writeHeader(writer: Writer, options: BuildChainedBlock): void {
  const { layout, image } = writer;
  const at = layout.headerBlock * BLOCK;
  writer.point(at, layout.mapEntry === 4 ? layout.directoryBlock : layout.mapBlocks[0]!.block);
  image[at + 2] = layout.formatBytes[0]!;
  // Padding from the name to a few bytes past the version letters, as the guides show it.
  image.fill(PAD, at + layout.nameAt, at + layout.versionAt + 6);
  image.set(storedName(options.name), at + layout.nameAt);
  const id = storedName(options.id);
  if (id.length !== 2) throw new InputError("bad-id", `The ID “${options.id}” is not two characters.`);
  image.set(id, at + layout.idAt);
  image[at + layout.versionAt] = layout.version.charCodeAt(0);
  image[at + layout.versionAt + 1] = layout.version.charCodeAt(1);
}

function writeMap({ layout, image, used, point }: Writer): void {
  layout.mapBlocks.forEach((kept, i) => {
    const at = kept.block * BLOCK;
    if (layout.mapEntry === 5) {
      point(at, mapLinkAfter(layout, i));
      image[at + 2] = layout.formatBytes[0]!;
      image[at + 4] = kept.from;
      image[at + 5] = kept.to;
    }
    for (let track = kept.from; track < kept.to; track++) {
      const entry = entryOffset(layout, kept, track);
      for (let sector = 0; sector < layout.sectors[track]!; sector++)
        if (used[layout.firstBlock[track]! + sector] === 0) {
          image[entry] = image[entry]! + 1;
          image[entry + 1 + (sector >> 3)]! |= 1 << (sector & 7);
        }
    }
  });
}
