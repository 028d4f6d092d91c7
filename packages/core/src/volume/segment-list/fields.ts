import { hex } from "../../bytes/index.ts";

/** Small fields of a segment-list volume: names, dates, attributes. */

/** Attribute letters from bit 7 to bit 0 (`6809 system programmer's manual, January 1983`, file descriptor). */
const ATTRIBUTES = ["D", "S", "PE", "PW", "PR", "E", "W", "R"] as const;
export const DIRECTORY_BIT = 0x80;

/** `D PE E W R`: the letters of the bits that are set; `none` for zero. */
export const attributesInLetters = (bits: number): string =>
  ATTRIBUTES.filter((_, index) => bits & (0x80 >> index)).join(" ") || "none";

/** Bits of letters in any order; undefined where a letter is none of the eight. */
export function attributeBits(letters: string): number | undefined {
  let bits = 0;
  for (const letter of letters.split(/\s+/).filter((each) => each !== "" && each !== "none")) {
    const index = (ATTRIBUTES as readonly string[]).indexOf(letter.toUpperCase());
    if (index < 0) return undefined;
    bits |= 0x80 >> index;
  }
  return bits;
}

const two = (value: number): string => String(value).padStart(2, "0");

const day = (bytes: Uint8Array, at: number): string | undefined => {
  const [year, month, date] = [bytes[at] ?? 0, bytes[at + 1] ?? 0, bytes[at + 2] ?? 0];
  if (month < 1 || month > 12 || date < 1 || date > 31) return undefined;
  return `${1900 + year}-${two(month)}-${two(date)}`;
};

const notADate = (bytes: Uint8Array, at: number, length: number): string => {
  const field = bytes.subarray(at, at + length);
  if (field.every((byte) => byte === 0)) return "none";
  return `not a date (hex ${Array.from(field, (byte) => hex(byte, 2)).join(" ")})`;
};

/** Year since 1900 (from memory), month, day: `1983-01-15`. */
export const dateOnly = (bytes: Uint8Array, at: number): string => day(bytes, at) ?? notADate(bytes, at, 3);

/** The same with hour and minute: `1983-01-15 12:30`. */
export function dateAndMinute(bytes: Uint8Array, at: number): string {
  const found = day(bytes, at);
  const [hour, minute] = [bytes[at + 3] ?? 0, bytes[at + 4] ?? 0];
  return found && hour < 24 && minute < 60 ? `${found} ${two(hour)}:${two(minute)}` : notADate(bytes, at, 5);
}

/** Bytes of `1983-01-15` or `1983-01-15 12:30`, five of them; undefined where the text is no such date. */
export function dateBytes(text: string): number[] | undefined {
  const parts = /^(\d{4})-(\d\d)-(\d\d)(?:[ T](\d\d):(\d\d))?$/
    .exec(text)
    ?.slice(1)
    .map((part) => Number(part ?? 0));
  if (!parts) return undefined;
  const [year, month, date, hour, minute] = parts as [number, number, number, number, number];
  const good = year >= 1900 && year <= 2155 && month >= 1 && month <= 12 && date >= 1 && date <= 31;
  return good && hour < 24 && minute < 60 ? [year - 1900, month, date, hour, minute] : undefined;
}

/** What a stored character looks like in a path: printable, and never a separator. */
const shown = (code: number): string =>
  code <= 0x20 || code >= 0x7f || code === 0x2f || code === 0x5c ? `%${hex(code, 2)}` : String.fromCharCode(code);

/**
 * A field whose last character has bit 7 set. `bytes` are those stored; `ended` is false where no such character
 * was met. A name that a host would take for a place (`.`, `..`) is shown as `%2E`, `%2E%2E`.
 */
export function highEndedText(
  bytes: Uint8Array,
  from: number,
  most: number,
): { text: string; bytes: Uint8Array; ended: boolean } {
  let text = "";
  const end = Math.min(from + most, bytes.length);
  for (let at = from; at < end; at++) {
    const byte = bytes[at]!;
    if (byte === 0) return { text: named(text), bytes: bytes.subarray(from, at), ended: false };
    text += byte === 0x20 ? " " : shown(byte & 0x7f);
    if (byte & 0x80) return { text: named(text), bytes: bytes.subarray(from, at + 1), ended: true };
  }
  return { text: named(text), bytes: bytes.subarray(from, end), ended: false };
}

const named = (text: string): string => {
  if (text === "." || text === "..") return text.replaceAll(".", "%2E");
  return text.replace(/^ +| +$/g, (run) => "%20".repeat(run.length));
};
