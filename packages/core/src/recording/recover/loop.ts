import type { RecordingCode } from "../../catalogue/index.ts";
import type { Cells } from "../cells.ts";

/** Cells read from transitions, and where each transition fell. */
export interface ReadCells {
  cells: Cells;
  /** For each cell, how far its transition lay from the middle, -127 to 127 for half a cell early to late; 0 without one. */
  offsets: Int8Array;
  /** Cell of each transition that was taken, and its time in seconds. */
  places: Int32Array;
  times: Float64Array;
}

/** Fewest and most cells from one transition to the next. MFM marks keep to them too. */
export const SPACING: Readonly<Record<RecordingCode, { least: number; most: number }>> = {
  FM: { least: 1, most: 2 },
  MFM: { least: 2, most: 4 },
  "zoned 4-to-5 group code": { least: 1, most: 3 },
};

/** A gap longer than this many cells counts as this long: nothing was recorded there. */
const LONGEST_GAP = 64;

/** How much of a phase error goes into phase and into period at each transition. */
export interface Gains {
  phase: number;
  period: number;
}

/** Damped near 0.7: settles within a sync run of 40 transitions, and adds about 4 % to the jitter. */
export const USUAL_GAINS: Gains = { phase: 0.1, period: 0.005 };

/** How far the period may wander from where it began. */
const LARGEST_DRIFT = 0.1;

/** Error beyond which a transition is taken into the next cell to keep the code's spacing, in cells from the middle. */
const FARTHEST_MOVE = 0.72;

/**
 * Keeps the spacing of the code: where two transitions are one cell too near or too far, the one that lies nearest to the
 * edge of its cell goes over it, if it lies near enough; else, of two too near, one is dropped onto the other.
 */
function keepSpacing(places: Int32Array, errors: Float32Array, count: number, code: RecordingCode): void {
  const { least, most } = SPACING[code];
  for (let i = 1; i < count; i++) {
    const gap = places[i]! - places[i - 1]!;
    if (gap !== least - 1 && gap !== most + 1) continue;
    // Too near: the first moves back or the second on. Too far: the other way round.
    const way = gap < least ? 1 : -1;
    const first = Math.abs(errors[i - 1]! + way);
    const second = Math.abs(errors[i]! - way);
    const room = i < 2 ? most : places[i - 1]! - way - places[i - 2]!;
    const ahead = i + 1 >= count ? most : places[i + 1]! - places[i]! - way;
    const mayFirst = first < FARTHEST_MOVE && room >= least && room <= most;
    const maySecond = second < FARTHEST_MOVE && ahead >= least && ahead <= most;
    if (mayFirst && (!maySecond || first <= second)) {
      places[i - 1] = places[i - 1]! - way;
      errors[i - 1] = errors[i - 1]! + way;
    } else if (maySecond) {
      places[i] = places[i]! + way;
      errors[i] = errors[i]! - way;
    } else if (way > 0) {
      // Both lie near the middle of their cells, so one is too many: it goes where the other then keeps the spacing.
      const dropFirst = i >= 2 && places[i]! - places[i - 2]! <= most;
      const dropSecond = i + 1 < count && places[i + 1]! - places[i - 1]! <= most;
      const isFirst = dropFirst && (!dropSecond || Math.abs(errors[i - 1]!) > Math.abs(errors[i]!));
      if (!isFirst && !dropSecond) continue;
      const [gone, kept] = isFirst ? [i - 1, i] : [i, i - 1];
      places[gone] = places[kept]!;
      errors[gone] = errors[kept]!;
    }
  }
}

/** Cells and offsets from the places of transitions. */
function layDown(places: Int32Array, errors: Float32Array, times: Float64Array): ReadCells {
  const length = (places.at(-1) ?? -1) + 1;
  const bits = new Uint8Array((length + 7) >> 3);
  const offsets = new Int8Array(length);
  for (let i = 0; i < places.length; i++) {
    const place = places[i]!;
    bits[place >> 3] = bits[place >> 3]! | (0x80 >> (place & 7));
    const offset = Math.round(errors[i]! * 254);
    offsets[place] = offset > 127 ? 127 : Math.max(offset, -127);
  }
  return { cells: { bits, length }, offsets, places, times };
}

/**
 * A digital phase-locked loop over transition times: each is put into the cell whose middle is nearest, and its error
 * corrects phase and period. A transition too many, or one missing, changes one cell and doesn't shift what follows.
 * `cellSeconds` is where the period begins.
 */
export function readWithLoop(
  times: Float64Array,
  cellSeconds: number,
  code: RecordingCode,
  gains: Gains = USUAL_GAINS,
): ReadCells {
  const places = new Int32Array(times.length);
  const errors = new Float32Array(times.length);
  const taken = new Float64Array(times.length);
  const shortest = cellSeconds * (1 - LARGEST_DRIFT);
  const longest = cellSeconds * (1 + LARGEST_DRIFT);
  let period = cellSeconds;
  let count = 0;
  let place = 0;
  let middle = times[0] ?? 0;
  for (let k = 0; k < times.length; k++) {
    const time = times[k]!;
    const away = (time - middle) / period;
    let gap = Math.floor(away + 0.5);
    // Two in one cell: the second is one too many.
    if (gap < 1 && k > 0) continue;
    let error = away - gap;
    if (gap > LONGEST_GAP) {
      gap = LONGEST_GAP;
      error = 0;
      middle = time;
    } else middle += (gap + gains.phase * error) * period;
    period += gains.period * error * cellSeconds;
    if (period < shortest) period = shortest;
    else if (period > longest) period = longest;
    place += gap;
    places[count] = place;
    errors[count] = error;
    taken[count] = time;
    count++;
  }
  keepSpacing(places, errors, count, code);
  return layDown(places.subarray(0, count), errors.subarray(0, count), taken.subarray(0, count));
}

/** The baseline: each interval by itself, to the nearest whole number of nominal cells. */
export function readWithFixedWindow(times: Float64Array, cellSeconds: number): ReadCells {
  const places = new Int32Array(times.length);
  const errors = new Float32Array(times.length);
  const taken = new Float64Array(times.length);
  let count = 0;
  let place = 0;
  for (let k = 0; k < times.length; k++) {
    const away = k === 0 ? 0 : (times[k]! - times[k - 1]!) / cellSeconds;
    const gap = Math.min(LONGEST_GAP, Math.round(away));
    if (gap < 1 && k > 0) continue;
    place += gap;
    places[count] = place;
    errors[count] = gap === LONGEST_GAP ? 0 : away - gap;
    taken[count] = times[k]!;
    count++;
  }
  return layDown(places.subarray(0, count), errors.subarray(0, count), taken.subarray(0, count));
}

/** Time at which a cell passes, between the transitions on both sides of it. */
export function timeOfCell({ places, times }: ReadCells, cell: number): number {
  let low = 0;
  let high = places.length - 1;
  if (high < 0) return 0;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (places[middle]! < cell) low = middle + 1;
    else high = middle;
  }
  const after = times[low]!;
  const cells = low > 0 ? places[low]! - places[low - 1]! : 0;
  if (cells <= 0) return after;
  return after - ((after - times[low - 1]!) * (places[low]! - cell)) / cells;
}
