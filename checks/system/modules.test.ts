/**
 * Program modules against the outside: the 6809 system programmer's manual (January 1983) for the layout and the header
 * parity, the catalogue of parametrised CRC algorithms for the 24-bit CRC. The two worked modules were computed from
 * those rules with another program; they are no print of the manual.
 */
import { asciiBytes, crc24Register, hex, MODULE_CRC_RESIDUE, moduleCrc } from "@rouse/core/bytes";
import { buildModule, findModules, readModule } from "@rouse/core/system";
import { describe, expect, it } from "vitest";

const bytesOf = (text: string): Uint8Array => Uint8Array.from(text.match(/../g)!, (pair) => Number.parseInt(pair, 16));
const DATA = bytesOf("87CD0010000940816D746573F46BA6CB");
const PROGRAM = bytesOf("87CD0018000D11813000110040746573F45F103F0602BB3D");

/** The catalogue's parameters, bit by bit: width 24, polynomial 800063, preset FFFFFF, no reflection. */
function bitByBit(bytes: Uint8Array): number {
  let register = 0xffffff;
  for (const byte of bytes)
    for (let bit = 7; bit >= 0; bit--) {
      const out = (register >> 23) ^ ((byte >> bit) & 1);
      register = (register << 1) & 0xffffff;
      if (out) register ^= 0x800063;
    }
  return register;
}

describe("the 24-bit CRC, as the catalogue of parametrised CRC algorithms lists it", () => {
  const check = asciiBytes("123456789");

  it("has the check value 200FA5", () => {
    expect(hex(moduleCrc(check), 6)).toBe("200FA5");
    expect(hex(crc24Register(check), 6)).toBe("DFF05A");
    expect(hex(bitByBit(check), 6)).toBe("DFF05A");
  });

  it("leaves the residue 800FE3 after any message with its CRC, which is what the manual calls the good value", () => {
    expect(MODULE_CRC_RESIDUE).toBe(0x800fe3);
    for (const whole of [DATA, PROGRAM]) expect(bitByBit(whole)).toBe(0x800fe3);
    expect(bitByBit(Uint8Array.of(...check, 0x20, 0x0f, 0xa5))).toBe(0x800fe3);
  });
});

describe("the worked modules", () => {
  it("are read as data module “test” of 16 bytes", () => {
    expect(readModule(DATA, 0)).toEqual({
      offset: 0,
      size: 16,
      name: "test",
      type: 4,
      typeName: "data",
      language: 0,
      languageName: "data",
      attributes: 8,
      reentrant: true,
      revision: 1,
      crcStored: "6BA6CB",
      crcComputed: "6BA6CB",
      faults: [],
    });
  });

  it("are read as program module “test” of 24 bytes with its entry and storage", () => {
    const found = readModule(PROGRAM, 0);
    expect(found).toMatchObject({
      size: 24,
      name: "test",
      type: 1,
      language: 1,
      entry: 0x11,
      storage: 0x40,
      faults: [],
    });
    expect(found).not.toHaveProperty("edition");
  });

  it("are built byte for byte from their fields", () => {
    expect(buildModule({ name: "test", type: 4, body: new Uint8Array(0) })).toEqual(DATA);
    expect(buildModule({ name: "test", type: 1, storage: 0x40, body: bytesOf("5F103F06") })).toEqual(PROGRAM);
  });

  it("are both found when packed together", () => {
    const both = Uint8Array.of(...PROGRAM, ...DATA);
    expect(findModules(both).map((each) => [each.offset, each.faults.length])).toEqual([
      [0, 0],
      [24, 0],
    ]);
  });
});

describe("the header parity of the manual: the complement of the XOR of bytes 0 to 7", () => {
  it.each([
    ["data", DATA],
    ["program", PROGRAM],
  ])("makes the XOR of bytes 0 to 8 FF in the %s module", (_, bytes) => {
    expect(bytes.subarray(0, 9).reduce((sum, byte) => sum ^ byte, 0)).toBe(0xff);
  });

  it("is found wrong where any one of the nine bytes is changed", () => {
    for (let at = 2; at < 9; at++) {
      const broken = PROGRAM.slice();
      broken[at]! ^= 0x10;
      expect(readModule(broken, 0).faults.map((each) => each.code)).toContain("header-parity");
    }
  });
});
