import { InputError } from "../errors/index.ts";

/** An asynchronous character frame: one start bit, data, parity, stop. */
export interface Frame {
  text: string;
  data: number;
  parity: "none" | "even" | "odd" | "mark" | "space";
  stop: number;
  /** Bit times from the start edge to the end of the last stop bit. */
  bits: number;
  /** Bit times from the start edge to the middle of the first stop bit, where a receiver samples last. */
  lastSample: number;
}

const PARITY = { N: "none", E: "even", O: "odd", M: "mark", S: "space" } as const;

/** Reads `8N1`, `7E1`, `8N1.5`. Throws an `InputError` for anything else. */
export function readFrame(text: string): Frame {
  const match = /^([5-8])([NEOMS])(1|1\.5|2)$/.exec(text);
  if (!match) throw new InputError("bad-frame", `“${text}” is not a frame; expected something like “8N1” or “7E1”`);
  const data = Number(match[1]);
  const parity = PARITY[match[2] as keyof typeof PARITY];
  const stop = Number(match[3]);
  const before = 1 + data + (parity === "none" ? 0 : 1);
  return { text, data, parity, stop, bits: before + stop, lastSample: before + 0.5 };
}

/** Characters a second that a line at `rate` bit/s carries without a pause. */
export const charactersPerSecond = (rate: number, frame: Frame): number => rate / frame.bits;

/** A receiver that samples 16 times a bit sees the start edge up to this part of a bit late. */
const START_UNCERTAINTY = 1 / 16;

/**
 * Largest mismatch between the two ends, as a share of the bit time, at which the last sample still falls inside its
 * bit: half a bit less the uncertainty of the start edge, spread over the bits up to the last sample (8N1: 4.6 %).
 */
export const mismatchLimit = (frame: Frame): number => (0.5 - START_UNCERTAINTY) / frame.lastSample;

/**
 * Mismatch that leaves room for edges that are not square: 2 % over an 8N1 frame, as the receiver tables of UART data
 * sheets recommend, in proportion for others.
 */
export const mismatchAdvised = (frame: Frame): number => (0.02 * 9.5) / frame.lastSample;
