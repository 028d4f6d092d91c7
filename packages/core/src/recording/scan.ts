import { crc16 } from "../bytes/index.ts";
import type { RecordingCode } from "../catalogue/index.ts";
import { type Cells, cellAt, word16 } from "./cells.ts";
import {
  dataOf,
  FM_PRESET,
  FM_WORDS,
  fmMark,
  isDataMark,
  MARK,
  MFM_PRESET,
  MFM_SYNC,
  MFM_WORDS,
  sizeOfCode,
} from "./codes.ts";
import { GROUP_MARK, SYNC_ONES, xorOf, ZONED_BYTES } from "./group.ts";

/** What an ID field or header says of its sector. */
export interface SectorId {
  track: number;
  /** 0 in group code, which doesn't say. */
  head: number;
  sector: number;
  size: number;
}

interface Found {
  /** Cell in which the mark begins (the first A1 in MFM), and the one after the check. */
  at: number;
  end: number;
  /** Cell in which the first byte after the mark begins. */
  contentAt: number;
  /** Does the CRC or checksum agree? */
  good: boolean;
  /** Bytes whose cells break the rule of the code: clocks in FM and MFM, code words in group code. */
  violations: number;
}

export interface FoundId extends Found {
  kind: "ID";
  id: SectorId;
}

export interface FoundData extends Found {
  kind: "data";
  /** Data bytes as read. */
  data: Uint8Array;
  /** Mark byte: FB, or F8 where the sector was marked as deleted. */
  mark: number;
}

export type FoundField = FoundId | FoundData;

/** Which words of 16 cells are a mark that a search stops at. */
const MFM_STOPS = new Uint8Array(65536);
MFM_STOPS[MFM_SYNC.word] = 1;
const FM_STOPS = new Uint8Array(65536);
for (const mark of [MARK.id, 0xf8, 0xf9, 0xfa, 0xfb]) FM_STOPS[fmMark(mark)] = 1;

/** First cell from `from` on at which a stop word begins whole, or -1. */
function findWord(bits: Uint8Array, from: number, length: number, stops: Uint8Array): number {
  const last = length - 16;
  let i = from >> 3;
  let window = ((bits[i] ?? 0) << 8) | (bits[i + 1] ?? 0);
  for (; i << 3 <= last; i++) {
    window = ((window << 8) | (bits[i + 2] ?? 0)) & 0xffffff;
    if (
      stops[window >> 8]! |
      stops[(window >> 7) & 0xffff]! |
      stops[(window >> 6) & 0xffff]! |
      stops[(window >> 5) & 0xffff]! |
      stops[(window >> 4) & 0xffff]! |
      stops[(window >> 3) & 0xffff]! |
      stops[(window >> 2) & 0xffff]! |
      stops[(window >> 1) & 0xffff]!
    )
      for (let shift = 0; shift < 8; shift++) {
        const at = (i << 3) + shift;
        if (at >= from && at <= last && stops[(window >> (8 - shift)) & 0xffff]) return at;
      }
  }
  return -1;
}

/** Reads bytes of FM or MFM from a cell on; says how many break the code's rule. */
function readBytes(bits: Uint8Array, at: number, into: Uint8Array, mfm: boolean, before: number): number {
  const shift = 8 - (at & 7);
  let i = at >> 3;
  let last = before;
  let violations = 0;
  for (let k = 0; k < into.length; k++, i += 2) {
    const word = (((bits[i]! << 16) | (bits[i + 1]! << 8) | bits[i + 2]!) >> shift) & 0xffff;
    const byte = dataOf(word);
    into[k] = byte;
    if ((mfm ? MFM_WORDS[(last << 8) | byte] : FM_WORDS[byte]) !== word) violations++;
    last = byte & 1;
  }
  return violations;
}

/**
 * A field with a wrong check is searched for marks of its own, since its mark may be a false one. Only so many bytes are read
 * over and over like that: more than any real track has, and in proportion to its length.
 */
const patienceFor = (cells: number): number => cells / 2;

