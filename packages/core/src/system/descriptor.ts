import { u16be, u24be } from "../bytes/index.ts";
import { BugError } from "../errors/index.ts";
import { bodyOffset, buildModule, type FoundModule, highBitName, MODULE_TYPE, readHighBitName } from "./module.ts";

/**
 * Device descriptors (modules of type F). Bytes 09 to 12 follow the 6809 system programmer's manual:
 *
 *     09  offset of the file manager's name   2 bytes
 *     0B  offset of the driver's name         2 bytes
 *     0D  mode byte: what may be done with the device
 *     0E  address of the controller           3 bytes
 *     11  size of the initialisation table
 *     12  initialisation table; its first byte is the class: 0 terminal, 1 disk, 2 pipe
 *
 * The table's own offsets below are from memory: to be confirmed against a print of the manual.
 */

const HEADER_FIELDS = 9;
const TABLE = 0x12;

/** Offsets in the table of a terminal (class 0), from memory; offset in the module less 12 hex. */
const TERMINAL = {
  upperCase: 0x01,
  echo: 0x04,
  lineFeed: 0x05,
  nulls: 0x06,
  pause: 0x07,
  rows: 0x08,
  control: 0x14,
  rate: 0x15,
  xon: 0x18,
  xoff: 0x19,
} as const;

/** Offsets in the table of a disk (class 1), from memory. */
const DISK = {
  drive: 0x01,
  step: 0x02,
  type: 0x03,
  density: 0x04,
  tracks: 0x05,
  sides: 0x07,
  verify: 0x08,
  sectors: 0x09,
  sectorsTrack0: 0x0b,
  interleave: 0x0d,
  allocation: 0x0e,
} as const;

/** Bit rates by the low nibble of the rate byte, from memory. */
export const RATE_CODES = [110, 300, 600, 1200, 2400, 4800, 9600, 19200] as const;

/** 6551 control register, bits 3 to 0: nominal rates; 0 is an external clock (6551 data sheet; table from memory). */
const RATES_6551 = [0, 50, 75, 109.92, 134.58, 150, 300, 600, 1200, 1800, 2400, 3600, 4800, 7200, 9600, 19200] as const;

/** 6850 control register, bits 4 to 2 (MC6850 data sheet). */
const FRAMES_6850 = ["7E2", "7O2", "7E1", "7O1", "8N2", "8N1", "8E1", "8O1"] as const;

/** Parity by bits 7 to 5, as in the 6551 command register; bit 5 clear is none. */
const PARITY_CODES: Readonly<Record<number, string>> = { 1: "O", 3: "E", 5: "M", 7: "S" };

/** How the two bytes for rate and framing were read; drivers differ, so the bytes are given too. */
export type LineCoding = "rate code" | "rate code and 6850 control word" | "6551 registers";

export interface TerminalTable {
  kind: "terminal";
  upperCaseOnly?: boolean;
  echo?: boolean;
  lineFeedAfterReturn?: boolean;
  nullsAfterReturn?: number;
  /** Lines a page; `pause` says whether output stops after each. */
  rows?: number;
  pause?: boolean;
  controlByte?: number;
  rateByte?: number;
  coding?: LineCoding;
  /** bit/s, nominal. */
  rate?: number;
  /** "8N1". */
  frame?: string;
  /** Clock cycles a bit, where the control byte is a 6850 control word. */
  clockRatio?: 16 | 64;
  flowControl?: "XON/XOFF" | "none";
}

export interface DiskTable {
  kind: "disk";
  drive?: number;
  /** 0 is the slowest; what it means in ms depends on the controller. */
  stepCode?: number;
  medium?: "flexible" | "fixed";
  density?: "single" | "double";
  tracksPerInch?: 48 | 96;
  tracks?: number;
  sides?: number;
  sectorsPerTrack?: number;
  sectorsOnTrack0?: number;
  interleave?: number;
  /** Sectors a file grows by. */
  allocation?: number;
}

export interface OtherTable {
  kind: "other";
  class?: number;
}

