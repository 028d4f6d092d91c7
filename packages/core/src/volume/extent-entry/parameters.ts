import { hex, u8, u16le } from "../../bytes/index.ts";
import { InputError } from "../../errors/index.ts";

/**
 * The 15-byte parameter block that describes an extent-entry volume to its system. Field names are the manual's.
 * Source: 8080/Z80 system manual, section 6.10 and tables 6-8 to 6-10.
 */
export interface ParameterBlock {
  /** Records of 128 bytes on a track. */
  spt: number;
  /** Block shift: the block holds 128 << bsh bytes. */
  bsh: number;
  /** Block mask: records in a block, less one. */
  blm: number;
  /** Extent mask: logical extents of 16 KiB that one directory entry covers, less one. */
  exm: number;
  /** Number of the last block. Block numbers take one byte below 256, else two. */
  dsm: number;
  /** Number of the last directory entry. */
  drm: number;
  /** Blocks held for the directory, one bit each from the high bit of AL0 on. */
  al0: number;
  al1: number;
  /** Directory records that are check-summed to notice a changed disk: (DRM+1)/4 on removable media, else 0. */
  cks: number;
  /** Reserved (system) tracks before the directory. */
  off: number;
}

export const RECORD = 128;
export const ENTRY = 32;
export const EXTENT_RECORDS = 128;
/** Bits of AL0 and AL1 together: the most blocks a directory can have. */
export const MOST_DIRECTORY_BLOCKS = 16;
export const BLOCK_SIZES = [1024, 2048, 4096, 8192, 16384] as const;

/** Reads the 15 bytes at `at`; any values are taken, `parameterBlockFaults` judges them. Throws a `FormatError` if short. */
export function parseParameterBlock(bytes: Uint8Array, at = 0): ParameterBlock {
  return {
    spt: u16le(bytes, at),
    bsh: u8(bytes, at + 2),
    blm: u8(bytes, at + 3),
    exm: u8(bytes, at + 4),
    dsm: u16le(bytes, at + 5),
    drm: u16le(bytes, at + 7),
    al0: u8(bytes, at + 9),
    al1: u8(bytes, at + 10),
    cks: u16le(bytes, at + 11),
    off: u16le(bytes, at + 13),
  };
}

/** The 15 bytes, words with the low byte first. */
export function parameterBlockBytes(block: ParameterBlock): Uint8Array {
  const { spt, bsh, blm, exm, dsm, drm, al0, al1, cks, off } = block;
  const word = (value: number): [number, number] => [value & 0xff, value >> 8];
  return Uint8Array.of(...word(spt), bsh, blm, exm, ...word(dsm), ...word(drm), al0, al1, ...word(cks), ...word(off));
}

/** The bytes as the trade prints them: `1A00030700F2003F00C00010000200`. */
export const parameterBlockText = (block: ParameterBlock): string =>
  Array.from(parameterBlockBytes(block), (byte) => hex(byte, 2)).join("");

export const blockSizeOf = (block: ParameterBlock): number => RECORD << block.bsh;

/** Extent mask of a full entry by block size and last block; null where the pair cannot be (1 KiB with two-byte numbers). */
export function fullExtentMask(blockSize: number, dsm: number): number | null {
  const pointers = dsm < 256 ? 16 : 8;
  const extents = (pointers * blockSize) / (EXTENT_RECORDS * RECORD);
  return extents < 1 ? null : extents - 1;
}

/** AL0 and AL1 as one word for a directory of that many blocks: filled from the high bit. */
const allocationWord = (blocks: number): number => (0xffff << (16 - blocks)) & 0xffff;

/** Blocks that AL0 and AL1 hold for the directory: bits set from the high bit on. */
export function heldBlocks(block: ParameterBlock): number {
  const word = (block.al0 << 8) | block.al1;
  let blocks = 0;
  while (blocks < 16 && word & (0x8000 >> blocks)) blocks++;
  return blocks;
}

