import { hex } from "../../bytes/index.ts";
import { InputError } from "../../errors/index.ts";

/** File names, text, dates and attributes of directory entries (ECMA-107 clause 11). */

/** Bytes 80 to FF as the usual upper half shows them: the table of code page 437. Common practice, no source. */
const UPPER =
  "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒáíóúñÑªº¿⌐¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u00a0";

/** One byte of a name, readable: slash, backslash, percent, control characters and the blank FF in percent form. */
function shown(byte: number): string {
  if (byte < 0x20 || byte === 0x7f || byte === 0xff || byte === 0x2f || byte === 0x5c || byte === 0x25)
    return `%${hex(byte, 2)}`;
  return byte < 0x80 ? String.fromCharCode(byte) : UPPER[byte - 0x80]!;
}

const FORMS: readonly string[] = Array.from({ length: 256 }, (_, byte) => shown(byte));

const trimmed = (bytes: Uint8Array, from: number, to: number): number => {
  let end = to;
  while (end > from && bytes[end - 1] === 0x20) end--;
  return end;
};

/** Readable text of bytes `from` to `to`. */
export function text(bytes: Uint8Array, from: number, to: number): string {
  let out = "";
  for (let at = from; at < to; at++) out += FORMS[bytes[at]!];
  return out;
}

/**
 * The name in an entry at `at`, as `NAME.EXT`. A first byte of 05 stands for E5. With `lost`, the first byte is gone
 * (the entry is deleted) and shown as `?`. A name that would read as nothing or as dots alone is put in percent form.
 */
export function shortName(bytes: Uint8Array, at: number, lost: boolean): string {
  const end = trimmed(bytes, at, at + 8);
  const extensionEnd = trimmed(bytes, at + 8, at + 11);
  const first = lost ? "?" : bytes[at] === 0x05 ? FORMS[0xe5]! : FORMS[bytes[at]!]!;
  const base = lost || end > at ? first + text(bytes, at + 1, Math.max(end, at + 1)) : "";
  const name = extensionEnd > at + 8 ? `${base || "%20"}.${text(bytes, at + 8, extensionEnd)}` : base || "%20";
  return /^\.+$/.test(name) ? name.replaceAll(".", "%2E") : name;
}

/** Bytes that a stored name may not hold, beside control characters: from memory of the name rules. */
const FORBIDDEN = new Set(Array.from('"*+,./:;<=>?[\\]|', (character) => character.charCodeAt(0)));

/** True where the 11 bytes at `at` make a name that a system of the period would have written. */
export function isUsualName(bytes: Uint8Array, at: number): boolean {
  if (bytes[at] === 0x20) return false;
  let blank = false;
  for (let i = 0; i < 11; i++) {
    const byte = bytes[at + i]!;
    if (i === 8) blank = false;
    if (byte === 0x20) blank = true;
    else if (blank) return false;
    if ((byte < 0x20 && !(i === 0 && byte === 0x05)) || FORBIDDEN.has(byte)) return false;
    if (byte >= 0x61 && byte <= 0x7a) return false;
  }
  return true;
}

const BYTE_OF = new Map(Array.from(UPPER, (character, index) => [character, 0x80 + index]));

/** The 11 bytes of a readable name part, percent form understood. Throws `InputError` where it is no 8.3 name. */
export function nameBytes(part: string): Uint8Array {
  const refuse = (why: string): never => {
    throw new InputError("bad-name", `"${part}" cannot be a name on a FAT12 volume: ${why}.`);
  };
  const bytesOf = (half: string): number[] =>
    Array.from(half.matchAll(/%([0-9A-F]{2})|[\s\S]/gu), (match) => {
      const code = match[1] ? Number.parseInt(match[1], 16) : match[0].codePointAt(0)!;
      return match[1] || code < 0x80 ? code : (BYTE_OF.get(match[0]) ?? refuse(`${match[0]} is not in its code page`));
    });
  const dot = part.lastIndexOf(".");
  const base = bytesOf(dot < 0 ? part : part.slice(0, dot));
  const extension = dot < 0 ? [] : bytesOf(part.slice(dot + 1));
  if (base.length < 1 || base.length > 8 || extension.length > 3 || (dot >= 0 && extension.length === 0))
    refuse("it must be 1 to 8 characters, and up to 3 after a full stop");
  const out = new Uint8Array(11).fill(0x20);
  out.set(base);
  out.set(extension, 8);
  if (!isUsualName(out, 0)) refuse("it holds a character that such names do not allow (letters must be capitals)");
  if (out[0] === 0xe5) out[0] = 0x05;
  return out;
}

