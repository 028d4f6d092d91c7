import { crc24Register, hex, MODULE_CRC_RESIDUE, plainText, u16be, u24be } from "../bytes/index.ts";
import { BugError, FormatError } from "../errors/index.ts";

/**
 * Program modules of segment-list systems, alone in a file, packed together in a boot file, or in a raw ROM image.
 * Layout: the 6809 system programmer's manual, January 1983. All numbers big-endian.
 *
 *     00  87 CD          sync
 *     02  size           2 bytes, CRC included
 *     04  name offset    2 bytes; bit 7 is set on the last character of the name
 *     06  type, language one nibble each
 *     07  attributes, revision  one nibble each; bit 7 = re-entrant
 *     08  header parity  the XOR of bytes 0 to 8 is FF
 *     09  entry offset   2 bytes, executable modules only
 *     0B  storage size   2 bytes, executable modules only
 *     …   body
 *     −3  CRC            24 bits, over all before it
 */

export const MODULE_TYPE = {
  program: 0x1,
  subroutine: 0x2,
  multi: 0x3,
  data: 0x4,
  system: 0xc,
  fileManager: 0xd,
  driver: 0xe,
  descriptor: 0xf,
} as const;

/** Names of the type nibble. Types 5 to B are the user's own (from memory). */
const TYPE_NAMES: Readonly<Record<number, string>> = {
  0: "illegal",
  1: "program",
  2: "subroutine",
  3: "multi-module",
  4: "data",
  12: "system",
  13: "file manager",
  14: "device driver",
  15: "device descriptor",
};

/** Names of the language nibble, from memory. */
const LANGUAGE_NAMES = ["data", "6809 machine code", ...Array<string>(5).fill("intermediate code")] as const;
export const MACHINE_CODE = 1;

export type ModuleFaultCode =
  | "sync"
  | "header-parity"
  | "size"
  | "cut-short"
  | "crc"
  | "type"
  | "name"
  | "entry"
  | "unchecked";

export interface ModuleFault {
  code: ModuleFaultCode;
  sentence: string;
}

/** A module as found. Absent fields were not there or could not be read. */
export interface FoundModule {
  /** Of the sync bytes, in bytes from the start of the file or image. */
  offset: number;
  /** As the header states it, CRC included. */
  size: number;
  /** Safe to show; `?` where no name could be read. */
  name: string;
  type: number;
  typeName: string;
  language: number;
  languageName: string;
  attributes: number;
  reentrant: boolean;
  revision: number;
  /** The byte after the name, where the entry does not follow at once (common practice, from memory). */
  edition?: number;
  /** Offset in the module at which it starts. */
  entry?: number;
  /** Bytes of data memory it asks for. */
  storage?: number;
  /** Six hex digits: as stored, and as computed over the bytes before it. */
  crcStored?: string;
  crcComputed?: string;
  /** Empty for a whole module. */
  faults: readonly ModuleFault[];
}

/** Sync to parity. */
const HEADER = 9;
/** Header and CRC: nothing smaller is a module. */
const SMALLEST = HEADER + 3;
const LONGEST_NAME = 63;

/** Whether modules of this kind carry an entry and a storage size. */
export const isExecutable = (type: number, language: number): boolean =>
  type !== MODULE_TYPE.data && type !== MODULE_TYPE.descriptor && language !== 0;

const isNameByte = (byte: number): boolean =>
  (byte >= 0x41 && byte <= 0x5a) ||
  (byte >= 0x61 && byte <= 0x7a) ||
  (byte >= 0x30 && byte <= 0x39) ||
  byte === 0x5f ||
  byte === 0x2e ||
  byte === 0x24 ||
  byte === 0x2f;

/**
 * Reads text that ends with bit 7 on its last character, from `at` and not past `end`. Null where it does not end or
 * holds anything but letters, digits, `_`, `.`, `$` and `/`.
 */
