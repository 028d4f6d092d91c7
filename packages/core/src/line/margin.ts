import type { Frame } from "./frame.ts";
import { mismatchAdvised, mismatchLimit } from "./frame.ts";

/** Rates of an end: nominal, and the bounds that the tolerance of its clock allows, bit/s. */
export interface RateRange {
  rate: number;
  low: number;
  high: number;
}

/** Where a receiver samples the last bit of a character, and what is left there. Shares of a bit. */
export interface Sampling {
  /** Worst mismatch between the two ends, as a share: transmitter ÷ receiver − 1, with its sign. */
  mismatch: number;
  /** Place in the last bit at which it is sampled: 0 is its start, 1 its end; 0.5 with two equal ends. */
  position: number;
  /** Earliest and latest place, tolerances and the width of the sampling window included. */
  earliest: number;
  latest: number;
  /** What is left to the nearer edge of the bit; below 0 the bit before or after it is taken. */
  margin: number;
  /** Mismatch at which the margin is used up on a line without noise, and the one that data sheets advise. */
  limit: number;
  advised: number;
}

/** A receiver that counts 16 times a bit decides on three samples about the middle: one count to either side. */
const HALF_WINDOW = 1 / 16;

/**
 * Both ends combined. The receiver restarts at each start edge, so only the error that builds up within one character
 * counts: sample k falls (k + 1/2 ± 1/16) receiver bits after that edge. The window makes the bounds equal to the
 * receiver tables of UART data sheets (8N1: −4.64 … +4.58 %); `limit` is their narrower side by our rule of `mismatchLimit`.
 */
export function sampling(transmitter: RateRange, receiver: RateRange, frame: Frame): Sampling {
  const firstBit = frame.lastSample - 0.5;
  const place = (offset: number, ratio: number) => (frame.lastSample + offset) * ratio - firstBit;
  const fast = transmitter.high / receiver.low;
  const slow = transmitter.low / receiver.high;
  const nominal = transmitter.rate / receiver.rate;
  const earliest = place(-HALF_WINDOW, slow);
  const latest = place(HALF_WINDOW, fast);
  return {
    mismatch: fast - 1 > 1 - slow ? fast - 1 : slow - 1,
    position: place(0, nominal),
    earliest,
    latest,
    margin: Math.min(earliest, 1 - latest),
    limit: mismatchLimit(frame),
    advised: mismatchAdvised(frame),
  };
}
