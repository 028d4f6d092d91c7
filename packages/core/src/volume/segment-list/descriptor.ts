import { u16be, u24be, u32be } from "../../bytes/index.ts";
import type { Content } from "../types.ts";
import { DIRECTORY_BIT, dateAndMinute, dateOnly } from "./fields.ts";
import { MOST_SEGMENTS, SECTOR } from "./layout.ts";

/** One run of sectors of a file. */
export interface Segment {
  lsn: number;
  count: number;
}

/** A file descriptor sector, as it stands. */
export interface Descriptor {
  lsn: number;
  attributes: number;
  folder: boolean;
  owner: number;
  modified: string;
  links: number;
  size: number;
  created: string;
  segments: readonly Segment[];
  /** Sectors of all segments together. */
  sectors: number;
}

/**
 * Reads the descriptor in sector `lsn`; undefined where the sector is outside the image or incomplete. The list ends
 * at the first segment without sectors, or after 48: the manual has no continuation.
 */
export function readDescriptor(image: Uint8Array, lsn: number): Descriptor | undefined {
  const at = lsn * SECTOR;
  if (lsn < 1 || at + SECTOR > image.length) return undefined;
  const segments: Segment[] = [];
  let sectors = 0;
  for (let slot = 0; slot < MOST_SEGMENTS; slot++) {
    const count = u16be(image, at + 19 + 5 * slot);
    if (count === 0) break;
    segments.push({ lsn: u24be(image, at + 16 + 5 * slot), count });
    sectors += count;
  }
  const attributes = image[at]!;
  return {
    lsn,
    attributes,
    folder: (attributes & DIRECTORY_BIT) !== 0,
    owner: u16be(image, at + 1),
    modified: dateAndMinute(image, at + 3),
    links: image[at + 8]!,
    size: u32be(image, at + 9),
    created: dateOnly(image, at + 13),
    segments,
    sectors,
  };
}

/** False where most of a list of segments leaves the volume: such a sector holds something else. */
export function isDescriptor({ segments }: Descriptor, total: number): boolean {
  let outside = 0;
  for (const { lsn, count } of segments) if (lsn === 0 || lsn + count > total) outside++;
  return segments.length < 2 || 2 * outside <= segments.length;
}

/** Sectors that the content fills; the rest of the segments is room to grow. */
export const contentSectors = (descriptor: Descriptor): number => Math.ceil(descriptor.size / SECTOR);

/**
 * The content, its first `image.length` bytes at most: no file of an image is longer than the image, whatever its
 * size says. Sectors that are not there are zero bytes and listed.
 */
export function readContent(image: Uint8Array, descriptor: Descriptor): Pick<Content, "bytes" | "missing"> {
  const { size } = descriptor;
  const bytes = new Uint8Array(Math.min(size, image.length));
  const missing: { offset: number; length: number }[] = [];
  const lose = (offset: number, length: number): void => {
    const last = missing[missing.length - 1];
    if (last && last.offset + last.length === offset) last.length += length;
    else if (length > 0) missing.push({ offset, length });
  };
  let at = 0;
  for (const segment of descriptor.segments) {
    if (at >= bytes.length) break;
    const from = segment.lsn * SECTOR;
    const want = Math.min(segment.count * SECTOR, bytes.length - at);
    const have = Math.max(0, Math.min(image.length - from, want));
    if (have > 0) bytes.set(image.subarray(from, from + have), at);
    if (have < want) lose(at + have, want - have);
    at += want;
  }
  if (at < size) lose(at, size - at);
  return { bytes, missing };
}
