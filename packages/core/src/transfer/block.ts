import { crc16 } from "../bytes/index.ts";
import { SOH, STX, SUB } from "./types.ts";

/** Blocks as XMODEM and YMODEM put them (Forsberg, XMODEM/YMODEM Protocol Reference, 1988). */

export type Check = "checksum" | "CRC";

/** Sum of the data bytes, modulo 256. */
export const checksum = (data: Uint8Array): number => data.reduce((sum, each) => (sum + each) & 0xff, 0);

export const checkLength = (check: Check): number => (check === "CRC" ? 2 : 1);

/** `data` filled up with SUB to 128 or 1,024 bytes, as a whole block ready to send. */
export function makeBlock(number: number, data: Uint8Array, size: 128 | 1024, check: Check, fill = SUB): Uint8Array {
  const block = new Uint8Array(3 + size + checkLength(check)).fill(fill, 3, 3 + size);
  block[0] = size === 128 ? SOH : STX;
  block[1] = number & 0xff;
  block[2] = 0xff - (number & 0xff);
  block.set(data.subarray(0, size), 3);
  const body = block.subarray(3, 3 + size);
  if (check === "checksum") block[3 + size] = checksum(body);
  else {
    const crc = crc16(body, 0);
    block[3 + size] = crc >> 8;
    block[4 + size] = crc & 0xff;
  }
  return block;
}

export type BlockFault = "number and complement differ" | "check is wrong";

/** A whole block's number and data (a view), or what is wrong with it. */
export function readBlock(block: Uint8Array, check: Check): { number: number; data: Uint8Array } | BlockFault {
  const number = block[1]!;
  if (number + block[2]! !== 0xff) return "number and complement differ";
  const end = block.length - checkLength(check);
  const data = block.subarray(3, end);
  const right =
    check === "checksum" ? checksum(data) === block[end] : crc16(data, 0) === ((block[end]! << 8) | block[end + 1]!);
  return right ? { number, data } : "check is wrong";
}

const text = (value: string): number[] =>
  Array.from(value, (each) => (each.charCodeAt(0) < 0x100 ? each.charCodeAt(0) : 0x3f));
/** Room for the name in block 0, so that length, date and mode fit behind it. */
const MOST_NAME = 80;

/** Data of YMODEM's block 0: name, NUL, length, modification time in octal. No name at all ends the batch. */
export function header(file?: { name: string; bytes: Uint8Array; modified?: number }): Uint8Array {
  if (!file) return new Uint8Array(128);
  const name = file.name.slice(-MOST_NAME);
  const time = file.modified === undefined ? "" : ` ${Math.max(0, Math.floor(file.modified)).toString(8)}`;
  return Uint8Array.from([...text(name), 0, ...text(`${file.bytes.length}${time}`)]);
}

export interface Header {
  name: string;
  length?: number;
  modified?: number;
}

/** Reads block 0; undefined where it has no name and so ends the batch. Never throws: what can't be read is left out. */
export function readHeader(data: Uint8Array): Header | undefined {
  const end = data.indexOf(0);
  const name = String.fromCharCode(...data.subarray(0, end < 0 ? data.length : end));
  if (name === "") return undefined;
  const rest = end < 0 ? "" : String.fromCharCode(...data.subarray(end + 1));
  const [, length, modified] = /^(\d{1,15})(?: ([0-7]{1,15}))?/.exec(rest) ?? [];
  const seconds = modified === undefined ? 0 : Number.parseInt(modified, 8);
  // 0 means that the date is not known.
  return {
    name,
    ...(length === undefined ? {} : { length: Number(length) }),
    ...(seconds > 0 ? { modified: seconds } : {}),
  };
}

/** A foreign file name made fit to save under: no folders, no control characters, never empty. */
export function safeName(name: string): string {
  const last = name.split(/[/\\]/).pop() ?? "";
  const clean = last.replace(/[\u0000-\u001f\u007f-\u009f:*?"<>|]/g, "_").replace(/^\.+/, "_");
  return clean || "received";
}
