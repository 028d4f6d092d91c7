import type { CellWriter } from "./cells.ts";

/**
 * 4-to-5 group codes: four data bits become five cells with never more than two zeros in a row and, sync runs apart, never
 * more than eight ones. Bytes go high half first.
 */

/** Code words of the zoned disk, by nibble. From memory. */
export const ZONED_CODES: readonly number[] = [
  0x0a, 0x0b, 0x12, 0x13, 0x0e, 0x0f, 0x16, 0x17, 0x09, 0x19, 0x1a, 0x1b, 0x0d, 0x1d, 0x1e, 0x15,
];

/** Code words of 6,250 cpi tape (ANSI X3.54, ISO 5652, ECMA-62), by nibble. From memory; here as a check table. */
export const TAPE_CODES: readonly number[] = [
  0x19, 0x1b, 0x12, 0x13, 0x1d, 0x15, 0x16, 0x17, 0x1a, 0x09, 0x0a, 0x0b, 0x1e, 0x0d, 0x0e, 0x0f,
];

/** Ten cells of each byte. */
const ZONED_WORDS: Uint16Array = Uint16Array.from(
  { length: 256 },
  (_, byte) => (ZONED_CODES[byte >> 4]! << 5) | ZONED_CODES[byte & 15]!,
);

/** Byte of ten cells, or -1 where a half is no code word. */
export const ZONED_BYTES: Int16Array = (() => {
  const bytes = new Int16Array(1024).fill(-1);
  ZONED_WORDS.forEach((word, byte) => {
    bytes[word] = byte;
  });
  return bytes;
})();

/** Puts bytes down in the zoned disk's group code. */
export function putGroupCode(writer: CellWriter, bytes: Uint8Array): void {
  let i = 0;
  for (; i + 2 <= bytes.length; i += 2) writer.put((ZONED_WORDS[bytes[i]!]! << 10) | ZONED_WORDS[bytes[i + 1]!]!, 20);
  if (i < bytes.length) writer.put(ZONED_WORDS[bytes[i]!]!, 10);
}

export const GROUP_MARK = { header: 0x08, data: 0x07 } as const;

/** This many ones in a row are a sync run: no two code words make more than eight. */
export const SYNC_ONES = 10;

/** Exclusive OR of bytes: the checksum of header and data block. */
export function xorOf(bytes: Uint8Array, from = 0, to = bytes.length): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum ^= bytes[i]!;
  return sum;
}
