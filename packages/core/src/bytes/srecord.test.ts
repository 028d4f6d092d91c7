import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../errors/index.ts";
import { joinSegments } from "./segments.ts";
import { fromSRecord, toSRecord } from "./srecord.ts";

const bytes = (digits: string): Uint8Array =>
  Uint8Array.from(digits.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));

describe("S-records", () => {
  // The S-record manual page's example, and its checksums worked out (shared facts, hardware (d)).
  const first = "285F245F2212226A000424290008237C";
  const second = "0A0A0D00000000000000000000000000";
  const example = `S1130000${first}2A\nS1137AF0${second}61\nS9030000FC\n`;

  it("are read as the manual page's example says", () => {
    expect(fromSRecord(example)).toEqual({
      segments: [
        { address: 0, bytes: bytes(first) },
        { address: 0x7af0, bytes: bytes(second) },
      ],
      start: 0,
    });
  });

  it("are written as the manual page's example is", () => {
    expect(toSRecord(fromSRecord(example))).toBe(example);
  });

  it("take three or four bytes of address where two do not do", () => {
    const at = (address: number) =>
      toSRecord({ segments: [{ address, bytes: bytes("AB") }], start: 2 })
        .trim()
        .split("\n");
    expect(at(0xffff)).toEqual(["S104FFFFAB52", "S9030002FA"]);
    expect(at(0x10000)).toEqual(["S205010000AB4E", "S804000002F9"]);
    expect(at(0x1000000)).toEqual(["S30601000000AB4D", "S70500000002F8"]);
  });

  it("come back the same from any segments", () => {
    const segment = fc.record({ address: fc.nat(0xffffff), bytes: fc.uint8Array({ maxLength: 60 }) });
    fc.assert(
      fc.property(fc.array(segment, { maxLength: 6 }), fc.nat(0xffff), (list, start) => {
        const segments = joinSegments(list);
        expect(fromSRecord(toSRecord({ segments, start }))).toEqual({ segments, start });
      }),
    );
  });

  it.each([
    ["S1130000285F245F2212226A000424290008237C2B", "S-record line 1: its checksum is 2B and should be 2A"],
    ["\n\nS9030000FD", "S-record line 3: its checksum is FD and should be FC"],
    ["S1040000", "S-record line 1: its count says 4 bytes and it holds 2"],
    ["S10200FD", "S-record line 1: it is too short for its address"],
    ["S4030000FC", "S-record line 1: it does not begin with S0 to S3 or S5 to S9"],
    ["hello", "S-record line 1: it does not begin with S0 to S3 or S5 to S9"],
    ["S1 30000", "S-record line 1: it holds something else than pairs of hex digits"],
    ["S5030002FA", "S-record line 1: it counts 2 data records and there are 0"],
  ])("are refused by line: %j", (text, sentence) => {
    expect(() => fromSRecord(text)).toThrow(sentence);
  });

  it("never fail but by an InputError, on any text", () => {
    const near = fc
      .array(fc.constantFrom("S", "1", "9", "03", "00", "FC", "\n", "é", " "), { maxLength: 20 })
      .map((parts) => parts.join(""));
    fc.assert(
      fc.property(fc.oneof(fc.string({ unit: "binary" }), near), (text) => {
        try {
          fromSRecord(text);
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
      { numRuns: 300 },
    );
  });
});
