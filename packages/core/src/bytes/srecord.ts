import { InputError } from "../errors/index.ts";
import { type HexFile, joinSegments, type Segment } from "./segments.ts";
import { hex } from "./text.ts";

/**
 * S-records: `S`, type, count of what follows, address, data, and the one's complement of the sum of all bytes after the
 * type. Addresses are two (S1, S9), three (S2, S8) or four bytes (S3, S7). Source: the S-record manual page.
 */

const DATA_BYTES = 16;
const MOST_LINES = 1 << 20;
/** Bytes of the address by record type; 4 is reserved. */
const ADDRESS_BYTES: Readonly<Record<string, number>> = { 0: 2, 1: 2, 2: 3, 3: 4, 5: 2, 6: 3, 7: 4, 8: 3, 9: 2 };

function record(type: number, address: number, addressBytes: number, data: Uint8Array): string {
  const count = addressBytes + data.length + 1;
  let sum = count;
  let text = `S${type}${hex(count, 2)}${hex(address, addressBytes * 2)}`;
  for (let shift = 0; shift < addressBytes; shift++) sum += Math.floor(address / 2 ** (8 * shift)) & 0xff;
  for (const byte of data) {
    sum += byte;
    text += hex(byte, 2);
  }
  return text + hex(~sum & 0xff, 2);
}

/** S1 and S9 where every address fits 16 bits, S2 and S8 to 24, S3 and S7 beyond. One record a line, 16 bytes each. */
export function toSRecord({ segments, start = 0 }: HexFile): string {
  const highest = segments.reduce((most, { address, bytes }) => Math.max(most, address + bytes.length - 1), start);
  const addressBytes = highest > 0xff_ffff ? 4 : highest > 0xffff ? 3 : 2;
  const lines: string[] = [];
  for (const { address, bytes } of segments)
    for (let at = 0; at < bytes.length; at += DATA_BYTES)
      lines.push(record(addressBytes - 1, address + at, addressBytes, bytes.subarray(at, at + DATA_BYTES)));
  lines.push(record(11 - addressBytes, start, addressBytes, new Uint8Array()));
  return `${lines.join("\n")}\n`;
}

/** Reads S-records; a header (S0) is skipped, a count (S5, S6) is checked. Throws an `InputError` naming the line. */
export function fromSRecord(text: string): HexFile {
  const segments: Segment[] = [];
  let start: number | undefined;
  let records = 0;
  for (const { line, number } of hexLines(text)) {
    const fail = (code: string, sentence: string): never => {
      throw new InputError(code, `S-record line ${number}: ${sentence}`);
    };
    const addressBytes = /^[Ss][0-9]/.test(line) ? ADDRESS_BYTES[line[1]!] : undefined;
    if (addressBytes === undefined) throw fail("s-record-type", "it does not begin with S0 to S3 or S5 to S9");
    const bytes = hexBytes(line, 2) ?? fail("s-record-digits", "it holds something else than pairs of hex digits");
    if (bytes[0] !== bytes.length - 1)
      fail("s-record-count", `its count says ${bytes[0] ?? 0} bytes and it holds ${bytes.length - 1}`);
    if (bytes.length < addressBytes + 2) fail("s-record-count", "it is too short for its address");
    const sum = bytes.reduce((total, byte) => total + byte, 0) & 0xff;
    if (sum !== 0xff) {
      const stored = bytes.at(-1)!;
      fail("s-record-checksum", `its checksum is ${hex(stored, 2)} and should be ${hex((stored - sum - 1) & 0xff, 2)}`);
    }
    let address = 0;
    for (let i = 1; i <= addressBytes; i++) address = address * 256 + bytes[i]!;
    const type = Number(line[1]);
    if (type >= 1 && type <= 3) {
      records++;
      segments.push({ address, bytes: bytes.slice(addressBytes + 1, -1) });
    } else if (type >= 7) start = address;
    else if (type >= 5 && address !== records)
      fail("s-record-records", `it counts ${address} data records and there are ${records}`);
  }
  return { segments: joinSegments(segments), ...(start === undefined ? {} : { start }) };
}

/** Lines that are not blank, with their numbers from 1; blanks at both ends are dropped. */
export function hexLines(text: string): { line: string; number: number }[] {
  const lines = text
    .split(/\r\n|\r|\n/)
    .map((line, index) => ({ line: line.trim(), number: index + 1 }))
    .filter(({ line }) => line !== "");
  if (lines.length > MOST_LINES) throw new InputError("hex-lines", `the file has more than ${MOST_LINES} records`);
  return lines;
}

/** The hex digits of `line` from index `from` on as bytes, `undefined` where they are none. */
export function hexBytes(line: string, from: number): Uint8Array | undefined {
  if ((line.length - from) % 2 || !/^[0-9A-Fa-f]*$/.test(line.slice(from))) return undefined;
  return Uint8Array.from({ length: (line.length - from) / 2 }, (_, i) =>
    Number.parseInt(line.slice(from + 2 * i, from + 2 * i + 2), 16),
  );
}
