import { readCsv } from "./csv.ts";
import type { Capture, CaptureOptions } from "./types.ts";
import { readVcd } from "./vcd.ts";

export type { Capture, CaptureOptions, Edges } from "./types.ts";
export { readCsv, readVcd };

/** Reads a capture of either kind: a value change dump begins with a `$` word, a table with a number or a heading. */
export function readCapture(bytes: Uint8Array, options: CaptureOptions = {}): Capture {
  let at = 0;
  while (at < bytes.length && bytes[at]! <= 0x20) at++;
  return bytes[at] === 0x24 ? readVcd(bytes, options) : readCsv(bytes, options);
}