function scanBytes({ bits, length }: Cells, mfm: boolean, wanted: number | undefined): FoundField[] {
  const fields: FoundField[] = [];
  const stops = mfm ? MFM_STOPS : FM_STOPS;
  const preset = mfm ? MFM_PRESET : FM_PRESET;
  /** Size that the last good ID gave. */
  let size = wanted;
  let next = 0;
  let patience = patienceFor(length);
  for (;;) {
    const at = findWord(bits, next, length, stops);
    if (at < 0) return fields;
    let start = at;
    if (mfm) while (start + 32 <= length && word16(bits, start) === MFM_SYNC.word) start += 16;
    const mark = dataOf(word16(bits, start));
    const content = start + 16;
    next = content;
    const isId = mark === MARK.id;
    const count = isId ? 6 : isDataMark(mark) && size !== undefined ? size + 2 : 0;
    const end = content + 16 * count;
    if (count === 0 || end > length) continue;
    const read = new Uint8Array(count);
    const violations = readBytes(bits, content, read, mfm, mark & 1);
    const good = crc16(read, crc16(Uint8Array.of(mark), preset)) === 0;
    if (isId) {
      const id = { track: read[0]!, head: read[1]!, sector: read[2]!, size: sizeOfCode(read[3]!) };
      fields.push({ kind: "ID", at, end, contentAt: content, good, violations, id });
      if (good) size = id.size;
    } else
      fields.push({
        kind: "data",
        at,
        end,
        good,
        violations,
        data: read.subarray(0, count - 2),
        contentAt: content,
        mark,
      });
    if (!good) patience -= count;
    if (good || patience < 0) next = end;
  }
}

/** Reads bytes of group code from a cell on; a half that is no code word makes the byte 0. */
function readGroups(bits: Uint8Array, at: number, into: Uint8Array): number {
  let violations = 0;
  for (let k = 0, cell = at; k < into.length; k++, cell += 10) {
    const i = cell >> 3;
    // Past the end undefined counts as 0 in these operations.
    const three = (bits[i]! << 16) | (bits[i + 1]! << 8) | bits[i + 2]!;
    const byte = ZONED_BYTES[(three >> (14 - (cell & 7))) & 0x3ff]!;
    if (byte < 0) violations++;
    into[k] = Math.max(byte, 0);
  }
  return violations;
}

const GROUP_SECTOR = 256;

/** The cell after the next sync run from `from` on, or -1. Runs of 15 ones and more are always found, from 10 on mostly. */
function afterSync(cells: Cells, from: number): number {
  const { bits, length } = cells;
  for (let i = bits.indexOf(0xff, (from + 7) >> 3); i >= 0; i = bits.indexOf(0xff, i + 1)) {
    let first = i << 3;
    let after = first + 8;
    while (first > from && cellAt(cells, first - 1)) first--;
    while (after < length && cellAt(cells, after)) after++;
    if (after >= length) return -1;
    if (after - first >= SYNC_ONES) return after;
    i = after >> 3;
  }
  return -1;
}

function scanGroups(cells: Cells): FoundField[] {
  const { bits, length } = cells;
  const fields: FoundField[] = [];
  let next = 0;
  const first = new Uint8Array(1);
  let patience = patienceFor(length);
  for (;;) {
    const at = afterSync(cells, next);
    if (at < 0) return fields;
    next = at;
    if (at + 10 > length || readGroups(bits, at, first) > 0) continue;
    const mark = first[0]!;
    const isHeader = mark === GROUP_MARK.header;
    const count = isHeader ? 7 : mark === GROUP_MARK.data ? GROUP_SECTOR + 1 : 0;
    const end = at + 10 * (count + 1);
    if (count === 0 || end > length) continue;
    const read = new Uint8Array(count);
    const violations = readGroups(bits, at + 10, read);
    // The padding after the four bytes of a header belongs to no checksum, and may be anything.
    const good = isHeader
      ? xorOf(read, 0, 5) === 0 && readGroups(bits, at + 10, read.subarray(0, 5)) === 0
      : xorOf(read) === 0 && violations === 0;
    const found = { at, end, contentAt: at + 10, good, violations };
    if (isHeader) {
      const id = { track: read[2]!, head: 0, sector: read[1]!, size: GROUP_SECTOR };
      fields.push({ kind: "ID", ...found, id });
    } else fields.push({ kind: "data", ...found, data: read.subarray(0, GROUP_SECTOR), mark });
    if (!good) patience -= count;
    if (good || patience < 0) next = end;
  }
}

