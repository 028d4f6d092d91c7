import type { RecordingCode } from "../../catalogue/index.ts";
import { SPACING } from "./loop.ts";

/** How often each interval between transitions comes. */
export interface IntervalHistogram {
  /** Width of a bin in seconds; bin k counts intervals from k × width up to (k + 1) × width. */
  binSeconds: number;
  counts: Uint32Array;
  /** Intervals longer than the last bin. */
  longer: number;
}

export function intervalHistogram(times: Float64Array, binSeconds: number, bins: number): IntervalHistogram {
  const counts = new Uint32Array(bins);
  let longer = 0;
  for (let i = 1; i < times.length; i++) {
    const bin = Math.floor((times[i]! - times[i - 1]!) / binSeconds);
    if (bin < bins) counts[bin] = counts[bin]! + 1;
    else longer++;
  }
  return { binSeconds, counts, longer };
}

const BINS_A_CELL = 32;

export interface CellFit {
  cellSeconds: number;
  /** 1 where every interval is a whole number of cells, about 0 where none is. */
  fit: number;
}

/**
 * The cell that makes most intervals whole numbers of cells, within `reach` (a share) of `nominal`. It holds for the
 * times as a whole; the loop follows what changes along them.
 */
export function fitCell(times: Float64Array, nominal: number, code: RecordingCode, reach: number): CellFit {
  const { most } = SPACING[code];
  const { counts, binSeconds } = intervalHistogram(
    times,
    nominal / BINS_A_CELL,
    Math.ceil(BINS_A_CELL * (most + 1) * (1 + reach)),
  );
  const total = counts.reduce((sum, count) => sum + count, 0);
  if (total === 0) return { cellSeconds: nominal, fit: 0 };
  const score = (cell: number): number => {
    let sum = 0;
    for (let bin = 0; bin < counts.length; bin++)
      if (counts[bin]) sum += counts[bin]! * Math.cos((2 * Math.PI * (bin + 0.5) * binSeconds) / cell);
    return sum / total;
  };
  const steps = Math.round(reach / 0.0025);
  let best = { cellSeconds: nominal, fit: score(nominal) };
  for (let step = -steps; step <= steps; step++) {
    const cellSeconds = nominal * (1 + step * 0.0025);
    const fit = score(cellSeconds);
    if (fit > best.fit) best = { cellSeconds, fit };
  }
  // The top of a parabola through the best step and its neighbours.
  const width = 0.0025 * nominal;
  const [left, right] = [score(best.cellSeconds - width), score(best.cellSeconds + width)];
  const bend = left - 2 * best.fit + right;
  const shift = bend < 0 ? Math.max(-1, Math.min(1, (0.5 * (left - right)) / bend)) : 0;
  return { cellSeconds: best.cellSeconds + shift * width, fit: best.fit };
}
