import { FormatError } from "../../errors/index.ts";
import { type Geometry, uniform } from "../../geometry/index.ts";

/**
 * Where the areas of a FAT12 volume lie. ECMA-107 clause 6.3 (system area: reserved sectors, FATs, root directory) and
 * clause 9 (FDC descriptor). All counts are in sectors unless said otherwise.
 */

/** The numbers that lay a volume out; as the descriptor in sector 0 states them, or as the media byte implies them. */
export interface Fat12Options {
  /** How the numbers were found. */
  by: "descriptor" | "media byte";
  /** Bytes in a sector. */
  sectorSize: number;
  sectorsPerCluster: number;
  /** Sectors before the first FAT. */
  reserved: number;
  /** Copies of the FAT. */
  fats: number;
  /** Entries that the root directory has room for. */
  rootEntries: number;
  sectors: number;
  media: number;
  sectorsPerFat: number;
  sectorsPerTrack: number;
  sides: number;
}

export interface Layout extends Fat12Options {
  /** First sectors of the areas. */
  rootStart: number;
  dataStart: number;
  clusters: number;
  clusterBytes: number;
}

/** Highest count of clusters that 12-bit entries number (2 to FEF, then reserved values). */
const MOST_CLUSTERS = 4084;

const SECTOR_SIZES = [128, 256, 512, 1024, 2048, 4096];

export interface StandardFormat {
  /** The disk's size in kibibytes, by which the format is known; `8-inch` before it where that is needed. */
  name: string;
  tracks: number;
  sides: 1 | 2;
  sectorsPerTrack: number;
  sectorSize: number;
  sectorsPerCluster: number;
  reserved: number;
  rootEntries: number;
  sectorsPerFat: number;
  media: number;
}

/**
 * The flexible disks' formats. 160K to 2880K are as `mformat` of mtools writes them (checks/fat12 compares); 640K is as
 * in mtools' table of old formats.
 */
const rows: readonly (readonly [string, number, 1 | 2, number, number, number, number, number, number, number])[] = [
  // name, tracks, sides, sectors, bytes, sectors a cluster, reserved, root entries, sectors a FAT, media byte
  ["160K", 40, 1, 8, 512, 1, 1, 64, 1, 0xfe],
  ["180K", 40, 1, 9, 512, 1, 1, 64, 2, 0xfc],
  ["320K", 40, 2, 8, 512, 2, 1, 112, 1, 0xff],
  ["360K", 40, 2, 9, 512, 2, 1, 112, 2, 0xfd],
  ["640K", 80, 2, 8, 512, 2, 1, 112, 2, 0xfb],
  ["720K", 80, 2, 9, 512, 2, 1, 112, 3, 0xf9],
  ["1200K", 80, 2, 15, 512, 1, 1, 224, 7, 0xf9],
  ["1440K", 80, 2, 18, 512, 1, 1, 224, 9, 0xf0],
  ["2880K", 80, 2, 36, 512, 2, 1, 240, 9, 0xf0],
  // 8-inch disks, from memory: single density on one side and on two (its FAT size is the least that numbers its
  // clusters), and double density with long sectors.
  ["8-inch 250K", 77, 1, 26, 128, 4, 1, 68, 6, 0xfe],
  ["8-inch 500K", 77, 2, 26, 128, 4, 4, 68, 12, 0xfd],
  ["8-inch 1232K", 77, 2, 8, 1024, 1, 1, 192, 2, 0xfe],
];

export const STANDARD_FORMATS: readonly StandardFormat[] = rows.map(
  ([
    name,
    tracks,
    sides,
    sectorsPerTrack,
    sectorSize,
    sectorsPerCluster,
    reserved,
    rootEntries,
    sectorsPerFat,
    media,
  ]) => ({
    name,
    tracks,
    sides,
    sectorsPerTrack,
    sectorSize,
    sectorsPerCluster,
    reserved,
    rootEntries,
    sectorsPerFat,
    media,
  }),
);

export const optionsOf = (format: StandardFormat, by: Fat12Options["by"]): Fat12Options => ({
  by,
  sectorSize: format.sectorSize,
  sectorsPerCluster: format.sectorsPerCluster,
  reserved: format.reserved,
  fats: 2,
  rootEntries: format.rootEntries,
  sectors: format.tracks * format.sides * format.sectorsPerTrack,
  media: format.media,
  sectorsPerFat: format.sectorsPerFat,
  sectorsPerTrack: format.sectorsPerTrack,
  sides: format.sides,
});

/** The standard flexible disk with these areas, if it is one. */
export const standardFormat = (options: Fat12Options): StandardFormat | undefined =>
  STANDARD_FORMATS.find(
    (each) =>
      each.sectorSize === options.sectorSize &&
      each.tracks * each.sides * each.sectorsPerTrack === options.sectors &&
      each.sectorsPerTrack === options.sectorsPerTrack &&
      each.sides === options.sides,
  );

