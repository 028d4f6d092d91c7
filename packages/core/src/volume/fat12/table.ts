import type { Layout } from "./layout.ts";

/** The file allocation table: 12-bit entries in pairs of three bytes (ECMA-107 clause 8.4), values of clause 10.2. */

export const FREE = 0;
export const BAD = 0xff7;
/** This value and those above it mark the last cluster of a chain. */
export const LAST = 0xff8;

/** Bytes of a FAT that hold entries. */
export const usedBytes = (layout: Layout): number => Math.ceil(((layout.clusters + 2) * 3) / 2);

/** A view of the entries' bytes of one copy, cut short where FAT or image is; `copy` counts from 0. */
export function fatBytes(image: Uint8Array, layout: Layout, copy: number): Uint8Array {
  const at = (layout.reserved + copy * layout.sectorsPerFat) * layout.sectorSize;
  return image.subarray(at, at + Math.min(usedBytes(layout), layout.sectorsPerFat * layout.sectorSize));
}

/** Entries 0 to clusters + 1; an entry that the bytes do not reach is read as free. */
export function readFat(bytes: Uint8Array, layout: Layout): Uint16Array {
  const entries = new Uint16Array(layout.clusters + 2);
  for (let n = 0, at = 0; n < entries.length; n += 2, at += 3) {
    const middle = bytes[at + 1] ?? 0;
    entries[n] = (bytes[at] ?? 0) | ((middle & 0x0f) << 8);
    if (n + 1 < entries.length) entries[n + 1] = (middle >> 4) | ((bytes[at + 2] ?? 0) << 4);
  }
  return entries;
}

/** Packs entries into `bytes`, which must hold them. */
export function writeFat(entries: Uint16Array, bytes: Uint8Array): void {
  for (let n = 0, at = 0; n < entries.length; n += 2, at += 3) {
    const first = entries[n]!;
    const second = entries[n + 1] ?? 0;
    bytes[at] = first & 0xff;
    bytes[at + 1] = (first >> 8) | ((second & 0x0f) << 4);
    if (at + 2 < bytes.length) bytes[at + 2] = second >> 4;
  }
}

/** Sectors (counted from the start of a FAT) in which two copies differ. */
export function differingSectors(first: Uint8Array, second: Uint8Array, sectorSize: number): number[] {
  const sectors: number[] = [];
  const length = Math.max(first.length, second.length);
  for (let at = 0; at < length; at++) {
    if (first[at] === second[at]) continue;
    const sector = Math.floor(at / sectorSize);
    sectors.push(sector);
    at = (sector + 1) * sectorSize - 1;
  }
  return sectors;
}