export const ATTRIBUTE = { readOnly: 1, hidden: 2, system: 4, label: 8, folder: 0x10, archive: 0x20 } as const;
/** Attributes of an entry that carries a piece of a long name. */
export const LONG_NAME = 0x0f;

export function attributesInWords(attributes: number): string {
  const words: string[] = [];
  if (attributes & ATTRIBUTE.readOnly) words.push("read-only");
  if (attributes & ATTRIBUTE.hidden) words.push("hidden");
  if (attributes & ATTRIBUTE.system) words.push("system");
  if (attributes & ATTRIBUTE.archive) words.push("archive");
  if (attributes & ATTRIBUTE.label) words.push("label");
  if (attributes & 0xc0) words.push(`unused bits ${hex(attributes & 0xc0, 2)}`);
  return words.join(", ") || "none";
}

const two = (value: number): string => String(value).padStart(2, "0");

/** `1988-04-12 10:30:02` from the two words of an entry; undefined where both are zero. */
export function dateInWords(date: number, time: number): string | undefined {
  if (date === 0 && time === 0) return undefined;
  const [year, month, day] = [1980 + (date >> 9), (date >> 5) & 15, date & 31];
  const [hour, minute, second] = [time >> 11, (time >> 5) & 63, (time & 31) * 2];
  const days = month === 2 ? (year % 4 === 0 && year !== 2100 ? 29 : 28) : [4, 6, 9, 11].includes(month) ? 30 : 31;
  if (month < 1 || month > 12 || day < 1 || day > days || hour > 23 || minute > 59 || second > 58)
    return `no date (${hex(date, 4)} ${hex(time, 4)})`;
  return `${year}-${two(month)}-${two(day)} ${two(hour)}:${two(minute)}:${two(second)}`;
}

/** The two words of `1988-04-12` or `1988-04-12 10:30:02`. Throws `InputError` for anything else. */
export function dateWords(written: string): { date: number; time: number } {
  const match = /^(\d{4})-(\d\d)-(\d\d)(?: (\d\d):(\d\d):(\d\d))?$/.exec(written);
  const [year, month, day, hour, minute, second] = match ? match.slice(1).map((part) => Number(part ?? 0)) : [];
  const date = match ? ((year! - 1980) << 9) | (month! << 5) | day! : 0;
  const time = match ? (hour! << 11) | (minute! << 5) | (second! >> 1) : 0;
  const back = year! >= 1980 && year! <= 2107 && match ? dateInWords(date, time) : undefined;
  if (!match || !back?.startsWith(written.slice(0, 10)) || second! > 59 || minute! > 59)
    throw new InputError("bad-date", `"${written}" is no date from 1980 to 2107 written as 1988-04-12 10:30:02.`);
  return { date, time };
}

/** Sum over the 11 bytes of the short name that every piece of its long name repeats. */
export function nameSum(bytes: Uint8Array, at: number): number {
  let sum = 0;
  for (let i = 0; i < 11; i++) sum = (((sum & 1) << 7) + (sum >> 1) + bytes[at + i]!) & 0xff;
  return sum;
}

const PIECE = [1, 3, 5, 7, 9, 14, 16, 18, 20, 22, 24, 28, 30];

/** The long name whose pieces are the entries at `pieces`, in the order stored (last first). */
export function longName(bytes: Uint8Array, pieces: readonly number[]): string {
  let out = "";
  for (let i = pieces.length - 1; i >= 0; i--)
    for (const offset of PIECE) {
      const unit = bytes[pieces[i]! + offset]! | (bytes[pieces[i]! + offset + 1]! << 8);
      if (unit === 0) return out;
      out += String.fromCharCode(unit);
    }
  return out;
}