const kib = (bytes: number): string => `${bytes / 1024} KiB`;

/** What disagrees within a parameter block, a sentence each; empty where all agrees. */
export function parameterBlockFaults(block: ParameterBlock): string[] {
  const { spt, bsh, blm, exm, dsm, drm, al0, al1, cks } = block;
  const faults: string[] = [];
  if (spt === 0) faults.push("SPT is 0: a track has no records.");
  if (bsh < 3 || bsh > 7) {
    faults.push(`BSH is ${bsh}; a block of 1 to 16 KiB has a shift of 3 to 7.`);
    return faults;
  }
  const blockSize = blockSizeOf(block);
  if (blm !== (1 << bsh) - 1) faults.push(`BLM is ${blm}, but a BSH of ${bsh} asks for ${(1 << bsh) - 1}.`);
  const full = fullExtentMask(blockSize, dsm);
  if (full === null) faults.push(`Blocks of ${kib(blockSize)} allow a DSM of 255 at most, and DSM is ${dsm}.`);
  else if (exm > full || ((exm + 1) & exm) !== 0)
    faults.push(`EXM is ${exm}, but blocks of ${kib(blockSize)} with a DSM of ${dsm} ask for ${full}.`);
  const perBlock = blockSize / ENTRY;
  const needed = Math.ceil((drm + 1) / perBlock);
  const held = heldBlocks(block);
  if (needed > MOST_DIRECTORY_BLOCKS)
    faults.push(`DRM is ${drm}, but 16 directory blocks hold ${16 * perBlock} entries at most.`);
  else if (held !== needed || allocationWord(held) !== ((al0 << 8) | al1))
    faults.push(
      `AL0 and AL1 are ${hex(al0, 2)} ${hex(al1, 2)}, but ${drm + 1} entries in blocks of ${kib(blockSize)} ask for ${hex(allocationWord(needed), 4)}.`,
    );
  if (Math.max(needed, held) > dsm) faults.push(`The directory takes all of the ${dsm + 1} blocks.`);
  if (cks !== 0 && cks !== (drm + 1) >> 2) faults.push(`CKS is ${cks}; it is 0 or a quarter of ${drm + 1} entries.`);
  return faults;
}

/** What a parameter block is made from. */
export interface ParameterWishes {
  /** Bytes on a track, and on all tracks from the first reserved one on. */
  trackBytes: number;
  volumeBytes: number;
  reservedTracks: number;
  blockSize: number;
  /** Directory entries. */
  entries: number;
  /** Number of the last block where it is below what the disk could hold. */
  dsm?: number;
  exm?: number;
}

/** A parameter block by the manual's rules, for removable media. Throws an `InputError` where the wishes cannot be met. */
export function makeParameterBlock(wishes: ParameterWishes): ParameterBlock {
  const { trackBytes, volumeBytes, reservedTracks, blockSize, entries } = wishes;
  const dsm = wishes.dsm ?? Math.floor((volumeBytes - reservedTracks * trackBytes) / blockSize) - 1;
  const bsh = 31 - Math.clz32(blockSize / RECORD);
  const held = Math.ceil((entries * ENTRY) / blockSize);
  const word = held <= 16 ? allocationWord(held) : 0;
  const block: ParameterBlock = {
    spt: trackBytes / RECORD,
    bsh,
    blm: (1 << bsh) - 1,
    exm: wishes.exm ?? fullExtentMask(blockSize, dsm) ?? 0,
    dsm,
    drm: entries - 1,
    al0: word >> 8,
    al1: word & 0xff,
    cks: entries >> 2,
    off: reservedTracks,
  };
  const fault = RECORD << bsh === blockSize ? parameterBlockFaults(block)[0] : `${blockSize} is no block size.`;
  if (fault) throw new InputError("parameter-block", `No parameter block can be made: ${fault}`);
  return block;
}
