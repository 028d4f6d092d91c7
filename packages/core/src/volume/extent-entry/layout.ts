import { FormatError } from "../../errors/index.ts";
import { type Geometry, mapBlocks, type Zone } from "../../geometry/index.ts";
import {
  blockSizeOf,
  ENTRY,
  fullExtentMask,
  heldBlocks,
  makeParameterBlock,
  type ParameterBlock,
  type ParameterWishes,
  RECORD,
} from "./parameters.ts";

/**
 * How a volume counts the tracks of a disk with two sides: as the image has them, or all of side 0 first and then side 1
 * from the outermost track on (`side 1 after side 0`), or from the innermost back (`there and back`).
 */
export type TrackOrder = "as the image" | "side 1 after side 0" | "there and back";

export const ORDER_WORDS: Record<Exclude<TrackOrder, "as the image">, string> = {
  "side 1 after side 0": "side 1 after all of side 0",
  "there and back": "side 1 after all of side 0, from the innermost track back",
};

/** How a volume lies on its disk. */
export interface ExtentEntryOptions {
  /** All tracks behind the reserved ones have the same sectors; the reserved ones may differ. */
  geometry: Geometry;
  /**
   * Order of a track's sectors: the step from one to the next (1: none, 6: the 8-inch standard), or a table of
   * sectors counted from 0, as `Place.sector` is. It holds behind the reserved tracks.
   */
  skew: number | readonly number[];
  parameters: ParameterBlock;
  /** Left out: as the image. */
  trackOrder?: TrackOrder;
}

/** The sectors of a track, counted from 0, in the order of a skew step: onward by `step`, past those already taken. */
export function skewTable(sectors: number, step: number): number[] {
  const taken = new Uint8Array(sectors);
  const table: number[] = [];
  let at = 0;
  for (let i = 0; i < sectors; i++) {
    while (taken[at]) at = (at + 1) % sectors;
    taken[at] = 1;
    table.push(at);
    at = (at + step) % sectors;
  }
  return table;
}

/** Options from a geometry and a few wishes; the parameter block follows by the manual's rules. */
export function makeOptions(
  geometry: Geometry,
  wishes: Omit<ParameterWishes, "trackBytes" | "volumeBytes"> & {
    skew: number | readonly number[];
    trackOrder?: TrackOrder;
  },
): ExtentEntryOptions {
  const { skew, trackOrder, ...rest } = wishes;
  const zone = geometry.zones[geometry.zones.length - 1];
  const trackBytes = zone ? zone.sectors * zone.size : 0;
  // A first track of lower density still counts as one track of the usual length.
  const volumeBytes = trackBytes * geometry.tracks * geometry.sides;
  const options = { geometry, skew, parameters: makeParameterBlock({ ...rest, trackBytes, volumeBytes }) };
  return trackOrder && trackOrder !== "as the image" ? { ...options, trackOrder } : options;
}

/** Options with everything worked out that reading needs. */
export interface Layout {
  parameters: ParameterBlock;
  geometry: Geometry;
  /** Sectors and bytes of the whole disk. */
  imageBlocks: number;
  imageBytes: number;
  sectors: number;
  sectorSize: number;
  /** Sector of the track for each place in its logical order. */
  skew: Uint16Array;
  /** For each track from the directory's on, how many tracks of the image it lies behind that one; null: in turn. */
  turns: Int32Array | null;
  /** Stretches of the image that the reserved tracks are, in order, in bytes. */
  system: readonly { from: number; to: number }[];
  /** First sector and byte behind the reserved tracks. */
  startBlock: number;
  startByte: number;
  blockSize: number;
  recordsPerBlock: number;
  sectorsPerBlock: number;
  /** Block numbers in a directory entry, and bytes of each. */
  pointers: 8 | 16;
  pointerBytes: 1 | 2;
  /** Blocks that the parameter block names and the disk has. */
  blocks: number;
  /** Sectors behind the reserved tracks. */
  dataSectors: number;
  entries: number;
  directoryBlocks: number;
}

