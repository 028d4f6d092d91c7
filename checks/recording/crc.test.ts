import { asciiBytes, crc16 } from "@rouse/core/bytes";
import { loadCatalogue } from "@rouse/core/catalogue";
import { type Cells, encodeTrack, fieldCells, trackFields, trackForm } from "@rouse/core/recording";
import { describe, expect, it } from "vitest";

const hex = (text: string): Uint8Array => Uint8Array.from(text.match(/../g)!, (pair) => Number.parseInt(pair, 16));
const filled = (byte: number, count: number): Uint8Array => new Uint8Array(count).fill(byte);
const joined = (...parts: Uint8Array[]): Uint8Array => Uint8Array.from(parts.flatMap((part) => [...part]));

/** Bit by bit, as the data sheets describe the register: another way to the same number. */
function bitwise(bytes: Uint8Array): number {
  let register = 0xffff;
  for (const byte of bytes)
    for (let bit = 7; bit >= 0; bit--) {
      const feedback = (register >> 15) ^ ((byte >> bit) & 1);
      register = (register << 1) & 0xffff;
      if (feedback) register ^= 0x1021;
    }
  return register;
}

describe("CRC-16 of disks", () => {
  it("has the published check value, and the wrong preset has another", () => {
    // Source: catalogue of parametrised CRC algorithms: preset FFFF 29B1, preset 0 (XMODEM) 31C3.
    expect(crc16(asciiBytes("123456789"))).toBe(0x29b1);
    expect(crc16(asciiBytes("123456789"), 0)).toBe(0x31c3);
  });

  it.each([
    // Source: x^16+x^12+x^5+1, preset all ones, from the first A1 or the FM mark on (179x disk controller data sheet,
    // section 3.2; that it covers the A1 is from memory). Values computed from that rule apart from this code.
    ["A1A1A1", 0xcdb4],
    ["A1A1A1FE", 0xb230],
    ["A1A1A1FB", 0xe295],
    ["A1A1A1F8", 0xd2f6],
    ["FE", 0xef21],
    ["FB", 0xbf84],
    ["F8", 0x8fe7],
    ["A1A1A1FE00000100", 0xea2d],
    ["A1A1A1FE00000101", 0xfa0c],
    ["A1A1A1FE00000102", 0xca6f],
    ["A1A1A1FE01000102", 0xbcdb],
    ["A1A1A1FE4F011202", 0x110d],
    ["A1A1A1FE4C001A00", 0x140a],
    ["FE00000100", 0xd2c3],
    ["FE00000101", 0xc2e2],
    ["FE00000102", 0xf281],
    ["FE01000102", 0x8435],
    ["FE4F011202", 0x29e3],
    ["FE4C001A00", 0x2ce4],
  ])("over %s leaves %i", (text, value) => {
    expect(crc16(hex(text))).toBe(value);
    expect(bitwise(hex(text))).toBe(value);
  });

  it.each([
    // Source: as above.
    ["FB", 0xe5, 128, 0x5d30],
    ["FB", 0x00, 128, 0x4829],
    ["F8", 0xe5, 128, 0x063d],
    ["A1A1A1FB", 0xe5, 512, 0xc40b],
    ["A1A1A1FB", 0xf6, 512, 0x2bf6],
    ["A1A1A1FB", 0x00, 512, 0xda6e],
    ["A1A1A1FB", 0x40, 256, 0x9af5],
    ["A1A1A1FB", 0x4e, 256, 0xbb69],
  ])("over %s and byte %i × %i leaves %i", (mark, byte, count, value) => {
    const bytes = joined(hex(mark), filled(byte, count));
    expect(crc16(bytes)).toBe(value);
    expect(bitwise(bytes)).toBe(value);
    // The register is 0 once the CRC has been fed in, high byte first (179x data sheet, section 3.2).
    expect(crc16(joined(bytes, Uint8Array.of(value >> 8, value & 0xff)))).toBe(0);
  });
});

/** Data bytes of a field, taken from its data cells. */
function bytesOf(form: ReturnType<typeof trackForm>, cells: Cells, kind: string, sector: number): number[] {
  const field = trackFields(form).find((each) => each.kind === kind && each.sector === sector)!;
  const bytes: number[] = [];
  for (const { role, value, byte } of fieldCells(form, cells, field))
    if (role === "data") bytes[byte] = ((bytes[byte] ?? 0) << 1) | value;
  return bytes;
}

describe("CRCs on the track", () => {
  const { recordings } = loadCatalogue();

  it("stand behind the ID and the data of FM, high byte first", () => {
    const form = trackForm(recordings.get("ecma-54")!, 0x4c, 0);
    const cells = encodeTrack(form, filled(0xe5, 26 * 128));
    // Sector 26 of track 76; the values are those of the tables above.
    expect(bytesOf(form, cells, "ID", 0x1a)).toEqual([0x4c, 0x00, 0x1a, 0x00]);
    expect(bytesOf(form, cells, "ID check", 0x1a)).toEqual([0x2c, 0xe4]);
    expect(bytesOf(form, cells, "data check", 0x1a)).toEqual([0x5d, 0x30]);
  });

  it("stand behind the ID and the data of MFM", () => {
    const form = trackForm(recordings.get("ecma-125")!, 0x4f, 1);
    const cells = encodeTrack(form, filled(0xf6, 18 * 512));
    expect(bytesOf(form, cells, "ID", 0x12)).toEqual([0x4f, 0x01, 0x12, 0x02]);
    expect(bytesOf(form, cells, "ID check", 0x12)).toEqual([0x11, 0x0d]);
    expect(bytesOf(form, cells, "data check", 0x12)).toEqual([0x2b, 0xf6]);
  });
});
