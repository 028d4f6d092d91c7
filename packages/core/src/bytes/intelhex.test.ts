import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../errors/index.ts";
import { fromIntelHex, toIntelHex } from "./intelhex.ts";
import { joinSegments } from "./segments.ts";

const END = ":00000001FF";
const bytes = (digits: string): Uint8Array =>
  Uint8Array.from(digits.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));

describe("Intel HEX", () => {
  // The format's usual example record, its checksum worked out (shared facts, hardware (d)).
  const example = `:10010000214601360121470136007EFE09D2190140\n${END}\n`;

  it("is read and written as the example is", () => {
    const file = fromIntelHex(example);
    expect(file).toEqual({ segments: [{ address: 0x100, bytes: bytes("214601360121470136007EFE09D21901") }] });
    expect(toIntelHex(file)).toBe(example);
  });

  it("takes bases and starts of both kinds", () => {
    const upper = ":020000040001F9\n:0100000055AA";
    expect(fromIntelHex(`${upper}\n${END}`).segments).toEqual([{ address: 0x10000, bytes: bytes("55") }]);
    const paragraph = ":020000021000EC\n:0100020055A8";
    expect(fromIntelHex(`${paragraph}\n${END}`).segments).toEqual([{ address: 0x10002, bytes: bytes("55") }]);
    expect(fromIntelHex(`:0400000300003800C1\n${END}`).start).toBe(0x3800);
    expect(fromIntelHex(`:04000005000000CD2A\n${END}`).start).toBe(0xcd);
  });

  it("has the start in the end record within 64 KiB, and in a record of type 05 beyond", () => {
    expect(toIntelHex({ segments: [], start: 0x1000 })).toBe(":00100001EF\n");
    expect(fromIntelHex(":00100001EF")).toEqual({ segments: [], start: 0x1000 });
    expect(toIntelHex({ segments: [{ address: 0x10000, bytes: bytes("55") }], start: 0xcd })).toBe(
      `:020000040001F9\n:0100000055AA\n:04000005000000CD2A\n${END}\n`,
    );
  });

  it("wraps a record's addresses round its 64 KiB", () => {
    expect(fromIntelHex(`:02FFFF00AABB9B\n${END}`).segments).toEqual([
      { address: 0, bytes: bytes("BB") },
      { address: 0xffff, bytes: bytes("AA") },
    ]);
  });

  it("comes back the same from any segments", () => {
    const segment = fc.record({ address: fc.nat(0x2ffff), bytes: fc.uint8Array({ maxLength: 60 }) });
    fc.assert(
      fc.property(
        fc.array(segment, { maxLength: 6 }),
        fc.option(fc.integer({ min: 1, max: 0xffffffff }), { nil: undefined }),
        (list, start) => {
          const file = { segments: joinSegments(list), ...(start === undefined ? {} : { start }) };
          expect(fromIntelHex(toIntelHex(file))).toEqual(file);
        },
      ),
    );
  });

  it.each([
    [":0100000055AB", "Intel HEX line 1: its checksum is AB and should be AA"],
    [`${":0100000055AA"}\n:0200000055AA`, "Intel HEX line 2: its count says 2 data bytes and it holds 1"],
    ["0100000055AA", "Intel HEX line 1: it does not begin with a colon"],
    [":01000g", "Intel HEX line 1: it holds something else than pairs of hex digits"],
    [":", "Intel HEX line 1: its count says 0 data bytes and it holds 0"],
    [":00000006FA", "Intel HEX line 1: its type 06 is none of 00 to 05"],
    [":0100000455A6", "Intel HEX line 1: a record of type 04 holds 2 data bytes, not 1"],
    [":0100000055AA", "has no end record"],
    ["", "has no end record"],
  ])("is refused by line: %j", (text, sentence) => {
    expect(() => fromIntelHex(text)).toThrow(sentence);
  });

  it("never fails but by an InputError, on any text", () => {
    const near = fc
      .array(fc.constantFrom(":", "00", "01", "02", "FF", "04", "\n", END, "é"), { maxLength: 20 })
      .map((parts) => parts.join(""));
    fc.assert(
      fc.property(fc.oneof(fc.string({ unit: "binary" }), near), (text) => {
        try {
          fromIntelHex(text);
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
      { numRuns: 300 },
    );
  });
});
