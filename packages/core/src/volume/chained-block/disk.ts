import { FormatError } from "../../errors/index.ts";
import { BLOCK, blockOf, DATA, type Layout } from "./layout.ts";

/**
 * The blocks of an image and where each links to, worked out once so that every walk is over small integers.
 */

/** What `next` holds where a block links to no other block. */
export const LINK = { end: -1, bad: -2, unreadable: -3 } as const;

/**
 * What an appended error byte says of a block: 0 and 1 are "no error", the others are the drive controller's codes.
 * `data` tells whether the block's bytes were read at all. From memory.
 */
const SECTOR_ERRORS: Readonly<Record<number, { says: string; data: boolean }>> = {
  2: { says: "sector header not found", data: false },
  3: { says: "no sync mark on the track", data: false },
  4: { says: "data mark not found", data: false },
  5: { says: "checksum of the data wrong", data: true },
  7: { says: "verify failed", data: true },
  8: { says: "write protected", data: true },
  9: { says: "checksum of the sector header wrong", data: false },
  11: { says: "disk ID of the sector differs", data: true },
  15: { says: "drive not ready", data: false },
};

export const sectorError = (code: number): { says: string; data: boolean } =>
  SECTOR_ERRORS[code] ?? { says: `error code ${code}`, data: true };

export interface Disk {
  image: Uint8Array;
  layout: Layout;
  /** Blocks that lie wholly within the image. */
  present: number;
  /** Bytes after the last block and the error bytes. */
  extra: number;
  /** One byte a block, or null; a view of the image. */
  errors: Uint8Array | null;
  /** For each block the block it links to, or one of `LINK`. */
  next: Int32Array;
}

/** Whether an error byte tells of a block whose contents cannot be trusted. */
export const suspect = (code: number | undefined): boolean =>
  code !== undefined && code > 1 && code !== 8 && code !== 11;

/** A block that could not be read holds one byte value throughout: what the reading program filled it with. */
function filled(image: Uint8Array, at: number): boolean {
  const first = image[at]!;
  for (let i = 1; i < BLOCK; i++) if (image[at + i] !== first) return false;
  return true;
}

/** Throws a `FormatError` where the image ends before the header block. */
export function openDisk(image: Uint8Array, layout: Layout, errorBytes: boolean): Disk {
  const { blocks } = layout;
  const present = Math.min(blocks, Math.floor(image.length / BLOCK));
  if (present <= layout.headerBlock)
    throw new FormatError(
      "short-volume",
      `A chained-block volume of this layout has its header in block ${layout.headerBlock}, and the image holds ${present} blocks`,
      image.length,
    );
  const errorsFit = errorBytes && image.length >= blocks * (BLOCK + 1);
  const errors = errorsFit ? image.subarray(blocks * BLOCK, blocks * (BLOCK + 1)) : null;
  const next = new Int32Array(blocks).fill(LINK.unreadable);
  const { firstBlock, sectors, tracks } = layout;
  for (let block = 0, at = 0; block < present; block++, at += BLOCK) {
    const track = image[at]!;
    const sector = image[at + 1]!;
    const code = errors ? errors[block]! : 0;
    if (code > 1 && !sectorError(code).data && filled(image, at)) continue;
    if (track === 0) next[block] = LINK.end;
    else next[block] = track <= tracks && sector < sectors[track]! ? firstBlock[track]! + sector : LINK.bad;
  }
  const used = blocks * (errors ? BLOCK + 1 : BLOCK);
  return { image, layout, present, extra: Math.max(0, image.length - used), errors, next };
}

export const readable = (disk: Disk, block: number): boolean => disk.next[block] !== LINK.unreadable;

/** A byte of a block; 0 outside the image. */
export const byteAt = (disk: Disk, block: number, offset: number): number => disk.image[block * BLOCK + offset] ?? 0;

/** The block that a pointer at `offset` of `block` names: -1 for one the disk lacks, and `none` for a zero track. */
export function pointerAt(disk: Disk, block: number, offset: number, none: number): number {
  const track = byteAt(disk, block, offset);
  return track === 0 ? none : blockOf(disk.layout, track, byteAt(disk, block, offset + 1));
}

/** How the byte after a last block's zero is read: the index of the last valid byte, or a count of valid data bytes. */
export type LastByte = "index" | "count";

/** Data bytes in a last block whose second byte is `value`. */
export function lastBlockBytes(value: number, reading: LastByte): number {
  return Math.min(DATA, Math.max(0, reading === "index" ? value - 1 : value));
}