export interface Descriptor {
  name: string;
  /** Of the module, in bytes from the start of the file or image. */
  offset: number;
  fileManager?: string;
  driver?: string;
  mode: number;
  /** Controller's address as stored, 24 bits. */
  address: number;
  /** Whether the address needs more than 16 bits: the top byte is neither 00 nor FF. */
  beyond16Bits: boolean;
  tableSize: number;
  table: TerminalTable | DiskTable | OtherTable;
}

/** Reads a descriptor from a module found in `bytes`; null where it is none or too short to be one. */
export function readDescriptor(bytes: Uint8Array, module: FoundModule): Descriptor | null {
  const at = module.offset;
  const end = Math.min(bytes.length, at + module.size) - 3;
  if (module.type !== MODULE_TYPE.descriptor || at + TABLE > end) return null;
  const nameAt = (field: number): string | null => readHighBitName(bytes, at + u16be(bytes, at + field), end);
  const fileManager = nameAt(HEADER_FIELDS);
  const driver = nameAt(HEADER_FIELDS + 2);
  const address = u24be(bytes, at + 0x0e);
  const tableSize = bytes[at + 0x11]!;
  const table = bytes.subarray(at + TABLE, Math.min(end, at + TABLE + tableSize));
  return {
    name: module.name,
    offset: at,
    ...(fileManager === null ? {} : { fileManager }),
    ...(driver === null ? {} : { driver }),
    mode: bytes[at + 0x0d]!,
    address,
    beyond16Bits: address > 0xffff && address >> 16 !== 0xff,
    tableSize,
    table: readTable(table),
  };
}

function readTable(table: Uint8Array): Descriptor["table"] {
  const kind = table[0];
  if (kind === 0) return readTerminal(table);
  if (kind === 1) return readDisk(table);
  return kind === undefined ? { kind: "other" } : { kind: "other", class: kind };
}

/** Leaves out what the table is too short for. */
const present = <T extends object>(fields: { [K in keyof T]: T[K] | undefined }): Partial<T> =>
  Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as Partial<T>;

const flag = (byte: number | undefined): boolean | undefined => (byte === undefined ? undefined : byte !== 0);

function readTerminal(table: Uint8Array): TerminalTable {
  const xon = table[TERMINAL.xon];
  const xoff = table[TERMINAL.xoff];
  return {
    kind: "terminal",
    ...present({
      upperCaseOnly: flag(table[TERMINAL.upperCase]),
      echo: flag(table[TERMINAL.echo]),
      lineFeedAfterReturn: flag(table[TERMINAL.lineFeed]),
      nullsAfterReturn: table[TERMINAL.nulls],
      pause: flag(table[TERMINAL.pause]),
      rows: table[TERMINAL.rows] || undefined,
      controlByte: table[TERMINAL.control],
      rateByte: table[TERMINAL.rate],
      flowControl:
        xon === undefined || xoff === undefined ? undefined : xon === 0 && xoff === 0 ? "none" : ("XON/XOFF" as const),
    }),
    ...readLine(table[TERMINAL.control], table[TERMINAL.rate]),
  };
}

type LineSettings = Pick<TerminalTable, "coding" | "rate" | "frame" | "clockRatio">;

/**
 * Rate and framing from the control and the rate byte. Bit 4 of the rate byte is the 6551's choice of its own
 * generator, so there both are taken as 6551 registers. Otherwise the low nibble is a rate code; a control byte whose
 * low two bits choose ÷16 or ÷64 is a 6850 control word, and any other has the parity in bits 7 to 5, with word length
 * and stop bits in bits 6 and 5 and bit 7 of the rate byte.
 */
export function readLine(control: number | undefined, rateByte: number | undefined): LineSettings {
  if (control === undefined || rateByte === undefined) return {};
  const parity = PARITY_CODES[control >> 5] ?? "N";
  const bits = 8 - ((rateByte >> 5) & 3);
  const stops = rateByte & 0x80 ? 2 : 1;
  if (rateByte & 0x10) {
    const rate = RATES_6551[rateByte & 15]!;
    // 6551 data sheet: with 8 bits and parity the part sends one stop bit whatever bit 7 says.
    const sent = bits === 8 && parity !== "N" ? 1 : bits === 5 && parity === "N" && stops === 2 ? 1.5 : stops;
    return { coding: "6551 registers", ...(rate > 0 ? { rate } : {}), frame: `${bits}${parity}${sent}` };
  }
  const rate = RATE_CODES[rateByte & 15];
  const known = rate === undefined ? {} : { rate };
  const divide = control & 3;
  if (divide === 1 || divide === 2)
    return {
      coding: "rate code and 6850 control word",
      ...known,
      frame: FRAMES_6850[(control >> 2) & 7]!,
      clockRatio: divide === 1 ? 16 : 64,
    };
  return { coding: "rate code", ...known, frame: `${bits}${parity}${stops}` };
}

