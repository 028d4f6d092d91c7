import type { Run } from "./waveform.ts";

/** Spread of an edge interval about a whole number of bits, in bits, and the share that lies anywhere. */
const SPREAD = 0.06;
const ANYWHERE = 0.12;
/** No line of this kind has shorter bits, s. */
const SHORTEST = 1e-9;
/** A bit time whose intervals are less likely by this (natural logarithm) cannot win by its text. */
const HOPELESS = 200;
/** Longer stretches carry too little of the rate, as a small error of it builds up in them. */
const LONGEST = 12;

/** Log likelihood of the intervals at a bit time, against intervals that lie anywhere. */
function intervalFit(lengths: readonly number[], bitTime: number, reference: number): number {
  let sum = 0;
  let product = 1;
  // The spread is the same in seconds whatever bit time is tried; else a short bit time would fit anything.
  const spread = (SPREAD * reference) / bitTime;
  const floor = ANYWHERE * Math.min(1, spread * 2.5);
  for (const length of lengths) {
    const bits = length / bitTime;
    if (bits > LONGEST) continue;
    const off = (bits - Math.max(1, Math.round(bits))) / spread;
    // Beyond five spreads nothing is left of the bell.
    product *= off * off > 25 ? floor : (1 - ANYWHERE) * Math.exp(-0.5 * off * off) + floor;
    // One logarithm for many factors; none is below 0.001.
    if (product < 1e-200) {
      sum += Math.log(product);
      product = 1;
    }
  }
  return sum + Math.log(product);
}

/** Bit time near a guess that fits best: each interval counts with the whole number of bits that it holds. */
function refined(lengths: readonly number[], guess: number): number {
  let bitTime = guess;
  for (let pass = 0; pass < 4; pass++) {
    let above = 0;
    let below = 0;
    for (const length of lengths) {
      const bits = Math.round(length / bitTime);
      if (bits < 1 || bits > LONGEST || Math.abs(length / bitTime - bits) > 3 * SPREAD) continue;
      above += length * bits;
      below += bits * bits;
    }
    if (below === 0) return bitTime;
    bitTime = above / below;
  }
  return bitTime;
}

/**
 * Bit times that the intervals speak for, the best first, s. In text most short stretches are one bit long, so bit times
 * about a low percentile of the lengths, and its half, third and double, are tried in steps of 1/3 %.
 */
export function bitTimes(runs: readonly Run[], most: number): { bitTime: number; fit: number }[] {
  const lengths = runs.filter((run) => !run.open && run.seconds > SHORTEST).map((run) => run.seconds);
  if (lengths.length === 0) return [];
  const sorted = [...lengths].sort((a, b) => a - b);
  const guesses = new Set(
    [0.08, 0.25, 0.5].flatMap((share) => {
      const length = sorted[Math.floor(share * (sorted.length - 1))]!;
      return [length, length / 2, length / 3, length * 2];
    }),
  );
  const reference = sorted[Math.floor(0.25 * (sorted.length - 1))]!;
  const found: { bitTime: number; fit: number }[] = [];
  for (const guess of guesses) {
    let best = { bitTime: guess, fit: Number.NEGATIVE_INFINITY };
    for (let step = -36; step <= 36; step++) {
      const bitTime = guess * (1 + step / 300);
      const fit = intervalFit(lengths, bitTime, reference);
      if (fit > best.fit) best = { bitTime, fit };
    }
    const bitTime = refined(lengths, best.bitTime);
    const fit = intervalFit(lengths, bitTime, reference);
    if (!found.some((each) => Math.abs(each.bitTime / bitTime - 1) < 0.01)) found.push({ bitTime, fit });
  }
  found.sort((a, b) => b.fit - a.fit);
  return found.filter((each) => each.fit > found[0]!.fit - HOPELESS).slice(0, most);
}
