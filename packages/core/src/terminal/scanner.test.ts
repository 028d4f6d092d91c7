import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { controlOf, escapeOf, inventory, parameter, Scanner, sequenceOf } from "./index.ts";

/** What a scan finds, as short lines. `cuts` are the places at which the stream is split. */
function scan(bytes: Uint8Array, cuts: readonly number[] = [], bits: 7 | 8 = 8): string[] {
  const found: string[] = [];
  const scanner = new Scanner(
    {
      text(piece, from, to) {
        const text = [...piece.subarray(from, to)]
          .map((each) => String.fromCharCode(each & (bits === 7 ? 0x7f : 0xff)))
          .join("");
        if (found.at(-1)?.startsWith("text ")) found[found.length - 1] += text;
        else found.push(`text ${text}`);
      },
      control: (byte, at) => found.push(`${controlOf(byte).name} @${at}`),
      escape: (intermediates, final, at) => found.push(`${escapeOf(intermediates, final).name} @${at}`),
      sequence: ({ lead, intermediates, final, count, values, sub }, at) =>
        found.push(
          `${sequenceOf(lead, intermediates, final).name} ${[...values.subarray(0, count)].map((value, i) => (sub[i] ? ":" : "") + value)} @${at}`,
        ),
      string: (opener, data, length, at) =>
        found.push(`${controlOf(opener).name} “${String.fromCharCode(...data)}” ${length} @${at}`),
      fault: (at) => found.push(`fault @${at}`),
    },
    { bits },
  );
  let from = 0;
  for (const cut of [...cuts, bytes.length]) {
    scanner.write(bytes, from, cut);
    from = cut;
  }
  if (scanner.openSince !== undefined) found.push(`open @${scanner.openSince}`);
  return found;
}
const scanText = (text: string): string[] => scan(Uint8Array.from(text, (each) => each.charCodeAt(0)));

const anyBytes = fc.oneof(
  fc.uint8Array({ maxLength: 60 }),
  fc
    .array(
      fc.constantFrom(
        0x1b,
        0x5b,
        0x5d,
        0x50,
        0x58,
        0x5c,
        0x9b,
        0x9c,
        0x90,
        0x98,
        0x3b,
        0x3a,
        0x31,
        0x3f,
        0x20,
        0x41,
        0x6d,
        0x18,
        7,
        10,
      ),
      { maxLength: 40 },
    )
    .map((each) => Uint8Array.from(each)),
);