export function readHighBitName(bytes: Uint8Array, at: number, end: number): string | null {
  let name = "";
  for (let i = at; i < Math.min(end, bytes.length, at + LONGEST_NAME); i++) {
    const byte = bytes[i]!;
    if (!isNameByte(byte & 0x7f)) return null;
    name += String.fromCharCode(byte & 0x7f);
    if (byte & 0x80) return name;
  }
  return null;
}

/** Text of a damaged name: up to the high bit, or 32 bytes. */
function looseName(bytes: Uint8Array, at: number, end: number): string {
  const raw: number[] = [];
  for (let i = at; i < Math.min(end, bytes.length, at + 32); i++) {
    raw.push(bytes[i]! & 0x7f);
    if (bytes[i]! & 0x80) break;
  }
  return raw.length === 0 ? "?" : plainText(Uint8Array.from(raw));
}

const headerParity = (bytes: Uint8Array, at: number): number => {
  let parity = 0;
  for (let i = at; i < at + HEADER; i++) parity ^= bytes[i]!;
  return parity;
};

const hasSync = (bytes: Uint8Array, at: number): boolean => bytes[at] === 0x87 && bytes[at + 1] === 0xcd;

/**
 * Reads the module at `at`, whatever its state; what is wrong is in `faults`. Throws a `FormatError` only where
 * fewer than 12 bytes are left. `checkCrc` false leaves the CRC unchecked and says so.
 */
export function readModule(bytes: Uint8Array, at: number, checkCrc = true): FoundModule {
  if (!(at >= 0) || at + SMALLEST > bytes.length)
    throw new FormatError(
      "short-module",
      `A module takes at least ${SMALLEST} bytes, and the file ends before that`,
      at,
    );
  const faults: ModuleFault[] = [];
  const fault = (code: ModuleFaultCode, sentence: string): void => {
    faults.push({ code, sentence });
  };
  if (!hasSync(bytes, at))
    fault("sync", `The sync bytes are ${hex(bytes[at]!, 2)} ${hex(bytes[at + 1]!, 2)}, where 87 CD belongs.`);
  const parity = headerParity(bytes, at);
  if (parity !== 0xff) fault("header-parity", `Bytes 0 to 8 give the parity ${hex(parity, 2)}, where FF belongs.`);

  const size = u16be(bytes, at + 2);
  const type = bytes[at + 6]! >> 4;
  const language = bytes[at + 6]! & 15;
  const attributes = bytes[at + 7]! >> 4;
  let end = at + size;
  if (size < SMALLEST) {
    fault("size", `The header states a size of ${size} bytes, less than a header and a CRC take.`);
    end = at + SMALLEST;
  } else if (end > bytes.length) {
    fault("cut-short", `The header states ${size} bytes, and the file ends after ${bytes.length - at}.`);
    end = bytes.length;
  }
  if (type === 0) fault("type", "Type 0 is illegal.");

  const nameOffset = u16be(bytes, at + 4);
  const nameInside = nameOffset >= HEADER && at + nameOffset < end;
  const goodName = nameInside ? readHighBitName(bytes, at + nameOffset, end) : null;
  if (goodName === null)
    fault(
      "name",
      nameInside
        ? `The name at offset $${hex(nameOffset, 4)} is not text that ends with bit 7 set.`
        : `The name's offset $${hex(nameOffset, 4)} lies outside the module.`,
    );
  const name = goodName ?? (nameInside ? looseName(bytes, at + nameOffset, end) : "?");

  const found: FoundModule = {
    offset: at,
    size,
    name,
    type,
    typeName: TYPE_NAMES[type] ?? "user-defined",
    language,
    languageName: LANGUAGE_NAMES[language] ?? "unknown",
    attributes,
    reentrant: (attributes & 8) !== 0,
    revision: bytes[at + 7]! & 15,
    faults,
  };
  if (isExecutable(type, language) && at + 13 <= end) {
    found.entry = u16be(bytes, at + 9);
    found.storage = u16be(bytes, at + 11);
    if (found.entry < 13 || found.entry >= size - 3)
      fault("entry", `The entry $${hex(found.entry, 4)} lies outside the module's body.`);
    const afterName = nameOffset + name.length;
    if (goodName !== null && at + afterName < end - 3 && afterName < found.entry)
      found.edition = bytes[at + afterName]!;
  }
  if (size < SMALLEST || at + size > bytes.length) return found;
  found.crcStored = hex(u24be(bytes, end - 3), 6);
  if (!checkCrc) fault("unchecked", "The CRC was not computed: too many damaged headers overlap here.");
  else if (crc24Register(bytes, at, end) !== MODULE_CRC_RESIDUE) {
    found.crcComputed = hex(crc24Register(bytes, at, end - 3) ^ 0xffffff, 6);
    fault("crc", `The CRC stored is ${found.crcStored}, and the bytes give ${found.crcComputed}.`);
  } else found.crcComputed = found.crcStored;
  return found;
}

