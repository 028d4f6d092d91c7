import { csvSignals, readCsv } from "./csv.ts";
import type { Capture, CaptureOptions, Signal } from "./types.ts";
import { readVcd, vcdSignals } from "./vcd.ts";

export type { Capture, CaptureOptions, Edges, Signal } from "./types.ts";
export { readCsv, readVcd };

const isDump = (bytes: Uint8Array): boolean => {
  let at = 0;
  while (at < bytes.length && bytes[at]! <= 0x20) at++;
  return bytes[at] === 0x24;
};

/** Reads a capture of either kind: a value change dump begins with a `$` word, a table with a number or a heading. */
export const readCapture = (bytes: Uint8Array, options: CaptureOptions = {}): Capture =>
  isDump(bytes) ? readVcd(bytes, options) : readCsv(bytes, options);

/** The signals of a file of either kind, whatever they were sampled from. */
export const readSignals = (bytes: Uint8Array): Signal[] =>
  isDump(bytes) ? vcdSignals(bytes).signals : csvSignals(bytes);
