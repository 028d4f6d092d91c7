import { hex, plainText } from "./text.ts";

/** One row of a dump: where, the bytes in hex, and what they read as in ISO 646. */
export interface DumpRow {
  offset: number;
  hex: string;
  text: string;
}

/** Rows of `width` bytes; `base` is added to the offsets shown. */
export function dump(bytes: Uint8Array, base = 0, width = 16): DumpRow[] {
  const rows: DumpRow[] = [];
  for (let at = 0; at < bytes.length; at += width) {
    const row = bytes.subarray(at, at + width);
    rows.push({ offset: base + at, hex: Array.from(row, (byte) => hex(byte, 2)).join(" "), text: plainText(row) });
  }
  return rows;
}
