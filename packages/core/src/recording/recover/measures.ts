import { type ReadCells, timeOfCell } from "./loop.ts";

/** Speed along a capture, as a picture needs it. */
export interface SpeedCurve {
  seconds: Float64Array;
  /** Departure from nominal as a share: 0.02 is 2 % fast. */
  speed: Float32Array;
  mean: number;
  least: number;
  most: number;
}

/** Speed from how many cells pass in a time, in `samples` stretches of equal numbers of cells. */
export function speedCurve(read: ReadCells, nominalCell: number, samples: number): SpeedCurve {
  const length = read.cells.length;
  const count = Math.max(0, Math.min(samples, Math.floor(length / 64)));
  const seconds = new Float64Array(count);
  const speed = new Float32Array(count);
  let before = timeOfCell(read, 0);
  const begin = before;
  for (let k = 0; k < count; k++) {
    const [from, to] = [Math.floor((k * (length - 1)) / count), Math.floor(((k + 1) * (length - 1)) / count)];
    const after = timeOfCell(read, to);
    seconds[k] = (before + after) / 2;
    speed[k] = after > before ? ((to - from) * nominalCell) / (after - before) - 1 : 0;
    before = after;
  }
  const mean = before > begin ? ((length - 1) * nominalCell) / (before - begin) - 1 : 0;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const each of speed) {
    if (each < least) least = each;
    if (each > most) most = each;
  }
  return { seconds, speed, mean, least: count > 0 ? least : mean, most: count > 0 ? most : mean };
}

/** Where transitions lie within their cells. */
export interface WindowMargin {
  /** Counts from the early edge to the late edge of the cell, 51 bins. */
  counts: Uint32Array;
  /** Root mean square distance from the middle, as a share of the cell. */
  rms: number;
  /** Distance to the edge that all but one in a thousand keep, as a share of the cell; half a cell is the most. */
  margin: number;
}

const MARGIN_BINS = 51;

export function windowMargin({ places, offsets }: ReadCells): WindowMargin {
  const counts = new Uint32Array(MARGIN_BINS);
  const distances = new Uint32Array(128);
  let squares = 0;
  for (const place of places) {
    const offset = offsets[place]!;
    squares += offset * offset;
    distances[Math.abs(offset)] = distances[Math.abs(offset)]! + 1;
    const bin = Math.min(MARGIN_BINS - 1, Math.floor(((offset + 127) / 255) * MARGIN_BINS));
    counts[bin] = counts[bin]! + 1;
  }
  const beyond = places.length / 1000;
  let distance = 127;
  for (let seen = 0; distance > 0; distance--) {
    seen += distances[distance]!;
    if (seen > beyond) break;
  }
  const rms = places.length > 0 ? Math.sqrt(squares / places.length) / 254 : 0;
  return { counts, rms, margin: places.length > 0 ? 0.5 - distance / 254 : 0 };
}
