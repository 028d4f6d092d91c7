import { type Geometry, uniform } from "../../geometry/index.ts";
import { type ExtentEntryOptions, makeOptions } from "./layout.ts";

/**
 * Shapes of disk that such volumes are met on. An image has no mark of its shape but its size; several shapes share
 * one, and the files decide. Rows are common practice, no source, but for the 8-inch single-density one (ECMA-54 and
 * the manual's parameter block). Likelier shapes come first.
 */
export interface Shape {
  geometry: Geometry;
  /** Bytes of a track behind the first. */
  trackBytes: number;
  /** Bytes of the first track of side 0: less where it is of single density on a double-density disk. */
  firstTrackBytes: number;
  sectors: number;
  size: number;
  bytes: number;
  words: string;
}

type Row = readonly [words: string, tracks: number, sides: 1 | 2, sectors: number, size: number, first?: number];

const EIGHT = "8-inch";
const FIVE = "5.25-inch";
const THREE = "3.5-inch";

/** Last column: sectors of 128 bytes on the first track of side 0. */
const ROWS: readonly Row[] = [
  [EIGHT, 77, 1, 26, 128],
  [EIGHT, 77, 1, 26, 256],
  [EIGHT, 77, 2, 26, 128],
  [EIGHT, 77, 2, 26, 256],
  [EIGHT, 77, 1, 26, 256, 26],
  [EIGHT, 77, 2, 26, 256, 26],
  [EIGHT, 77, 1, 15, 512],
  [EIGHT, 77, 2, 15, 512],
  [EIGHT, 77, 1, 8, 1024],
  [EIGHT, 77, 2, 8, 1024],
  [EIGHT, 77, 1, 8, 512],
  [EIGHT, 77, 2, 8, 512],
  [FIVE, 40, 1, 18, 128],
  [FIVE, 40, 2, 18, 128],
  [FIVE, 35, 1, 18, 128],
  [FIVE, 40, 1, 16, 128],
  [FIVE, 35, 1, 16, 256],
  [FIVE, 40, 1, 16, 256],
  [FIVE, 40, 2, 16, 256],
  [FIVE, 80, 1, 16, 256],
  [FIVE, 80, 2, 16, 256],
  [FIVE, 40, 1, 18, 256],
  [FIVE, 40, 2, 18, 256],
  [FIVE, 35, 1, 10, 256],
  [FIVE, 40, 1, 10, 256],
  [FIVE, 40, 2, 10, 256],
  [FIVE, 80, 2, 10, 256],
  [FIVE, 40, 1, 8, 512],
  [FIVE, 40, 2, 8, 512],
  [FIVE, 80, 2, 8, 512],
  [FIVE, 40, 1, 9, 512],
  [FIVE, 40, 2, 9, 512],
  [FIVE, 80, 1, 9, 512],
  [`${THREE} or ${FIVE}`, 80, 2, 9, 512],
  [FIVE, 40, 1, 10, 512],
  [FIVE, 40, 2, 10, 512],
  [FIVE, 80, 1, 10, 512],
  [FIVE, 80, 2, 10, 512],
  [FIVE, 40, 1, 5, 1024],
  [FIVE, 40, 2, 5, 1024],
  [FIVE, 80, 1, 5, 1024],
  [`${THREE} or ${FIVE}`, 80, 2, 5, 1024],
  [FIVE, 80, 2, 15, 512],
  [FIVE, 80, 2, 26, 256],
  [THREE, 80, 2, 8, 1024],
  [THREE, 80, 2, 18, 512],
];

function shape([words, tracks, sides, sectors, size, first]: Row): Shape {
  const plain = uniform(tracks, sides, sectors, size);
  const trackBytes = sectors * size;
  const firstTrackBytes = first === undefined ? trackBytes : first * 128;
  const zones = [
    { from: 0, to: 0, side: 0 as const, sectors: first ?? sectors, size: 128 },
    ...(sides === 2 ? [{ from: 0, to: 0, side: 1 as const, sectors, size }] : []),
    { from: 1, to: tracks - 1, sectors, size },
  ];
  return {
    geometry: first === undefined ? plain : { ...plain, zones },
    trackBytes,
    firstTrackBytes,
    sectors,
    size,
    bytes: tracks * sides * trackBytes - trackBytes + firstTrackBytes,
    words,
  };
}

export const SHAPES: readonly Shape[] = ROWS.map(shape);

const BY_SIZE = new Map<number, Shape[]>();
for (const each of SHAPES) BY_SIZE.set(each.bytes, [...(BY_SIZE.get(each.bytes) ?? []), each]);

const LARGEST = Math.max(...SHAPES.map((each) => each.bytes));
/** Of a disk, cut short; files of the usual lengths are below. */
const SMALLEST = 65_536;
const MOST_NEAR = 4;

/** Sizes of zoned group-code images, which hold chained-block volumes: 683, 2083 and 4166 blocks of 256 bytes. */
const ZONED_SIZES: readonly number[] = [174_848, 533_248, 1_066_496];

/** Shapes that an image of this size may have: exactly, by other counts of sectors, or as a cut or padded image. */
export function shapesFor(bytes: number): readonly Shape[] {
  const exact = BY_SIZE.get(bytes);
  if (exact) return exact;
  if (bytes < SMALLEST || bytes > LARGEST * 1.1 || ZONED_SIZES.includes(bytes)) return [];
  const found: Shape[] = [];
  for (const size of [128, 256, 512, 1024])
    for (const sides of [1, 2] as const)
      for (const tracks of [40, 80, 77, 35]) {
        const sectors = bytes / (size * sides * tracks);
        if (Number.isInteger(sectors) && sectors >= 4 && sectors <= 32 && sectors * size <= 12_800)
          found.push(shape(["disk", tracks, sides, sectors, size]));
      }
  if (found.length > 0) return found;
  const distance = (each: Shape): number => Math.abs(each.bytes - bytes);
  return SHAPES.filter((each) =>
    each.bytes > bytes ? each.bytes - bytes < each.bytes / 4 : bytes - each.bytes <= 2 * each.trackBytes,
  )
    .sort((a, b) => distance(a) - distance(b))
    .slice(0, MOST_NEAR);
}

/**
 * The 8-inch single-density volume that systems of this kind share: 77 tracks of 26 sectors, skew 6, two reserved
 * tracks, blocks of 1 KiB, 64 entries. Source: skeletal system listing in the 8080/Z80 system manual.
 */
export const STANDARD_8_INCH: ExtentEntryOptions = makeOptions(uniform(77, 1, 26, 128), {
  skew: 6,
  reservedTracks: 2,
  blockSize: 1024,
  entries: 64,
});
