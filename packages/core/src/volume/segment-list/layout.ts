import { hex, u16be, u24be } from "../../bytes/index.ts";
import type { Geometry } from "../../geometry/index.ts";
import { uniform } from "../../geometry/index.ts";
import { LAYOUT_NAMES, type LayoutName, layoutOf } from "../chained-block/layout.ts";
import { dateAndMinute, highEndedText } from "./fields.ts";

/**
 * Where a segment-list volume keeps things. Offsets and sizes: `6809 system programmer's manual, January 1983`,
 * identification sector. All numbers are big-endian; LSN is the logical sector number, a block of the image.
 */

export const SECTOR = 256;

/** The manual's most bits in an allocation map. */
export const MOST_MAP_BITS = 4096;

/** First sector of the allocation map. */
export const MAP_SECTOR = 1;

/** Slots of a descriptor's segment list. The manual has no continuation: a file in more pieces cannot be. */
export const MOST_SEGMENTS = 48;

export const DIRECTORY_SLOT = 32;
export const NAME_BYTES = 29;

/** The identification sector as it stands, nothing mended. */
export interface Identification {
  total: number;
  sectorsPerTrackByte: number;
  mapBytes: number;
  clusterSectors: number;
  root: number;
  owner: number;
  attributes: number;
  id: number;
  twoSided: boolean;
  doubleDensity: boolean;
  narrowTracks: boolean;
  sectorsPerTrack: number;
  bootstrap: { start: number; bytes: number };
  created: string;
  name: string;
}

/** Reads sector 0. Throws a `FormatError` where the image is shorter than its fields. */
export function readIdentification(image: Uint8Array): Identification {
  const format = u16be(image, 0x0f) & 0xff;
  return {
    total: u24be(image, 0x00),
    sectorsPerTrackByte: u16be(image, 0x02) & 0xff,
    mapBytes: u16be(image, 0x04),
    clusterSectors: u16be(image, 0x06),
    root: u24be(image, 0x08),
    owner: u16be(image, 0x0b),
    attributes: u16be(image, 0x0c) & 0xff,
    id: u16be(image, 0x0e),
    twoSided: (format & 1) !== 0,
    doubleDensity: (format & 2) !== 0,
    narrowTracks: (format & 4) !== 0,
    sectorsPerTrack: u16be(image, 0x11),
    bootstrap: { start: u24be(image, 0x15), bytes: u16be(image, 0x18) },
    created: dateAndMinute(image, 0x1a),
    name: highEndedText(image, 0x1f, 32).text,
  };
}

/** Sectors that the start-up ROM reads: the manual's size / 256 + 1. */
export const bootstrapSectors = (bytes: number): number => Math.floor(bytes / SECTOR) + 1;

/** How the volume is read: what sector 0 says or, where that cannot be, what the rest of the image speaks for. */
export interface SegmentListOptions {
  /** Sectors of the volume. */
  total: number;
  clusterSectors: number;
  /** LSN of the root directory's descriptor. */
  root: number;
  sectorsPerTrack: number;
  sides: 1 | 2;
}

export const isPowerOfTwo = (value: number): boolean => value > 0 && (value & (value - 1)) === 0;

export const mapBytesFor = (total: number, clusterSectors: number): number =>
  Math.ceil(Math.ceil(total / clusterSectors) / 8);

/** Blocks of an image; a last part of a sector counts as one. */
export const blocksOf = (image: Uint8Array): number => Math.ceil(image.length / SECTOR);

/** The zoned disks that a segment-list volume may lie on are those of the chained-block volume. */
export type ZonedDisk = LayoutName;

export const zonedGeometry = (disk: ZonedDisk): Geometry => layoutOf(disk).geometry;

/** The zoned disk with just so many blocks: 683, 690, 2083 or 4166. */
const zonedOfTotal = (total: number): Geometry | undefined => {
  const name = LAYOUT_NAMES.find((each) => layoutOf(each).blocks === total);
  return name && zonedGeometry(name);
};

/**
 * Tracks from the total. A total that no whole tracks make, but a zoned disk, is that disk. Any other remainder is a
 * first track with fewer sectors on side 0, as where track 0 is recorded in single density (common practice, no
 * source); what fits none of these is one long track.
 */
