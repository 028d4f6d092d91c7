import { type BlockMap, type Geometry, mapBlocks, placeInWords } from "../../geometry/index.ts";

/**
 * Where a chained-block volume keeps its things. Track numbers here are the volume's own, from 1; on a two-sided disk
 * the second side goes on counting (78–154).
 *
 * Sources: drive guides UG41 (35 tracks) and UG8x (77 tracks); from memory: map entries of the 77-track kinds from
 * byte 6, the directory's chain staying on its track, the format byte of the early variant.
 */

export type LayoutName = "35-track" | "35-track-early" | "77-track" | "77-track-two-sided";

export const BLOCK = 256;
/** Data bytes of a block: the first two are the link. */
export const DATA = 254;
export const SLOT = 32;
export const SLOTS = 8;

/** One block of the allocation map and the tracks it keeps. */
export interface MapBlock {
  block: number;
  /** First track and the one after the last. */
  from: number;
  to: number;
  /** Where the entry of track `from` begins. */
  at: number;
}

export interface Layout {
  name: LayoutName;
  format: string;
  geometry: Geometry;
  map: BlockMap;
  blocks: number;
  /** Tracks in the volume's own counting. */
  tracks: number;
  /** By track number: first block and count of sectors; index 0 is unused. */
  firstBlock: Int32Array;
  sectors: Int32Array;
  directoryTrack: number;
  /** The block with the name, and the first of the directory. */
  headerBlock: number;
  directoryBlock: number;
  mapBlocks: readonly MapBlock[];
  /** Bytes of a track's entry in the map: its free count and its bit map. */
  mapEntry: number;
  /** Offsets in the header block. */
  nameAt: number;
  idAt: number;
  versionAt: number;
  /** The format bytes (header byte 2) and version letters that belong to it; the first of each is what is written. */
  formatBytes: readonly number[];
  version: string;
  /** Sectors passed over from one block of a file to the next when a volume is built; from memory. */
  step: number;
}

const BOTH_SIDES = "side-after-side";

const zoned = (tracks: number, sides: 1 | 2, zones: readonly (readonly [to: number, sectors: number])[]): Geometry => {
  let from = 0;
  return {
    tracks,
    sides,
    zones: zones.map(([to, sectors]) => {
      const zone = { from, to: to - 1, sectors, size: BLOCK };
      from = to;
      return zone;
    }),
    order: BOTH_SIDES,
    firstTrack: 1,
    firstSector: 0,
  };
};

/** Zones as pairs of last track (counted from 1) and sectors: UG41 p. 88, UG8x; the early variant's 20: drive guides. */
const ZONES = {
  small: [
    [17, 21],
    [24, 19],
    [30, 18],
    [35, 17],
  ],
  early: [
    [17, 21],
    [24, 20],
    [30, 18],
    [35, 17],
  ],
  large: [
    [39, 29],
    [53, 27],
    [64, 25],
    [77, 23],
  ],
} as const;

function makeLayout(name: LayoutName): Layout {
  const large = name === "77-track" || name === "77-track-two-sided";
  const sides = name === "77-track-two-sided" ? 2 : 1;
  const geometry = large
    ? zoned(77, sides, ZONES.large)
    : zoned(35, 1, name === "35-track-early" ? ZONES.early : ZONES.small);
  const map = mapBlocks(geometry);
  const tracks = geometry.tracks * geometry.sides;
  const firstBlock = new Int32Array(tracks + 1);
  const sectors = new Int32Array(tracks + 1);
  for (let track = 1; track <= tracks; track++) {
    const index = (track - 1) % geometry.tracks;
    firstBlock[track] = map.block({ track: index, side: track > geometry.tracks ? 1 : 0, sector: 0 });
    sectors[track] = geometry.zones.find((zone) => index <= zone.to)!.sectors;
  }
  const at = (track: number, sector: number): number => firstBlock[track]! + sector;
  const directoryTrack = large ? 39 : 18;
  const common = { name, geometry, map, blocks: map.blocks, tracks, firstBlock, sectors, directoryTrack };
  if (!large)
    return {
      ...common,
      format: name === "35-track" ? "zoned, 35 tracks" : "zoned, 35 tracks, early variant",
      headerBlock: at(18, 0),
      directoryBlock: at(18, 1),
      mapBlocks: [{ block: at(18, 0), from: 1, to: 36, at: 4 }],
      mapEntry: 4,
      nameAt: 144,
      idAt: 162,
      versionAt: 165,
      formatBytes: name === "35-track" ? [0x41] : [0x01, 0x41],
      version: "2A",
      step: 10,
    };
  const kept: MapBlock[] = [];
  for (let from = 1; from <= tracks; from += 50)
    kept.push({ block: at(38, kept.length * 3), from, to: Math.min(from + 50, tracks + 1), at: 6 });
  return {
    ...common,
    format: sides === 2 ? "zoned, 77 tracks, two sides" : "zoned, 77 tracks, one side",
    headerBlock: at(39, 0),
    directoryBlock: at(39, 1),
    mapBlocks: kept,
    mapEntry: 5,
    nameAt: 6,
    idAt: 24,
    versionAt: 27,
    formatBytes: [0x43],
    version: "2C",
    step: 5,
  };
}

export const LAYOUT_NAMES: readonly LayoutName[] = ["35-track", "35-track-early", "77-track", "77-track-two-sided"];

const made = new Map<LayoutName, Layout>();

export function layoutOf(name: LayoutName): Layout {
  let layout = made.get(name);
  if (!layout) {
    layout = makeLayout(name);
    made.set(name, layout);
  }
  return layout;
}

/** The block at a track and sector of the volume's own counting, or -1 where the disk has none. */
export function blockOf(layout: Layout, track: number, sector: number): number {
  return track >= 1 && track <= layout.tracks && sector < layout.sectors[track]!
    ? layout.firstBlock[track]! + sector
    : -1;
}

/** Track (in the volume's own counting) of a block. */
export function trackOf(layout: Layout, block: number): number {
  const { track, side } = layout.map.place(block);
  return side * layout.geometry.tracks + track + 1;
}

/** "track 18, sector 4" with what the recording prints. */
export const where = (layout: Layout, block: number): string => placeInWords(layout.geometry, layout.map.place(block));

/** First block of the directory's track and the one after its last. */
export const directoryRange = (layout: Layout): readonly [from: number, to: number] => {
  const from = layout.firstBlock[layout.directoryTrack]!;
  return [from, from + layout.sectors[layout.directoryTrack]!];
};

/** Most data blocks a record file's group can list, and most groups an upper index can: UG41 p. 90, UG81 p. 122. */
export const RECORD_LIMITS = { pointers: 120, indexBlocks: 6, groups: 126 } as const;
export const GROUP_BLOCKS = RECORD_LIMITS.pointers * RECORD_LIMITS.indexBlocks;
