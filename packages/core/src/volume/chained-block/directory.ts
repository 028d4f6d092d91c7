import { type Disk, LINK, readable } from "./disk.ts";
import { BLOCK, blockOf, directoryRange, type Layout, SLOT, SLOTS, where } from "./layout.ts";
import { NAME_LENGTH, PAD, shownName, trimmed } from "./names.ts";
import { counted, type Report } from "./report.ts";

/** File types of the low three bits of a slot's first byte (UG41 p. 88–91). */
export const TYPE = { deleted: 0, sequential: 1, program: 2, user: 3, records: 4 } as const;
export const TYPE_BITS = { closed: 0x80, locked: 0x40, replacing: 0x20 } as const;

/** One used slot of the directory, pointers as block numbers (-1: none that the disk has). */
export interface Slot {
  block: number;
  index: number;
  typeByte: number;
  type: number;
  closed: boolean;
  locked: boolean;
  /** Scratched: the type is 0 and the rest of the slot remains. */
  deleted: boolean;
  first: number;
  /** Whether the slot points to no block at all (track 0), as against one out of range. */
  firstAbsent: boolean;
  nameBytes: Uint8Array;
  name: string;
  /** Unique in the volume. */
  path: string;
  recordIndex: number;
  recordLength: number;
  /** Block that waits to take this file's place, or -1. */
  replacement: number;
  statedBlocks: number;
}

/** Whether a block, which lies in the image, looks like one of a directory: a good link and eight good slots. */
export function looksLikeDirectory(image: Uint8Array, layout: Layout, block: number): boolean {
  const at = block * BLOCK;
  if (image[at] === 0 ? image[at + 1] === 0 : blockOf(layout, image[at]!, image[at + 1]!) < 0) return false;
  let named = 0;
  for (let slot = 0; slot < SLOTS; slot++) {
    const start = at + 2 + slot * SLOT;
    const type = image[start]!;
    if ((type & 7) > TYPE.records || (type & 0x18) !== 0) return false;
    if (type !== 0 || image[start + 3] !== 0) {
      named++;
      // A name of 16 bytes: nothing but padding may follow the first padding byte.
      let end = 0;
      while (end < NAME_LENGTH && image[start + 3 + end] !== PAD) end++;
      for (let i = end; i < NAME_LENGTH; i++) if (image[start + 3 + i] !== PAD) return false;
    }
  }
  return named > 0 || (image[at] === 0 && image[at + 1] === 0xff);
}

/**
 * Blocks of the directory in order. Where the chain is broken, blocks of the directory's track that it should have led
 * to are taken by their looks.
 */
export function directoryBlocks(disk: Disk, report: Report): number[] {
  const { image, layout, next } = disk;
  const [from, to] = directoryRange(layout);
  const seen = new Uint8Array(layout.blocks);
  const blocks: number[] = [];
  let broken = "";
  let at = layout.directoryBlock;
  for (;;) {
    if (!readable(disk, at)) {
      broken = `its block at ${where(layout, at)} cannot be read`;
      break;
    }
    seen[at] = 1;
    blocks.push(at);
    const link = next[at]!;
    if (link === LINK.end) break;
    if (link === LINK.bad) broken = `its block at ${where(layout, at)} links to a place that the disk does not have`;
    else if (seen[link] === 1) broken = `it runs in a loop at ${where(layout, at)}`;
    else if (link < from || link >= to || link === layout.headerBlock)
      broken = `its block at ${where(layout, at)} links out of the directory, to ${where(layout, link)}`;
    if (broken !== "") break;
    at = link;
  }
  if (broken === "") return blocks;
  const found: number[] = [];
  for (let block = from; block < to; block++)
    if (
      seen[block] === 0 &&
      block !== layout.headerBlock &&
      readable(disk, block) &&
      looksLikeDirectory(image, layout, block)
    )
      found.push(block);
  report.add({
    code: "directory-chain",
    condition: "readable with loss",
    sentence: `The directory's chain is broken: ${broken}. ${
      found.length === 0
        ? "No other block of its track looks like a part of it."
        : `${counted(found.length, "more block")} of its track ${found.length === 1 ? "looks" : "look"} like a part of it and ${found.length === 1 ? "was" : "were"} read too; entries there may be old.`
    }`,
    blocks: [at, ...found],
    repair: "Link the directory's blocks anew in one chain that ends with 00 FF.",
  });
  return [...blocks, ...found];
}

/** The used slots of the directory, with paths made unique. */
export function readSlots(disk: Disk, blocks: readonly number[]): Slot[] {
  const { image, layout } = disk;
  const slots: Slot[] = [];
  for (const block of blocks)
    for (let index = 0; index < SLOTS; index++) {
      const at = block * BLOCK + 2 + index * SLOT;
      const typeByte = image[at]!;
      // An unused slot is all zero; a scratched one keeps its name.
      if (typeByte === 0 && image[at + 1] === 0 && image[at + 3] === 0) continue;
      const nameBytes = trimmed(image.subarray(at + 3, at + 3 + NAME_LENGTH));
      const name = shownName(nameBytes);
      const type = typeByte & 7;
      const pointer = (offset: number): number =>
        image[at + offset] === 0 ? -1 : blockOf(layout, image[at + offset]!, image[at + offset + 1]!);
      slots.push({
        block,
        index,
        typeByte,
        type,
        closed: (typeByte & TYPE_BITS.closed) !== 0,
        locked: (typeByte & TYPE_BITS.locked) !== 0,
        deleted: type === TYPE.deleted && (typeByte & TYPE_BITS.closed) === 0,
        first: pointer(1),
        firstAbsent: image[at + 1] === 0,
        nameBytes,
        name,
        path: name,
        recordIndex: pointer(19),
        recordLength: image[at + 21]!,
        replacement: pointer(26),
        statedBlocks: image[at + 28]! | (image[at + 29]! << 8),
      });
    }
  // Files that are there come first, so that a scratched namesake never takes their path.
  const taken = new Set<string>();
  const counts = new Map<string, number>();
  for (const slot of [...slots.filter((each) => !each.deleted), ...slots.filter((each) => each.deleted)]) {
    let n = counts.get(slot.name) ?? 1;
    let path = n === 1 ? slot.name : `${slot.name}~${n}`;
    while (taken.has(path)) path = `${slot.name}~${++n}`;
    counts.set(slot.name, n + 1);
    taken.add(path);
    slot.path = path;
  }
  return slots;
}