/** Reads the bytes of a field from a cell on; says how many break the rule of the code. */
const readContent = (cells: Cells, at: number, into: Uint8Array, code: RecordingCode, mark: number): number =>
  code === "zoned 4-to-5 group code"
    ? readGroups(cells.bits, at, into)
    : readBytes(cells.bits, at, into, code === "MFM", mark & 1);

/** Bytes after the mark that a check covers, the check included. */
export function checkedBytes(code: RecordingCode, kind: FoundField["kind"], size: number): number {
  if (code === "zoned 4-to-5 group code") return kind === "ID" ? 5 : size + 1;
  return kind === "ID" ? 6 : size + 2;
}

/** Reads an ID from cells whose place is known, as after a vote. Left out where the check is wrong. */
export function readId(cells: Cells, at: number, code: RecordingCode): SectorId | undefined {
  const bytes = new Uint8Array(checkedBytes(code, "ID", 0));
  const violations = readContent(cells, at, bytes, code, MARK.id);
  if (code === "zoned 4-to-5 group code")
    return violations === 0 && xorOf(bytes) === 0
      ? { track: bytes[2]!, head: 0, sector: bytes[1]!, size: GROUP_SECTOR }
      : undefined;
  const check = crc16(bytes, crc16(Uint8Array.of(MARK.id), code === "MFM" ? MFM_PRESET : FM_PRESET));
  return check === 0
    ? { track: bytes[0]!, head: bytes[1]!, sector: bytes[2]!, size: sizeOfCode(bytes[3]!) }
    : undefined;
}

/** Reads data from cells whose place is known, as after a vote, and says whether the check agrees. */
export function readData(
  cells: Cells,
  at: number,
  code: RecordingCode,
  size: number,
  mark: number,
): { data: Uint8Array; good: boolean } {
  const bytes = new Uint8Array(checkedBytes(code, "data", size));
  const violations = readContent(cells, at, bytes, code, mark);
  const good =
    code === "zoned 4-to-5 group code"
      ? violations === 0 && xorOf(bytes) === 0
      : crc16(bytes, crc16(Uint8Array.of(mark), code === "MFM" ? MFM_PRESET : FM_PRESET)) === 0;
  return { data: bytes.subarray(0, size), good };
}

/**
 * Every ID and data field in a run of cells, in order. Takes any cells at all. `size` is the sector size to go by until an
 * ID says another; without it data before the first good ID is passed over.
 */
export function scanFields(cells: Cells, code: RecordingCode, size?: number): FoundField[] {
  return code === "zoned 4-to-5 group code" ? scanGroups(cells) : scanBytes(cells, code === "MFM", size);
}

/** A sector as it lies on the track: an ID, a data field, or both. */
export interface FoundSector {
  id?: FoundId;
  data?: FoundData;
}

/**
 * Largest distance from an ID to the data that belongs to it, in cells. Controllers look for the data mark within 30 bytes
 * in FM and 43 in MFM (179x disk controller data sheet, from memory); extra-high density puts 41 bytes and sync between.
 */
const REACH = { FM: 16 * 32, MFM: 16 * 64, "zoned 4-to-5 group code": 8 * 40 } as const;

/** Joins each data field to the ID before it, where that is near enough. */
export function pairFields(fields: readonly FoundField[], code: RecordingCode): FoundSector[] {
  const sectors: FoundSector[] = [];
  for (const field of fields) {
    const last = sectors.at(-1);
    if (field.kind === "ID") sectors.push({ id: field });
    else if (last?.id && !last.data && field.at - last.id.end <= REACH[code]) last.data = field;
    else sectors.push({ data: field });
  }
  return sectors;
}