describe("the ECMA-48 scanner", () => {
  it("reads parameters as the standard gives them (5.4.2)", () => {
    expect(scanText("\u001b[C\u001b[01C\u001b[2;H\u001b[;5H\u001b[28 A\u001b[<3m")).toEqual([
      "CUF  @0",
      "CUF 1 @3",
      "CUP 2,-1 @8",
      "CUP -1,5 @13",
      "SR 28 @18",
      "CSI < m 3 @24",
    ]);
    expect(scanText("\u009b38:2:7;1m")).toEqual(["SGR 38,:2,:7,1 @0"]);
  });

  it("takes 0 as left out only where it is told to", () => {
    const seen: number[] = [];
    const ignore = () => {};
    const sink = {
      text: ignore,
      control: ignore,
      escape: ignore,
      string: ignore,
      fault: ignore,
      sequence: (each: Parameters<typeof parameter>[0]) =>
        seen.push(
          parameter(each, 0, 1, "as left out"),
          parameter(each, 0, 1, "zero counts"),
          parameter(each, 7, 9, "zero counts"),
        ),
    };
    new Scanner(sink).write(asciiBytes("\u001b[0C"));
    expect(seen).toEqual([1, 0, 9]);
  });

  it("reads the 7-bit and the 8-bit form of a C1 function alike (5.3)", () => {
    const c1 = Array.from({ length: 32 }, (_, i) => 0x80 + i).filter(
      (each) => ![0x90, 0x98, 0x9b, 0x9d, 0x9e, 0x9f].includes(each),
    );
    for (const byte of c1) {
      expect(scan(Uint8Array.of(byte))).toEqual([`${controlOf(byte).name} @0`]);
      expect(scan(Uint8Array.of(0x1b, byte - 0x40))).toEqual([`${controlOf(byte).name} @0`]);
    }
  });

  it("reads control strings, and a character string that holds other functions (5.6)", () => {
    expect(scanText("\u001b]0;a b\u001b\\\u0090q\u009c\u001bXx\u001b[Ay\u001b\u001b\\z")).toEqual([
      "OSC “0;a b” 5 @0",
      "DCS “q” 1 @9",
      "SOS “x\u001b[Ay\u001b” 6 @12",
      "text z",
    ]);
    expect(scanText("\u001b]2;x\u0007y")).toEqual(["OSC “2;x” 3 @0", "text y"]);
  });

  it("tells what breaks the grammar and goes on", () => {
    expect(scanText("\u001b[ 1Ab")).toEqual(["fault @0", "text b"]);
    expect(scanText("\u001b[1\u0018b")).toEqual(["fault @0", "text b"]);
    expect(scanText("\u001b]x\u001b[Ab")).toEqual(["fault @0", "CUU  @3", "text b"]);
    expect(scanText("a\u001b[3")).toEqual(["text a", "open @1"]);
  });

  it("obeys C0 functions inside a sequence at once", () => {
    expect(scanText("\u001b[1\n2A")).toEqual(["LF @3", "CUU 12 @0"]);
  });

  it("takes the eighth bit for parity on a line of 7 bits", () => {
    expect(scan(Uint8Array.of(0xc1, 0x9b, 0xdb, 0x41), [], 7)).toEqual(["text A", "CUU  @1"]);
  });

  it("keeps at most 32 parameters and 4,096 bytes of a string, and counts on", () => {
    expect(scanText(`\u001b[${"1;".repeat(5000)}99m`)[0]).toMatch(/^SGR (1,){31}1 @0$/);
    expect(scanText(`\u001b[${"9".repeat(400)}m`)).toEqual(["SGR 2147483647 @0"]);
    const [long] = scanText(`\u001b]${"x".repeat(10_000)}\u001b\\`);
    expect(long).toMatch(/ 10000 @0$/);
    expect(long!.length).toBeLessThan(4200);
  });

  it("finds the same however the stream is split", () => {
    fc.assert(
      fc.property(anyBytes, (bytes) => {
        const whole = scan(bytes);
        for (let cut = 0; cut <= bytes.length; cut++) expect(scan(bytes, [cut])).toEqual(whole);
        expect(
          scan(
            bytes,
            Array.from(bytes, (_, i) => i),
          ),
        ).toEqual(whole);
      }),
      { seed: 48, numRuns: 300 },
    );
  });
});

describe("the inventory of a capture", () => {
  it("names, counts and locates each function", () => {
    const capture = asciiBytes("Hi\u001b[2J\u001b[5;10Hthere\u001b[1;1H\r\n\u001b]0;title\u001b\\\u001b[5");
    const { functions, characters, lowerCase, unfinished } = inventory(capture);
    expect(functions.map(({ name, times, at }) => [name, times, at[0]])).toEqual([
      ["ED", 1, 2],
      ["CUP", 2, 6],
      ["CR", 1, 24],
      ["LF", 1, 25],
      ["OSC", 1, 26],
    ]);
    expect(functions[1]!.example).toBe("\\x1B[5;10H");
    expect(functions[4]!.example).toBe("\\x1B]0;title\\x1B\\");
    expect([characters, lowerCase, unfinished]).toEqual([7, 6, 37]);
  });

  it("takes any bytes at all and counts all of them", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (bytes) => {
        const { functions, characters, faults } = inventory(bytes);
        const counted = functions.reduce((sum, each) => sum + each.times, characters);
        expect(counted).toBeLessThanOrEqual(bytes.length);
        expect(faults.at.length).toBe(Math.min(8, faults.times));
      }),
      { seed: 48, numRuns: 300 },
    );
  });
});