const bad = (sentence: string): never => {
  throw new FormatError("layout", sentence, 0);
};

const whole = (value: number, low: number, high: number): boolean =>
  Number.isInteger(value) && value >= low && value <= high;

function checkedGeometry(geometry: Geometry): Geometry {
  if (!whole(geometry.tracks, 1, 1024)) bad("A disk has 1 to 1024 tracks");
  for (const zone of geometry.zones)
    if (!whole(zone.sectors, 1, 256) || !whole(zone.size, RECORD, 16384) || (zone.size & (zone.size - 1)) !== 0)
      bad("A track has 1 to 256 sectors, each of 128 bytes or a power of two times that");
  return geometry;
}

function checkedSkew(skew: ExtentEntryOptions["skew"], sectors: number): Uint16Array {
  if (typeof skew === "number") {
    if (!whole(skew, 0, 1024)) bad("A skew step is a small whole number");
    return Uint16Array.from(skewTable(sectors, skew % sectors));
  }
  const seen = new Set(skew);
  if (skew.length !== sectors || seen.size !== sectors || !skew.every((each) => whole(each, 0, sectors - 1)))
    bad(`The skew table must name each of the ${sectors} sectors of a track once, counted from 0`);
  return Uint16Array.from(skew);
}

const placeOfTurn = ({ order, tracks, sides }: Geometry, turn: number): { track: number; side: 0 | 1 } =>
  order === "side-after-side"
    ? { track: turn % tracks, side: turn < tracks ? 0 : 1 }
    : { track: Math.floor(turn / sides), side: (turn % sides) as 0 | 1 };

/** Which track of the image, counted in its order, each track of the volume is. */
export function turnsOf({ tracks, order }: Geometry, trackOrder: TrackOrder): (track: number) => number {
  return (track) => {
    const side = track < tracks ? 0 : 1;
    const along = side === 0 ? track : trackOrder === "there and back" ? 2 * tracks - 1 - track : track - tracks;
    return order === "side-after-side" ? side * tracks + along : along * 2 + side;
  };
}