/** Work that damaged headers may cause, in bytes a byte of input: keeps hostile images from costing time. */
const CRC_BUDGET = 8;
/** Most damaged modules listed of one file; beyond that only whole ones are. */
const MOST_DAMAGED = 512;

/**
 * All modules in a file or image, in order. Where the header parity holds the CRC is computed. A module whose sync,
 * parity or CRC is wrong is listed too where its place or its name speaks for it: at the start, right after another
 * module, or right before one. Two sync bytes by chance in other data are passed over.
 */
export function findModules(bytes: Uint8Array): FoundModule[] {
  const found: FoundModule[] = [];
  let budget = bytes.length * CRC_BUDGET + 0x10000;
  let damaged = 0;
  let expected = 0;
  let at = 0;
  while (at >= 0 && at + SMALLEST <= bytes.length) {
    const next = nextSync(bytes, at);
    // Modules lie end to end: one that has lost its sync bytes is looked for where the one before it ends.
    if (expected >= at && expected < next && lostItsSync(bytes, expected, next)) {
      found.push(readModule(bytes, expected));
      at = expected = next;
      continue;
    }
    if (next >= bytes.length || next + SMALLEST > bytes.length) break;
    const module = considered(bytes, next, next === expected, budget);
    if (!module) {
      at = next + 2;
      continue;
    }
    budget -= module.size;
    if (module.faults.length > 0) damaged++;
    if (module.faults.length === 0 || damaged <= MOST_DAMAGED) found.push(module);
    const end = next + module.size;
    const crcHolds = module.crcComputed !== undefined && module.crcComputed === module.crcStored;
    // A damaged module's size is believed only where something follows it there.
    const trusted = crcHolds || end === bytes.length || hasSync(bytes, end);
    at = trusted && module.size >= SMALLEST ? end : next + HEADER;
    expected = trusted ? at : -1;
  }
  return found;
}

function nextSync(bytes: Uint8Array, from: number): number {
  for (let at = bytes.indexOf(0x87, from); at >= 0; at = bytes.indexOf(0x87, at + 1))
    if (bytes[at + 1] === 0xcd) return at;
  return bytes.length;
}

const nameHolds = (bytes: Uint8Array, at: number, end: number): boolean => {
  const offset = u16be(bytes, at + 4);
  return offset >= HEADER && readHighBitName(bytes, at + offset, end) !== null;
};

/** A header without sync whose size ends exactly at the next module or at the end, with a name inside. */
function lostItsSync(bytes: Uint8Array, at: number, next: number): boolean {
  if (at + SMALLEST > bytes.length) return false;
  const size = u16be(bytes, at + 2);
  const end = at + size;
  return size >= SMALLEST && end === next && bytes[at + 6]! >> 4 !== 0 && nameHolds(bytes, at, end);
}

