/**
 * A run of bit cells: 1 where the magnetisation changes, 0 where it doesn't. A cell is the shortest unit in which a
 * transition may lie: half a data bit in FM and MFM (clock and data cell alternate), one code bit in group code.
 */
export interface Cells {
  /** Eight cells a byte, the first in the highest bit. */
  bits: Uint8Array;
  /** How many cells count; bits after them are zero. */
  length: number;
}

export const cellAt = (cells: Cells, index: number): 0 | 1 =>
  ((cells.bits[index >> 3]! >> (7 - (index & 7))) & 1) as 0 | 1;

/** The 16 cells from `at` on, first cell highest; cells past the end read as 0. */
export function word16(bits: Uint8Array, at: number): number {
  const i = at >> 3;
  const three = ((bits[i] ?? 0) << 16) | ((bits[i + 1] ?? 0) << 8) | (bits[i + 2] ?? 0);
  return (three >> (8 - (at & 7))) & 0xffff;
}

/** Writes cells one after another into a buffer made for `capacity` of them. */
export class CellWriter {
  readonly bits: Uint8Array;
  length = 0;

  constructor(capacity: number) {
    this.bits = new Uint8Array((capacity + 7) >> 3);
  }

  /** Up to 24 cells, the first in the highest of `count` bits. */
  put(value: number, count: number): void {
    const bits = this.bits;
    const i = this.length >> 3;
    const shifted = value << (32 - count - (this.length & 7));
    bits[i] = bits[i]! | (shifted >>> 24);
    // Bytes not begun yet are set; those past the end are dropped by the array itself.
    bits[i + 1] = shifted >> 16;
    bits[i + 2] = shifted >> 8;
    bits[i + 3] = shifted;
    this.length += count;
  }

  /** The cells written, cut to `length` of them. */
  done(length = this.length): Cells {
    return { bits: this.bits, length };
  }
}

/** Cells with their own beginning added behind their end, so that a field across the join of a turn reads whole. */
export function pastTheJoin({ bits, length }: Cells, more: number): Cells {
  const extra = Math.min(more, length);
  const result = new Uint8Array((length + extra + 7) >> 3);
  result.set(bits.subarray(0, (length + 7) >> 3));
  // Bits past the length may be set in foreign cells.
  if (length & 7) result[length >> 3] = result[length >> 3]! & (0xff00 >> (length & 7));
  for (let from = 0; from < extra; from += 8) {
    const byte = word16(bits, from) >> 8;
    const kept = extra - from >= 8 ? byte : byte & (0xff00 >> (extra - from));
    const at = length + from;
    const i = at >> 3;
    const two = kept << (8 - (at & 7));
    result[i] = result[i]! | (two >> 8);
    if (i + 1 < result.length) result[i + 1] = result[i + 1]! | two;
  }
  return { bits: result, length: length + extra };
}

/** Cells from text of 0 and 1; anything else is passed over. */
export function cellsFromText(text: string): Cells {
  const digits = text.replace(/[^01]/g, "");
  const writer = new CellWriter(digits.length);
  for (const digit of digits) writer.put(digit === "1" ? 1 : 0, 1);
  return writer.done();
}
