/**
 * Names of files on old volumes, as names that every host can hold, and back. Characters that some host reserves
 * become `%2F` (a code below 100 hex) or `%u202E`; any character may be written so, which is how names that would
 * clash are kept apart. At the end `%-` or `%-7-` stand for no character: so the empty name and names met often are
 * written. A name too long for one part goes on in a folder, `first%+/%+rest`.
 */
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";

/** Bytes of UTF-8 in one part: below the 255 that hosts allow. */
const PART_LIMIT = 240;
/** C0, DEL, C1, what hosts reserve, and characters that make a name read other than it is. */
const RESERVED = /[\u0000-\u001f"%*/:<>?\\|\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff0-\uffff]/;
/** Names that some hosts keep for devices, whatever follows the first dot. */
const DEVICE = /^(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9\u00b9\u00b2\u00b3])[ ]*($|\.)/i;

function escaped(character: string): string {
  let out = "";
  for (let index = 0; index < character.length; index++) {
    const code = character.charCodeAt(index);
    const digits = code.toString(16).toUpperCase();
    out += code < 0x100 ? `%${digits.padStart(2, "0")}` : `%u${digits.padStart(4, "0")}`;
  }
  return out;
}

const isLoneSurrogate = (character: string): boolean => /^[\ud800-\udfff]$/.test(character);
const utf8Length = (text: string): number => Buffer.byteLength(text, "utf8");

/**
 * A relative host path for one name of a volume: a single part unless the name is very long. Any string is taken.
 * Each `more` from 0 up gives another path: the first `more` characters are escaped whether they need it or not, and
 * beyond the name's length a mark for no character follows. `storedName` gives the name back from any of them.
 */
export function hostName(name: string, more = 0): string {
  const host = written(name, more, false);
  // Some hosts store composed and decomposed characters as the same name.
  return host.normalize("NFC") === host ? host : written(name, more, true);
}

function written(name: string, more: number, asciiOnly: boolean): string {
  const characters = [...name];
  const last = characters.length - 1;
  const parts: string[] = [];
  let part = "";
  for (const [index, character] of characters.entries()) {
    const edge =
      (index === 0 && (character === "." || DEVICE.test(name))) ||
      (index === last && (character === "." || character === " "));
    const must = edge || RESERVED.test(character) || isLoneSurrogate(character) || (asciiOnly && character > "\x7f");
    const token = must || index < more ? escaped(character) : character;
    if (utf8Length(part + token) > PART_LIMIT) {
      parts.push(part);
      part = "";
    }
    part += token;
  }
  const beyond = more - characters.length;
  const mark = beyond > 0 ? `%-${beyond}-` : name === "" ? "%-" : "";
  return [...parts, part + mark].join("%+/%+");
}

/** The name on the volume that `hostName` gave this host path for. Throws `InputError` for a path it never gives. */
export function storedName(path: string): string {
  // A host may give a name back decomposed.
  return path
    .normalize("NFC")
    .replace(/%\+\/%\+|%u([0-9A-F]{4})|%([0-9A-F]{2})|%-(?:\d+-)?$|[%/]/g, (found, wide, narrow) => {
      const digits: string | undefined = wide ?? narrow;
      if (digits !== undefined) return String.fromCharCode(Number.parseInt(digits, 16));
      if (found.length > 1) return "";
      throw new InputError("bad-host-name", `${visible(path)} is not the host name of a file of a volume.`);
    });
}

/** Equal for two host names that some host would take for one. */
export const clashKey = (host: string): string => host.toUpperCase().toLowerCase().normalize("NFC");