/** The module at a place with sync bytes, or null where nothing else speaks for one. */
function considered(bytes: Uint8Array, at: number, expected: boolean, budget: number): FoundModule | null {
  const size = u16be(bytes, at + 2);
  const end = at + size;
  const parityHolds = headerParity(bytes, at) === 0xff;
  const endsWell = size >= SMALLEST && (end === bytes.length || hasSync(bytes, end));
  const named = nameHolds(bytes, at, Math.min(bytes.length, Math.max(end, at + SMALLEST)));
  if (parityHolds) {
    const module = readModule(bytes, at, budget >= size);
    const sound = module.crcComputed !== undefined && module.crcComputed === module.crcStored;
    return sound || named || endsWell || expected ? module : null;
  }
  const typed = TYPE_NAMES[bytes[at + 6]! >> 4] !== undefined && bytes[at + 6]! >> 4 !== 0;
  // One damaged byte leaves most of the header right; two of three signs are asked for.
  return [typed && named, endsWell, expected].filter(Boolean).length >= 2
    ? readModule(bytes, at, budget >= size)
    : null;
}

/** What `buildModule` needs. `entry` counts from the start of `body`. */
export interface ModulePlan {
  name: string;
  type: number;
  /** Left out: 6809 machine code, and `data` for data modules. */
  language?: number;
  /** Nibble; left out: re-entrant. */
  attributes?: number;
  revision?: number;
  edition?: number;
  entry?: number;
  storage?: number;
  /** Header fields after the parity byte, or after the storage size in an executable module. */
  fields?: Uint8Array;
  body: Uint8Array;
}

/** Bytes of a text with bit 7 set on its last character. */
export const highBitName = (name: string): Uint8Array => {
  if (!/^[A-Za-z0-9_.$/]{1,63}$/.test(name))
    throw new BugError(`“${name}” cannot be a module's name: letters, digits, _, ., $ and / only.`);
  return Uint8Array.from(name, (character, i) => character.charCodeAt(0) | (i === name.length - 1 ? 0x80 : 0));
};

/** Offset at which `buildModule` puts the body: needed where header fields point into it. */
export function bodyOffset(plan: Omit<ModulePlan, "body">): number {
  const language = plan.language ?? (plan.type === MODULE_TYPE.data ? 0 : MACHINE_CODE);
  const fixed = HEADER + (isExecutable(plan.type, language) ? 4 : 0) + (plan.fields?.length ?? 0);
  return fixed + plan.name.length + (plan.edition === undefined ? 0 : 1);
}

/** Builds a module with its header parity and CRC: header, fields, name, edition, body, CRC. */
export function buildModule(plan: ModulePlan): Uint8Array {
  const { name, type, attributes = 8, revision = 1, entry = 0, storage = 0, edition, body } = plan;
  const language = plan.language ?? (type === MODULE_TYPE.data ? 0 : MACHINE_CODE);
  const fields = plan.fields ?? new Uint8Array(0);
  const start = bodyOffset(plan);
  const size = start + body.length + 3;
  if (size > 0xffff) throw new BugError(`Module ${name} would take ${size} bytes; the header holds at most 65,535.`);
  const executable = isExecutable(type, language);
  const nameAt = HEADER + (executable ? 4 : 0) + fields.length;
  const module = new Uint8Array(size);
  const put16 = (at: number, value: number): void => {
    module[at] = value >> 8;
    module[at + 1] = value;
  };
  put16(0, 0x87cd);
  put16(2, size);
  put16(4, nameAt);
  module[6] = (type << 4) | language;
  module[7] = (attributes << 4) | revision;
  module[8] = headerParity(module, 0) ^ 0xff;
  if (executable) {
    put16(9, start + entry);
    put16(11, storage);
  }
  module.set(fields, executable ? 13 : HEADER);
  module.set(highBitName(name), nameAt);
  if (edition !== undefined) module[start - 1] = edition;
  module.set(body, start);
  const crc = crc24Register(module, 0, size - 3) ^ 0xffffff;
  module[size - 3] = crc >> 16;
  put16(size - 2, crc & 0xffff);
  return module;
}
