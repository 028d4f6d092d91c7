import { byteOf, characterOf, hex } from "../../bytes/index.ts";
import { InputError } from "../../errors/index.ts";

/** Names of chained-block volumes: up to 16 bytes of case-exchanged code, padded with A0 (UG41). */

export const NAME_LENGTH = 16;
export const PAD = 0xa0;

/** A byte that a path cannot hold as it is: no character, a slash, a backslash, or the padding inside a name. */
const escaped = (byte: number): boolean => {
  const character = characterOf(byte, "case-exchanged");
  return character === "" || character === "/" || byte === PAD;
};

/** A byte shown as a digit or a capital A–F, which after `%` would read as one of our own escapes. */
const hexSign = (byte: number | undefined): boolean =>
  byte !== undefined && /^[0-9A-F]$/.test(characterOf(byte, "case-exchanged"));

/** The name without its padding; a view. */
export function trimmed(field: Uint8Array): Uint8Array {
  let end = field.length;
  while (end > 0 && field[end - 1] === PAD) end--;
  return field.subarray(0, end);
}

/** Readable form of a name's bytes; those that a path cannot hold are shown as `%2F`. Never empty, `.` or `..`. */
export function shownName(bytes: Uint8Array): string {
  let out = "";
  for (let i = 0; i < bytes.length; i++) {
    const byte = bytes[i]!;
    const mistakable = byte === 0x25 && hexSign(bytes[i + 1]) && hexSign(bytes[i + 2]);
    out += escaped(byte) || mistakable ? `%${hex(byte, 2)}` : characterOf(byte, "case-exchanged");
  }
  if (out === "") return "(no name)";
  return out === "." || out === ".." ? out.replaceAll(".", "%2E") : out;
}

/**
 * Bytes of a readable name: the way back from `shownName`. Throws an `InputError` where it is empty, longer than 16
 * bytes, or holds a character that the code lacks.
 */
export function storedName(name: string): Uint8Array {
  const out: number[] = [];
  for (let i = 0; i < name.length; i++) {
    const written = /^%([0-9A-F]{2})/.exec(name.slice(i, i + 3));
    const value = written ? Number.parseInt(written[1]!, 16) : -1;
    if (written && (escaped(value) || value === 0x2e || value === 0x25)) {
      out.push(value);
      i += 2;
      continue;
    }
    const byte = name[i] === "/" ? -1 : byteOf(name[i]!, "case-exchanged");
    if (byte < 0)
      throw new InputError("bad-name", `“${name}” cannot be a name on this volume: it has no character “${name[i]}”.`);
    out.push(byte);
  }
  if (out.length === 0 || out.length > NAME_LENGTH || out[out.length - 1] === PAD)
    throw new InputError(
      "bad-name",
      `“${name}” cannot be a name on this volume: a name has 1 to ${NAME_LENGTH} bytes and does not end in A0.`,
    );
  return Uint8Array.from(out);
}