/** Fields of the descriptor (offsets of ECMA-107 clause 9), unchecked; undefined where the image is too short. */
export function readDescriptor(image: Uint8Array): Fat12Options | undefined {
  if (image.length < 36) return undefined;
  const word = (at: number): number => image[at]! | (image[at + 1]! << 8);
  return {
    by: "descriptor",
    sectorSize: word(0x0b),
    sectorsPerCluster: image[0x0d]!,
    reserved: word(0x0e),
    fats: image[0x10]!,
    rootEntries: word(0x11),
    // A count that does not fit 16 bits is in the 32-bit field.
    sectors: word(0x13) || (word(0x20) | (word(0x22) << 16)) >>> 0,
    media: image[0x15]!,
    sectorsPerFat: word(0x16),
    sectorsPerTrack: word(0x18),
    sides: word(0x1a),
  };
}

/** Media bytes of flexible disks and others: F0 and F8 to FF. */
export const isMediaByte = (byte: number): boolean => byte === 0xf0 || (byte >= 0xf8 && byte <= 0xff);

const whole = (value: number, least: number, most: number): boolean =>
  Number.isInteger(value) && value >= least && value <= most;

/** Why these numbers cannot lay out a FAT12 volume, or the layout. Takes numbers of any size. */
export function layOut(options: Fat12Options): Layout | string {
  const { sectorSize, sectorsPerCluster, reserved, fats, rootEntries, sectors, sectorsPerFat } = options;
  if (!SECTOR_SIZES.includes(sectorSize)) return `a sector cannot be ${sectorSize} bytes`;
  if (!whole(sectorsPerCluster, 1, 128) || (sectorsPerCluster & (sectorsPerCluster - 1)) !== 0)
    return `a cluster cannot be ${sectorsPerCluster} sectors`;
  if (!whole(reserved, 1, 0xffff)) return "no sector is reserved before the first FAT";
  if (!whole(fats, 1, 4)) return `${fats} copies of the FAT are not possible`;
  if (!whole(rootEntries, 1, 0xffff)) return "the root directory has no room";
  if (!whole(sectorsPerFat, 1, 0xffff)) return "a FAT has no sector";
  if (!whole(sectors, 1, 0xffffffff)) return "the volume has no sector";
  if (!whole(options.media, 0, 255) || !isMediaByte(options.media)) return "the media byte is none that is used";
  const rootStart = reserved + fats * sectorsPerFat;
  const dataStart = rootStart + Math.ceil((rootEntries * 32) / sectorSize);
  const clusters = Math.floor((sectors - dataStart) / sectorsPerCluster);
  if (clusters < 1) return "the areas before the files are larger than the volume";
  if (clusters > MOST_CLUSTERS) return `${clusters} clusters are more than 12-bit entries can number`;
  return { ...options, rootStart, dataStart, clusters, clusterBytes: sectorsPerCluster * sectorSize };
}

/** First sector of a cluster; clusters are numbered from 2. */
export const sectorOf = (layout: Layout, cluster: number): number =>
  layout.dataStart + (cluster - 2) * layout.sectorsPerCluster;

/** The layout of a volume that is to be opened. Throws `FormatError` where the image cannot be one at all. */
export function layoutFor(image: Uint8Array, options: Fat12Options): Layout {
  const layout = layOut(options);
  if (typeof layout === "string") throw new FormatError("not-fat12", `This is no FAT12 volume: ${layout}`, 0x0b);
  const rootAt = layout.rootStart * layout.sectorSize;
  if (image.length < rootAt + 32)
    throw new FormatError("not-fat12", "The image ends before the root directory of a FAT12 volume", image.length);
  if (layout.sectors > 0xffff && layout.sectors * layout.sectorSize > image.length)
    throw new FormatError("not-fat12", `The image is far smaller than the ${layout.sectors} sectors it claims`, 0x20);
  return layout;
}

/** The disk as tracks and sides, large enough for the image; where the stated ones make no sense, tracks of nine sectors. */
export function geometryOf(layout: Layout, imageBytes: number): { geometry: Geometry; guessed: boolean } {
  const standard = standardFormat(layout);
  const sectors = Math.max(layout.sectors, Math.ceil(imageBytes / layout.sectorSize));
  const stated = whole(layout.sectorsPerTrack, 1, 63) && whole(layout.sides, 1, 2);
  const sides: 1 | 2 = standard?.sides ?? (stated && layout.sides === 2 ? 2 : 1);
  const perTrack = standard?.sectorsPerTrack ?? (stated ? layout.sectorsPerTrack : 9);
  return {
    geometry: uniform(Math.ceil(sectors / (perTrack * sides)), sides, perTrack, layout.sectorSize),
    guessed: !standard && !stated,
  };
}