export function geometryOf(options: SegmentListOptions): Geometry {
  const { total, sectorsPerTrack: sectors, sides } = options;
  const whole = uniform(Math.max(1, Math.floor(total / (sectors * sides))), sides, sectors, SECTOR);
  if (sectors > 0 && total > 0 && total % (sectors * sides) === 0) return whole;
  const zoned = zonedOfTotal(total);
  if (zoned) return zoned;
  const first = sectors > 0 ? total % sectors : 0;
  const runs = sectors > 0 ? Math.floor(total / sectors) + 1 : 0;
  if (first === 0 || runs % sides !== 0 || runs <= sides) return uniform(1, 1, Math.max(1, total), SECTOR);
  const tracks = runs / sides;
  return {
    ...whole,
    tracks,
    zones: [
      { from: 0, to: 0, side: 0, sectors: first, size: SECTOR },
      { from: 0, to: tracks - 1, sectors, size: SECTOR },
    ],
  };
}

/** "35 tracks, one side, 18 sectors a track", "zoned, 77 tracks, two sides". */
export function formatInWords(options: SegmentListOptions): string {
  const geometry = geometryOf(options);
  const zones = geometry.zones;
  if (geometry.order === "side-after-side")
    return `zoned, ${geometry.tracks} tracks, ${geometry.sides === 2 ? "two sides" : "one side"}`;
  const rest = zones[zones.length - 1]!;
  if (geometry.tracks === 1 && rest.sectors !== options.sectorsPerTrack) return `${options.total} sectors of 256 bytes`;
  const first = zones.length > 1 ? ` (${zones[0]!.sectors} on the first)` : "";
  return `${geometry.tracks} tracks, ${geometry.sides === 2 ? "two sides" : "one side"}, ${rest.sectors} sectors a track${first}`;
}

/** Name of the parent entry, `..`, and of the self entry, `.`: bit 7 set on the last character. */
const isParentSlot = (image: Uint8Array, at: number): boolean => image[at] === 0x2e && image[at + 1] === 0xae;
const isSelfSlot = (image: Uint8Array, at: number): boolean => image[at] === 0xae;

/** Whether the sector `lsn` is the descriptor of a root directory: its `..` and its `.` both lead back to it. */
export function isRoot(image: Uint8Array, lsn: number): boolean {
  const at = lsn * SECTOR;
  if (lsn < 1 || at + SECTOR > image.length || (image[at]! & 0x80) === 0) return false;
  const directory = u24be(image, at + 16) * SECTOR;
  return directory > 0 && directory + 64 <= image.length && rootOfDirectory(image, directory) === lsn;
}

function rootOfDirectory(image: Uint8Array, directory: number): number {
  if (!isParentSlot(image, directory) || !isSelfSlot(image, directory + DIRECTORY_SLOT)) return 0;
  const parent = u24be(image, directory + NAME_BYTES);
  return parent === u24be(image, directory + DIRECTORY_SLOT + NAME_BYTES) ? parent : 0;
}

/** Looks for a root directory in every sector; 0 where there is none. */
export function findRoot(image: Uint8Array): number {
  for (let at = SECTOR; at + 64 <= image.length; at += SECTOR) {
    if (image[at] !== 0x2e || image[at + 1] !== 0xae) continue;
    const root = rootOfDirectory(image, at);
    if (root > 0 && isRoot(image, root) && u24be(image, root * SECTOR + 16) * SECTOR === at) return root;
  }
  return 0;
}

/** What an identification sector should say and says otherwise, for damage and evidence. */
export function contradictions(stated: Identification, used: SegmentListOptions): string[] {
  const wrong: string[] = [];
  const tell = (field: string, says: number, should: number): void => {
    if (says !== should) wrong.push(`${field} ${says} where ${should} fits`);
  };
  tell("total sectors", stated.total, used.total);
  tell("sectors per cluster", stated.clusterSectors, used.clusterSectors);
  tell("map bytes", stated.mapBytes, mapBytesFor(used.total, used.clusterSectors));
  tell("root descriptor", stated.root, used.root);
  tell("sectors per track (offset 11)", stated.sectorsPerTrack, used.sectorsPerTrack);
  tell("sectors per track (offset 03)", stated.sectorsPerTrackByte, used.sectorsPerTrack & 0xff);
  return wrong;
}

export const sectorName = (lsn: number): string => `sector ${lsn} (hex ${hex(lsn, 6)})`;
