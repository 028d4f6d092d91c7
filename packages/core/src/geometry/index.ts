import { InputError } from "../errors/index.ts";

/**
 * Where a block of an image lies on the disk. Blocks are the sectors of the image in file order, from 0; tracks (a
 * cylinder's position of the head) from 0 outermost; sides 0 and 1. What a recording prints as the first track or
 * sector number is kept beside it, for labels only.
 */

/** A run of tracks with the same sectors. `side` is left out where both sides are alike. */
export interface Zone {
  /** First and last track, counted from 0, both included. */
  from: number;
  to: number;
  side?: 0 | 1;
  sectors: number;
  /** Bytes in a sector. */
  size: number;
}

export interface Geometry {
  tracks: number;
  sides: 1 | 2;
  zones: readonly Zone[];
  /** Order of the image: both sides of a track together, or all of side 0 and then all of side 1. */
  order: "side-within-track" | "side-after-side";
  /** Numbers printed for the first track and the first sector: 1 and 0 on zoned disks, 0 and 1 on most others. */
  firstTrack: number;
  firstSector: number;
}

export interface Place {
  track: number;
  side: 0 | 1;
  sector: number;
}

/** A geometry with its running sums, ready to be asked. */
export interface BlockMap {
  geometry: Geometry;
  blocks: number;
  bytes: number;
  place(block: number): Place;
  block(place: Place): number;
  /** Offset of a block in the image, in bytes. */
  offset(block: number): number;
  /** The block that holds the byte at `offset`. */
  blockAt(offset: number): number;
  size(block: number): number;
}

export const uniform = (
  tracks: number,
  sides: 1 | 2,
  sectors: number,
  size: number,
  order: Geometry["order"] = "side-within-track",
): Geometry => ({
  tracks,
  sides,
  zones: [{ from: 0, to: tracks - 1, sectors, size }],
  order,
  firstTrack: 0,
  firstSector: 1,
});

/** Running sums of a geometry. Throws an `InputError` where a track has no zone. */
export function mapBlocks(geometry: Geometry): BlockMap {
  const order: { track: number; side: 0 | 1; zone: Zone; firstBlock: number; firstByte: number }[] = [];
  const runOf = new Int32Array(geometry.tracks * geometry.sides);
  let blocks = 0;
  let bytes = 0;
  const add = (track: number, side: 0 | 1): void => {
    const zone = geometry.zones.find(
      (each) => track >= each.from && track <= each.to && (each.side === undefined || each.side === side),
    );
    if (!zone) throw new InputError("no-zone", `No zone of the geometry covers track ${track}, side ${side}.`);
    runOf[track * geometry.sides + side] = order.length;
    order.push({ track, side, zone, firstBlock: blocks, firstByte: bytes });
    blocks += zone.sectors;
    bytes += zone.sectors * zone.size;
  };
  const sides: (0 | 1)[] = geometry.sides === 2 ? [0, 1] : [0];
  if (geometry.order === "side-after-side")
    for (const side of sides) for (let track = 0; track < geometry.tracks; track++) add(track, side);
  else for (let track = 0; track < geometry.tracks; track++) for (const side of sides) add(track, side);

  const runAt = (value: number, first: "firstBlock" | "firstByte") => {
    let low = 0;
    let high = order.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (order[middle]![first] <= value) low = middle;
      else high = middle - 1;
    }
    return order[low]!;
  };
  const inside = (block: number): number => {
    if (!(block >= 0 && block < blocks))
      throw new InputError("no-block", `Block ${block} is outside this disk, whose blocks are 0 to ${blocks - 1}.`);
    return block;
  };
  return {
    geometry,
    blocks,
    bytes,
    place(block) {
      const run = runAt(inside(block), "firstBlock");
      return { track: run.track, side: run.side, sector: block - run.firstBlock };
    },
    block({ track, side, sector }) {
      const run = side < geometry.sides ? order[runOf[track * geometry.sides + side] ?? -1] : undefined;
      if (!run || sector < 0 || sector >= run.zone.sectors)
        throw new InputError("no-place", `There is no sector ${sector} on track ${track}, side ${side} of this disk.`);
      return run.firstBlock + sector;
    },
    offset(block) {
      const run = runAt(inside(block), "firstBlock");
      return run.firstByte + (block - run.firstBlock) * run.zone.size;
    },
    blockAt(offset) {
      const run = runAt(offset, "firstByte");
      return inside(run.firstBlock + Math.floor((offset - run.firstByte) / run.zone.size));
    },
    size: (block) => runAt(inside(block), "firstBlock").zone.size,
  };
}

/** "track 18, sector 0" or "track 3, side 1, sector 9", with the numbers that the recording prints. */
export function placeInWords(geometry: Geometry, place: Place): string {
  const side = geometry.sides === 2 ? `, side ${place.side}` : "";
  return `track ${place.track + geometry.firstTrack}${side}, sector ${place.sector + geometry.firstSector}`;
}
