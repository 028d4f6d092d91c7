import { InputError } from "../errors/index.ts";
import { type HexFile, joinSegments, type Segment } from "./segments.ts";
import { hexBytes, hexLines } from "./srecord.ts";
import { hex } from "./text.ts";

/**
 * Intel HEX: `:`, count, 16-bit address, type, data, and the two's complement of the sum of all bytes before it. Types: 00
 * data, 01 end, 02 and 04 the base of further addresses (× 16, × 65,536), 03 and 05 the start.
 */

const DATA_BYTES = 16;

function record(address: number, type: number, data: ArrayLike<number>): string {
  const bytes = [data.length, (address >> 8) & 0xff, address & 0xff, type, ...Array.from(data)];
  const sum = bytes.reduce((total, byte) => total + byte, 0);
  return `:${bytes.map((byte) => hex(byte, 2)).join("")}${hex(-sum & 0xff, 2)}`;
}

/**
 * One record a line, 16 bytes each; addresses above 64 KiB by records of type 04. Within 64 KiB only types 00 and 01 are
 * used, which programmers and monitors of the period take; the start then stands in the end record (common practice, no
 * source), where 0 cannot be told from none. Beyond, it is a record of type 05.
 */
export function toIntelHex({ segments, start = 0 }: HexFile): string {
  const lines: string[] = [];
  let base = 0;
  for (const { address, bytes } of segments)
    for (let at = 0; at < bytes.length; ) {
      const place = address + at;
      const upper = Math.floor(place / 0x10000);
      if (upper !== base) {
        base = upper;
        lines.push(record(0, 4, [(upper >> 8) & 0xff, upper & 0xff]));
      }
      // A record's addresses wrap round its 64 KiB, so none may cross the edge.
      const count = Math.min(DATA_BYTES, bytes.length - at, 0x10000 - (place & 0xffff));
      lines.push(record(place & 0xffff, 0, bytes.subarray(at, at + count)));
      at += count;
    }
  const large = start > 0xffff || base > 0;
  const startBytes = [start >>> 24, (start >> 16) & 0xff, (start >> 8) & 0xff, start & 0xff];
  if (large && start) lines.push(record(0, 5, startBytes));
  return `${[...lines, record(large ? 0 : start, 1, [])].join("\n")}\n`;
}

/** Reads Intel HEX up to its end record, whose address is the start if it is not 0 and no other record gives one. Throws an `InputError` naming the line; a missing end record is one too. */
export function fromIntelHex(text: string): HexFile {
  const segments: Segment[] = [];
  let base = 0;
  let start: number | undefined;
  for (const { line, number } of hexLines(text)) {
    const fail = (code: string, sentence: string): never => {
      throw new InputError(code, `Intel HEX line ${number}: ${sentence}`);
    };
    if (line[0] !== ":") fail("intel-hex-mark", "it does not begin with a colon");
    const bytes = hexBytes(line, 1) ?? fail("intel-hex-digits", "it holds something else than pairs of hex digits");
    if (bytes.length < 5 || bytes[0] !== bytes.length - 5)
      fail(
        "intel-hex-count",
        `its count says ${bytes[0] ?? 0} data bytes and it holds ${Math.max(0, bytes.length - 5)}`,
      );
    const sum = bytes.reduce((total, byte) => total + byte, 0) & 0xff;
    if (sum !== 0) {
      const stored = bytes.at(-1)!;
      fail("intel-hex-checksum", `its checksum is ${hex(stored, 2)} and should be ${hex((stored - sum) & 0xff, 2)}`);
    }
    const address = bytes[1]! * 256 + bytes[2]!;
    const type = bytes[3]!;
    const data = bytes.slice(4, -1);
    const wanted = SIZES[type];
    if (type > 5) fail("intel-hex-type", `its type ${hex(type, 2)} is none of 00 to 05`);
    if (wanted !== undefined && data.length !== wanted)
      fail("intel-hex-count", `a record of type ${hex(type, 2)} holds ${wanted} data bytes, not ${data.length}`);
    const value = data.slice(0, 4).reduce((total, byte) => total * 256 + byte, 0);
    if (type === 0) place(segments, base, address, data);
    else if (type === 1) {
      start ??= address || undefined;
      return { segments: joinSegments(segments), ...(start === undefined ? {} : { start }) };
    } else if (type === 2) base = value * 16;
    else if (type === 4) base = value * 0x10000;
    // Type 03 is a paragraph and an offset.
    else start = type === 3 ? Math.floor(value / 0x10000) * 16 + (value & 0xffff) : value;
  }
  throw new InputError("intel-hex-end", "The Intel HEX file has no end record `:00000001FF`: it may be cut short");
}

/** Data bytes that each type but 00 must hold. */
const SIZES: Readonly<Record<number, number>> = { 1: 0, 2: 2, 3: 4, 4: 2, 5: 4 };

/** The 16-bit address wraps within its 64 KiB. */
function place(segments: Segment[], base: number, address: number, data: Uint8Array): void {
  const first = Math.min(data.length, 0x10000 - address);
  segments.push({ address: base + address, bytes: data.subarray(0, first) });
  if (first < data.length) segments.push({ address: base, bytes: data.subarray(first) });
}