/** Works the options out. Throws a `FormatError` where they contradict each other so far that nothing can be found. */
export function layoutOf({ geometry, skew, parameters, trackOrder = "as the image" }: ExtentEntryOptions): Layout {
  const { spt, bsh, exm, dsm, drm, off } = parameters;
  if (!whole(bsh, 3, 7)) bad(`BSH is ${bsh}; a block of 1 to 16 KiB has a shift of 3 to 7`);
  if (!whole(dsm, 1, 0xffff) || !whole(drm, 0, 0xffff) || !whole(off, 0, 0xffff) || !whole(exm, 0, 31))
    bad("DSM, DRM, EXM or OFF is outside what its field can hold");
  const map = mapBlocks(checkedGeometry(geometry));
  const last = geometry.zones.find((zone: Zone) => zone.to >= geometry.tracks - 1);
  if (!last) return bad("The geometry has no last track");
  const { sectors, size: sectorSize } = last;
  const blockSize = blockSizeOf(parameters);
  if (sectorSize > blockSize) bad(`A sector of ${sectorSize} bytes is larger than a block of ${blockSize}`);
  const perTrack = (sectors * sectorSize) / RECORD;
  if (spt < 1 || spt % perTrack !== 0) bad(`SPT is ${spt}, but a track of this disk holds ${perTrack} records`);
  const reserved = off * (spt / perTrack);
  const turns = geometry.tracks * geometry.sides;
  if (reserved >= turns) bad(`${off} reserved tracks leave no room for a directory on ${turns} tracks`);
  const asImage = trackOrder === "as the image" || geometry.sides === 1;
  const turnOf = asImage ? (track: number): number => track : turnsOf(geometry, trackOrder);
  const startBlock = map.block({ ...placeOfTurn(geometry, turnOf(reserved)), sector: 0 });
  const startByte = map.offset(startBlock);
  // Side by side, the reserved tracks may differ; in any other order they lie among the rest.
  const alike = asImage ? turns - reserved : turns;
  const before = asImage ? { blocks: startBlock, bytes: startByte } : { blocks: 0, bytes: 0 };
  if (map.blocks - before.blocks !== alike * sectors || map.bytes - before.bytes !== alike * sectors * sectorSize)
    bad("The tracks behind the reserved ones must all have the same sectors");
  const trackBytes = sectors * sectorSize;
  const system = asImage
    ? [{ from: 0, to: startByte }]
    : Array.from({ length: reserved }, (_, track) => ({
        from: turnOf(track) * trackBytes,
        to: (turnOf(track) + 1) * trackBytes,
      }));
  const dataSectors = (turns - reserved) * sectors;
  const full = fullExtentMask(blockSize, dsm);
  if (full === null || exm > full)
    bad(`EXM is ${exm}, which blocks of ${blockSize} bytes with a DSM of ${dsm} don't allow`);
  const wide = dsm > 255;
  return {
    parameters,
    geometry,
    imageBlocks: map.blocks,
    imageBytes: map.bytes,
    sectors,
    sectorSize,
    skew: checkedSkew(skew, sectors),
    turns: asImage
      ? null
      : Int32Array.from({ length: turns - reserved }, (_, track) => turnOf(reserved + track) - turnOf(reserved)),
    system,
    startBlock,
    startByte,
    blockSize,
    recordsPerBlock: blockSize / RECORD,
    sectorsPerBlock: blockSize / sectorSize,
    pointers: wide ? 8 : 16,
    pointerBytes: wide ? 2 : 1,
    blocks: Math.min(dsm + 1, Math.floor(dataSectors / (blockSize / sectorSize))),
    dataSectors,
    entries: drm + 1,
    directoryBlocks: Math.max(heldBlocks(parameters), Math.ceil(((drm + 1) * ENTRY) / blockSize)),
  };
}

/** Sector of the data area, counted from its start in image order, of a logical sector. */
export function placeOf(layout: Layout, logical: number): number {
  const within = logical % layout.sectors;
  if (!layout.turns) return logical - within + layout.skew[within]!;
  return layout.turns[(logical - within) / layout.sectors]! * layout.sectors + layout.skew[within]!;
}

/** Bytes of the reserved tracks, sectors as they lie in the image; shorter where the image is. */
export function systemTracks(image: Uint8Array, options: ExtentEntryOptions): Uint8Array {
  const parts = layoutOf(options).system.map(({ from, to }) => image.subarray(from, to));
  const bytes = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    bytes.set(part, at);
    at += part.length;
  }
  return bytes;
}

const count = (number: number, one: string): string =>
  `${number === 2 ? "two" : number === 1 ? "one" : number} ${one}${number === 1 ? "" : "s"}`;

/** "77 tracks, one side, 26 sectors of 128 bytes, skew 6, 2 reserved tracks, blocks of 1 KiB, 64 entries". */
export function layoutInWords(options: ExtentEntryOptions): string {
  const { geometry, skew, parameters, trackOrder = "as the image" } = options;
  const zone = geometry.zones[geometry.zones.length - 1]!;
  const order = typeof skew !== "number" ? "skew by a table" : skew > 1 ? `skew ${skew}` : "no skew";
  return [
    `${geometry.tracks} tracks`,
    count(geometry.sides, "side"),
    ...(trackOrder === "as the image" ? [] : [ORDER_WORDS[trackOrder]]),
    `${zone.sectors} sectors of ${zone.size} bytes`,
    order,
    count(parameters.off, "reserved track"),
    `blocks of ${blockSizeOf(parameters) / 1024} KiB`,
    `${parameters.drm + 1} directory entries`,
  ].join(", ");
}
