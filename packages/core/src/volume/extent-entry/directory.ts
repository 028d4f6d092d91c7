import { hex } from "../../bytes/index.ts";
import { ENTRY, RECORD } from "./parameters.ts";

/**
 * Directory entries, 32 bytes each. Byte 0 is the user area or a mark, 1–8 the name, 9–11 the type, 12 EX, 13 S1,
 * 14 S2, 15 RC, 16–31 block numbers. Source: 8080/Z80 system manual, table 5-2; the marks from 10 hex on and S2 from
 * memory (the later format).
 */

export const FILL = 0xe5;
export const MOST_USER = 15;
/** Marks of the later format, from memory: 10–1F a file's password, 20 the volume's label, 21 the dates of three entries. */
const PASSWORD_FIRST = 0x10;
const LABEL = 0x20;
const DATES = 0x21;
const MOST_EX = 31;
const MOST_S2 = 63;

export type EntryClass = "never used" | "file" | "deleted" | "password" | "label" | "dates" | "unreadable";

/** Whether bytes 1–11 can be a name: printable when the attribute bits are off, and no space first. */
function plausibleName(image: Uint8Array, at: number): boolean {
  if ((image[at + 1]! & 0x7f) === 0x20) return false;
  for (let i = 1; i <= 11; i++) {
    const character = image[at + i]! & 0x7f;
    if (character < 0x20 || character === 0x7f) return false;
  }
  return true;
}

const plausibleNumbers = (image: Uint8Array, at: number): boolean =>
  image[at + 12]! <= MOST_EX && image[at + 14]! <= MOST_S2 && image[at + 15]! <= 128;

function allFill(image: Uint8Array, from: number, to: number): boolean {
  for (let i = from; i < to; i++) if (image[i] !== FILL) return false;
  return true;
}

/** Class of the 32 bytes at `at`, which must lie inside the image. `unreadable`: nothing that a directory holds. */
export function classify(image: Uint8Array, at: number): EntryClass {
  const mark = image[at]!;
  if (mark === FILL) {
    // A deleted entry keeps all but its first byte; a fresh one is fill throughout, or was never more than its mark.
    if (image[at + 1] === FILL && image[at + 11] === FILL) return "never used";
    return plausibleName(image, at) && plausibleNumbers(image, at) ? "deleted" : "unreadable";
  }
  if (mark <= MOST_USER) return plausibleName(image, at) && plausibleNumbers(image, at) ? "file" : "unreadable";
  // The marks of the later format are common bytes of text, so their zero bytes are asked for too.
  const later = mark >= PASSWORD_FIRST && mark <= LABEL && image[at + 14] === 0 && image[at + 15] === 0;
  if (later && plausibleName(image, at)) return mark === LABEL ? "label" : "password";
  return mark === DATES && plausibleDates(image, at) ? "dates" : "unreadable";
}

/** The fourth entry of its record; three times ten bytes, the last of each zero. */
const plausibleDates = (image: Uint8Array, at: number): boolean =>
  at % RECORD === 3 * ENTRY && image[at + 10] === 0 && image[at + 20] === 0 && image[at + 30] === 0;

/** Whether all of a stretch is the fill byte of a freshly formatted disk. */
export const isBlank = (image: Uint8Array, from: number, to: number): boolean =>
  image[from] === FILL && image[to - 1] === FILL && allFill(image, from, to);

/** Characters that a command line gives a meaning of its own, so that no file can be typed by such a name. From memory. */
const RESERVED = "<>.,;:=?*[]|";

/** Readable name of the 11 bytes with attribute bits off: `NAME.EXT`. Nothing in it can act on a terminal or a path. */
export function nameOf(bytes: Uint8Array): string {
  const part = (from: number, to: number): string => {
    let end = to;
    while (end > from && (bytes[end - 1]! & 0x7f) === 0x20) end--;
    let text = "";
    for (let i = from; i < end; i++) {
      const code = bytes[i]! & 0x7f;
      const character = String.fromCharCode(code);
      // A dot inside a part would read as the one between name and type.
      const unsafe = code < 0x20 || code === 0x7f || character === "/" || character === "\\" || character === ".";
      text += unsafe ? `%${hex(code, 2)}` : character;
    }
    return text;
  };
  const type = part(8, 11);
  return type === "" ? part(0, 8) || "%20" : `${part(0, 8) || "%20"}.${type}`;
}

/** Why no program could name this file; null where the name is in order. */
export function nameFault(bytes: Uint8Array): string | null {
  let ended = false;
  for (let i = 0; i < 11; i++) {
    const code = bytes[i]! & 0x7f;
    if (i === 8) ended = false;
    if (code === 0x20) {
      if (i === 0) return "it starts with a space";
      ended = true;
      continue;
    }
    if (ended) return "it has a space inside";
    if (code < 0x20 || code === 0x7f) return "it has a control character";
    if (code >= 0x61 && code <= 0x7a) return "it has small letters, which no command line passes on";
    if (RESERVED.includes(String.fromCharCode(code))) return `it has the character ${String.fromCharCode(code)}`;
  }
  return null;
}

const ATTRIBUTES: readonly (readonly [at: number, word: string])[] = [
  [8, "read-only"],
  [9, "system"],
  [10, "archive"],
  [0, "user 1"],
  [1, "user 2"],
  [2, "user 3"],
  [3, "user 4"],
];

/** Attributes of the 11 name bytes: bit 7 of the type's letters, then of the first four letters of the name. */
export const attributesOf = (bytes: Uint8Array): string[] =>
  ATTRIBUTES.filter(([at]) => bytes[at]! & 0x80).map(([, word]) => word);

const DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/**
 * A four-byte date of the later format: days since the end of 1977 (day 1 is 1978-01-01), then hour and minute in
 * binary-coded decimal. From memory. Null where none is set or the digits are none.
 */
function dateOf(image: Uint8Array, at: number): string | null {
  let day = image[at]! | (image[at + 1]! << 8);
  const hour = hex(image[at + 2]!, 2);
  const minute = hex(image[at + 3]!, 2);
  if (day === 0 || !(/^[0-9]+$/.test(hour + minute) && hour < "24" && minute < "60")) return null;
  let year = 1978;
  const leap = (of: number): boolean => of % 4 === 0 && (of % 100 !== 0 || of % 400 === 0);
  while (day > (leap(year) ? 366 : 365)) day -= leap(year++) ? 366 : 365;
  let month = 0;
  const length = (): number => DAYS[month]! + (month === 1 && leap(year) ? 1 : 0);
  while (day > length()) {
    day -= length();
    month++;
  }
  const two = (value: number): string => String(value).padStart(2, "0");
  return `${year}-${two(month + 1)}-${two(day)} ${hour}:${minute}`;
}

/**
 * Dates that the fourth entry of a directory record keeps for the three before it; `slot` counts entries of the record
 * from 0. From memory: ten bytes an entry, four of creation or last use, four of the last change.
 */
export function datesOf(image: Uint8Array, record: number, slot: number): [label: string, value: string][] {
  const at = record + 3 * ENTRY;
  if (slot > 2 || image[at] !== DATES) return [];
  const found: [string, string][] = [];
  const first = dateOf(image, at + 1 + slot * 10);
  const changed = dateOf(image, at + 5 + slot * 10);
  if (first) found.push(["Created or last used", first]);
  if (changed) found.push(["Changed", changed]);
  return found;
}
