import type { Signal } from "../../recording/index.ts";

/** A line's level over time, as a logic analyser sees it. Times in seconds, ascending. */
export interface Waveform {
  start: number;
  end: number;
  /** Level before the first edge: 1 is the higher voltage, or mark on a TTL line. */
  initial: 0 | 1;
  /** Times at which the level changes. */
  edges: readonly number[];
}

/** A stretch of one level. `open`: its length is only a lower bound. */
export interface Run {
  level: 0 | 1;
  seconds: number;
  open: boolean;
}

/** The stretches between edges. The first and the last are cut off by the capture, so their lengths are lower bounds. */
export function runsOf({ start, end, initial, edges }: Waveform): Run[] {
  const runs: Run[] = [];
  let level = initial;
  let from = start;
  for (const edge of edges) {
    if (edge > from) runs.push({ level, seconds: edge - from, open: runs.length === 0 });
    else if (runs.length > 0) {
      // Two edges at one time: nothing lies between them.
      runs.pop();
    }
    level = level === 1 ? 0 : 1;
    from = edge;
  }
  if (end > from) runs.push({ level, seconds: end - from, open: true });
  return merged(runs);
}

/** Neighbouring stretches of one level are one. */
export function merged(runs: readonly Run[]): Run[] {
  const out: Run[] = [];
  for (const run of runs) {
    const last = out.at(-1);
    if (last && last.level === run.level)
      out[out.length - 1] = { level: run.level, seconds: last.seconds + run.seconds, open: last.open || run.open };
    else out.push(run);
  }
  return out;
}

/** A line's waveform from the changes of a signal, as the readers of captures give them. */
export function waveformOfSignal({ changes, firstLevel }: Signal): Waveform {
  const edges = Array.from(changes);
  const [first = 0, last = 0] = [edges[0], edges.at(-1)];
  const around = Math.max((last - first) / Math.max(1, edges.length), Number.MIN_VALUE);
  return { start: first - around, end: last + around, initial: firstLevel === 1 ? 0 : 1, edges };
}

/** Levels sampled at a steady rate (samples a second): an edge lies halfway between two samples that differ. */
export function waveformOfSamples(samples: ArrayLike<number>, rate: number): Waveform {
  const edges: number[] = [];
  for (let index = 1; index < samples.length; index++)
    if (Boolean(samples[index]) !== Boolean(samples[index - 1])) edges.push((index - 0.5) / rate);
  return { start: 0, end: samples.length / rate, initial: samples[0] ? 1 : 0, edges };
}

/** Bits of a waveform at a bit time: `level` one a bit; `open` where the bit may stand for several of its kind. */
export interface Bits {
  level: Uint8Array;
  open: Uint8Array;
}

/** More bits of one level than any character holds say nothing more. */
const MOST_BITS = 14;

/**
 * Each stretch counted in bits. Characters follow each other at any distance, so each stretch is rounded for itself and
 * no error builds up; one of less than half a bit is a glitch, and joins its neighbours.
 */
export function bitsOf(runs: readonly Run[], bitTime: number): Bits {
  const kept = merged(runs.filter((run) => run.open || run.seconds >= bitTime / 2));
  const level: number[] = [];
  const open: number[] = [];
  for (const run of kept) {
    const count = Math.min(MOST_BITS, Math.max(1, Math.round(run.seconds / bitTime)));
    for (let bit = 1; bit <= count; bit++) {
      level.push(run.level);
      open.push(run.open && bit === count ? 1 : 0);
    }
  }
  return { level: Uint8Array.from(level), open: Uint8Array.from(open) };
}