function readDisk(table: Uint8Array): DiskTable {
  const word = (at: number): number | undefined => (at + 2 <= table.length ? u16be(table, at) : undefined);
  const type = table[DISK.type];
  const density = table[DISK.density];
  return {
    kind: "disk",
    ...present<Omit<DiskTable, "kind">>({
      drive: table[DISK.drive],
      stepCode: table[DISK.step],
      medium: type === undefined ? undefined : type & 0x80 ? "fixed" : "flexible",
      density: density === undefined ? undefined : density & 1 ? "double" : "single",
      tracksPerInch: density === undefined ? undefined : density & 2 ? 96 : 48,
      tracks: word(DISK.tracks),
      sides: table[DISK.sides],
      sectorsPerTrack: word(DISK.sectors),
      sectorsOnTrack0: word(DISK.sectorsTrack0),
      interleave: table[DISK.interleave],
      allocation: table[DISK.allocation],
    }),
  };
}

export interface DescriptorPlan {
  name: string;
  fileManager: string;
  driver: string;
  mode?: number;
  address: number;
  table: Uint8Array;
}

/** Builds a descriptor module: header fields, table, name, then the two names it points to. */
export function buildDescriptor(plan: DescriptorPlan): Uint8Array {
  if (plan.table.length > 255) throw new BugError("An initialisation table takes at most 255 bytes.");
  const fields = new Uint8Array(TABLE - HEADER_FIELDS + plan.table.length);
  const type = MODULE_TYPE.descriptor;
  const start = bodyOffset({ name: plan.name, type, fields });
  const driverAt = start + plan.fileManager.length;
  fields.set([start >> 8, start, driverAt >> 8, driverAt, plan.mode ?? 3]);
  fields.set([plan.address >> 16, plan.address >> 8, plan.address, plan.table.length], 5);
  fields.set(plan.table, TABLE - HEADER_FIELDS);
  const body = new Uint8Array([...highBitName(plan.fileManager), ...highBitName(plan.driver)]);
  return buildModule({ name: plan.name, type, fields, body });
}

/** A terminal's table of 26 bytes; the editing keys have their ISO 646 codes. */
export function terminalTable(wish: {
  rows: number;
  control: number;
  rate: number;
  upperCaseOnly?: boolean;
}): Uint8Array {
  const table = new Uint8Array(26);
  // Backspace, cancel, return, end of file, reprint, repeat, pause, interrupt, quit: from memory.
  table.set([0x08, 0x18, 0x0d, 0x1b, 0x04, 0x01, 0x17, 0x03, 0x05, 0x08, 0x07], 9);
  table[TERMINAL.upperCase] = wish.upperCaseOnly ? 1 : 0;
  table[TERMINAL.echo] = 1;
  table[TERMINAL.lineFeed] = 1;
  table[TERMINAL.rows] = wish.rows;
  table[TERMINAL.control] = wish.control;
  table[TERMINAL.rate] = wish.rate;
  table[TERMINAL.xon] = 0x11;
  table[TERMINAL.xoff] = 0x13;
  return table;
}

/** A flexible disk's table of 15 bytes, double density. */
export function diskTable(wish: {
  drive: number;
  stepCode: number;
  tracks: number;
  sides: number;
  sectorsPerTrack: number;
  tracksPerInch?: 48 | 96;
}): Uint8Array {
  const { drive, stepCode, tracks, sides, sectorsPerTrack: sectors } = wish;
  const density = wish.tracksPerInch === 96 ? 3 : 1;
  return Uint8Array.of(
    ...[1, drive, stepCode, 0, density, tracks >> 8, tracks, sides, 0, sectors >> 8, sectors],
    ...[sectors >> 8, sectors, 1, 8],
  );
}
