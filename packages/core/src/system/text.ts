import type { VolumeKind } from "../volume/index.ts";

/** Text in files of any of the systems: which files are text, and where their lines lie. */

/** 1 where a byte belongs in text: printable ISO 646, BEL to CR, SUB and ESC. */
const TEXT_BYTE = Uint8Array.from({ length: 256 }, (_, byte) =>
  (byte >= 0x20 && byte <= 0x7e) || (byte >= 0x07 && byte <= 0x0d) || byte === 0x1a || byte === 0x1b ? 1 : 0,
);

/** ISO 646 SUB: ends the text of files whose length is counted in records. */
const SUB = 0x1a;

/** Where the text ends: at the first SUB, or before the zero bytes that fill a last block. */
function endOfText(bytes: Uint8Array): number {
  const sub = bytes.indexOf(SUB);
  let end = sub < 0 ? bytes.length : sub;
  while (end > 0 && bytes[end - 1] === 0) end--;
  return end;
}

/** Whether at least 98 of 100 bytes up to the end of the text are text. An empty file is none. */
export function isText(bytes: Uint8Array): boolean {
  const end = endOfText(bytes);
  if (end === 0) return false;
  let strangers = end / 50;
  for (let i = 0; i < end; i++) if (TEXT_BYTE[bytes[i]!] === 0 && --strangers < 0) return false;
  return true;
}

/**
 * The text that a file holds, one byte a character, or null. On chained-block volumes capitals may stand at C1 to DA
 * and small letters where ISO 646 has capitals (case-exchanged code); such a file is turned into ISO 646.
 */
export function textOf(bytes: Uint8Array, kind: VolumeKind): Uint8Array | null {
  if (isText(bytes)) return bytes;
  if (kind !== "chained-block") return null;
  const turned = bytes.map((byte) =>
    byte >= 0xc1 && byte <= 0xda ? byte & 0x7f : isCapital(byte) ? byte | 0x20 : byte,
  );
  return isText(turned) ? turned : null;
}

const isCapital = (byte: number): boolean => byte >= 0x41 && byte <= 0x5a;

/** A line without its end; both in bytes from the start of the file. */
interface Line {
  from: number;
  to: number;
}

/** Calls `each` with every line. Lines end with CR, LF, or CR and LF. */
export function eachLine(bytes: Uint8Array, each: (from: number, to: number) => void): void {
  const end = endOfText(bytes);
  let from = 0;
  for (let i = 0; i < end; i++) {
    const byte = bytes[i]!;
    if (byte !== 0x0d && byte !== 0x0a) continue;
    each(from, i);
    if (byte === 0x0d && bytes[i + 1] === 0x0a) i++;
    from = i + 1;
  }
  if (from < end) each(from, end);
}

/** All lines of a short file. */
export function textLines(bytes: Uint8Array): Line[] {
  const lines: Line[] = [];
  eachLine(bytes, (from, to) => lines.push({ from, to }));
  return lines;
}
