import { InputError } from "../errors/index.ts";
import { hex } from "./text.ts";

/**
 * Text in the character codes of the period: 7-bit ISO 646 with its national variants, and the code of chained-block
 * volumes in which the letters' cases are exchanged. A byte with no readable character is shown as `\x1B`; so that
 * text which really holds `\x1B` stays apart, its backslash is then shown as `\x5C`.
 */

export type CodeName = "plain" | "GB" | "DE" | "FR" | "SE" | "DK/NO" | "case-exchanged";

/** What ends a line in the text that is given; `keep` leaves carriage returns and line feeds as they are. */
export type LineEnd = "cr" | "lf" | "crlf" | "keep";

interface Code {
  name: CodeName;
  /** For a person who chooses from a list. */
  title: string;
  source: string;
}

/** Positions of ISO 646 that a national variant gives to another character; the rest are those of the plain code. */
const VARIANTS: Readonly<
  Record<Exclude<CodeName, "plain" | "case-exchanged">, readonly [positions: string, signs: string]>
> = {
  GB: ["#~", "£‾"],
  DE: ["@[\\]{|}~", "§ÄÖÜäöüß"],
  FR: ["#@[\\]`{|}~", "£à°ç§µéùè¨"],
  SE: ["$[\\]{|}~", "¤ÄÖÅäöå‾"],
  "DK/NO": ["[\\]{|}", "ÆØÅæøå"],
};

export const CODES: readonly Code[] = [
  { name: "plain", title: "plain 7-bit (ISO 646, reference version)", source: "ISO 646 (1991 reference version)" },
  { name: "GB", title: "ISO 646, British", source: "BS 4730" },
  { name: "DE", title: "ISO 646, German", source: "DIN 66003" },
  { name: "FR", title: "ISO 646, French", source: "NF Z 62-010 (1982)" },
  { name: "SE", title: "ISO 646, Swedish", source: "SEN 85 02 00 annex B" },
  { name: "DK/NO", title: "ISO 646, Danish and Norwegian", source: "DS 2089, NS 4551-1" },
  { name: "case-exchanged", title: "case-exchanged code of chained-block volumes", source: "from memory" },
];

/** For each byte its character, or "" where it has none. */
const tableOf = (name: CodeName): readonly string[] => {
  const table = Array.from({ length: 256 }, (_, byte) =>
    byte >= 0x20 && byte <= 0x7e ? String.fromCharCode(byte) : "",
  );
  if (name === "case-exchanged") {
    for (let letter = 0; letter < 26; letter++) {
      table[0x41 + letter] = String.fromCharCode(0x61 + letter);
      // Capitals have two places; the upper one is what a keyboard of the period sent.
      table[0x61 + letter] = table[0xc1 + letter] = String.fromCharCode(0x41 + letter);
    }
    table[0x5c] = "£";
    table[0x5e] = "↑";
    table[0x5f] = "←";
    for (const byte of [0x60, 0x7b, 0x7c, 0x7d, 0x7e]) table[byte] = "";
    table[0xa0] = "\u00a0";
  } else if (name !== "plain") {
    const [positions, signs] = VARIANTS[name];
    for (let i = 0; i < positions.length; i++) table[positions.charCodeAt(i)] = signs[i]!;
  }
  return table;
};

const tables = new Map<CodeName, readonly string[]>();
const table = (name: CodeName): readonly string[] => {
  let found = tables.get(name);
  if (!found) {
    found = tableOf(name);
    tables.set(name, found);
  }
  return found;
};

/** The character that a byte stands for in a code, or "" where it has none (control characters, graphics). */
export const characterOf = (byte: number, code: CodeName): string => table(code)[byte] ?? "";

const backward = new Map<CodeName, ReadonlyMap<string, number>>();

/** The byte of a character in a code, or -1. Where two bytes share a character it is the higher one. */
export function byteOf(character: string, code: CodeName): number {
  let found = backward.get(code);
  if (!found) {
    found = new Map(table(code).map((each, byte) => [each, byte]));
    backward.set(code, found);
  }
  return character === "" ? -1 : (found.get(character) ?? -1);
}

const LINE_END = { cr: "\r", lf: "\n", crlf: "\r\n" } as const;
const CR = 0x0d;
const LF = 0x0a;
const TAB = 0x09;
const isHex = (byte: number | undefined): boolean =>
  byte !== undefined && ((byte >= 0x30 && byte <= 0x39) || (byte >= 0x41 && byte <= 0x46));

/**
 * Bytes of a period text as readable text. CR LF, CR and LF each end a line and become `eol` (`lf` unless told); tabs
 * stay; everything else without a character is shown as `\x1B`. With `keep`, `encodeText` gives the same bytes back,
 * except that the lower place of the case-exchanged capitals (61–7A) comes back as the upper one.
 */
export function decodeText(bytes: Uint8Array, code: CodeName, options: { eol?: LineEnd } = {}): string {
  const characters = table(code);
  const eol = options.eol ?? "lf";
  const parts: string[] = [];
  for (let i = 0; i < bytes.length; i++) {
    const byte = bytes[i]!;
    if (byte === CR || byte === LF) {
      if (eol === "keep") parts.push(byte === CR ? "\r" : "\n");
      else {
        parts.push(LINE_END[eol]);
        if (byte === CR && bytes[i + 1] === LF) i++;
      }
    } else if (byte === TAB) parts.push("\t");
    else {
      const character = characters[byte]!;
      const mistakable = character === "\\" && bytes[i + 1] === 0x78 && isHex(bytes[i + 2]) && isHex(bytes[i + 3]);
      parts.push(character === "" || mistakable ? `\\x${hex(byte, 2)}` : character);
    }
  }
  return parts.join("");
}

/** The way back from `decodeText`. Throws an `InputError` at a character that the code does not have. */
export function encodeText(text: string, code: CodeName): Uint8Array {
  const out: number[] = [];
  for (let i = 0; i < text.length; i++) {
    const written = /^\\x([0-9A-F]{2})/.exec(text.slice(i, i + 4));
    const character = text[i]!;
    if (written) {
      out.push(Number.parseInt(written[1]!, 16));
      i += 3;
    } else if (character === "\r" || character === "\n" || character === "\t") out.push(character.charCodeAt(0));
    else {
      const byte = byteOf(character, code);
      if (byte < 0)
        throw new InputError(
          "no-character",
          `The ${code} code has no character “${character}” (place ${i + 1} of the text).`,
        );
      out.push(byte);
    }
  }
  return Uint8Array.from(out);
}
