import { loadCatalogue } from "@rouse/core/catalogue";
import {
  cellAt,
  cellsFromText,
  decodeTrack,
  encodeTrack,
  TAPE_CODES,
  trackFields,
  trackForm,
  ZONED_CODES,
} from "@rouse/core/recording";
import { describe, expect, it } from "vitest";

const { recordings } = loadCatalogue();
const hex = (text: string): Uint8Array => Uint8Array.from(text.match(/../g)!, (pair) => Number.parseInt(pair, 16));

describe.each([
  ["zoned disk", ZONED_CODES],
  ["tape of 6,250 cpi", TAPE_CODES],
] as const)("the 4-to-5 group code of the %s", (_, codes) => {
  const pairs = codes.flatMap((one) => codes.map((other) => ((one << 5) | other).toString(2).padStart(10, "0")));

  it("has sixteen different words of five bits", () => {
    expect(new Set(codes).size).toBe(16);
    expect(codes.every((code) => code > 0 && code < 32)).toBe(true);
  });

  it("never has more than two zeros in a row, over any two words", () => {
    // Source: the (0,2) property of the tape's code, an encyclopaedia; both tables are from memory.
    expect(pairs.filter((pair) => pair.includes("000"))).toEqual([]);
  });

  it("never has more than eight ones in a row, so that ten are a sync run", () => {
    // Three words: a run may go through a whole one.
    const triples = codes.flatMap((one) => pairs.map((pair) => one.toString(2).padStart(5, "0") + pair));
    expect(triples.filter((triple) => triple.includes("111111111"))).toEqual([]);
    expect(triples.some((triple) => triple.includes("11111111"))).toBe(true);
  });
});

describe("the tape's table", () => {
  it("is the published one, from memory of ANSI X3.54, ISO 5652 and ECMA-62", () => {
    const words = "11001 11011 10010 10011 11101 10101 10110 10111 11010 01001 01010 01011 11110 01101 01110 01111";
    expect(TAPE_CODES.map((code) => code.toString(2).padStart(5, "0")).join(" ")).toBe(words);
  });
});

/** Cells of a field of the zoned group code, as hexadecimal bytes. */
function cellsOf(track: number, kinds: readonly string[], data: Uint8Array, diskId: readonly [number, number]): string {
  const form = trackForm(recordings.get("zoned-35")!, track, 0);
  const image = new Uint8Array(form.sectors * 256);
  image.set(data);
  const cells = encodeTrack(form, image, { diskId });
  let bits = "";
  for (const field of trackFields(form))
    if (field.sector === 0 && kinds.includes(field.kind))
      for (let cell = 0; cell < field.length; cell++) bits += cellAt(cells, field.start + cell);
  return (bits.match(/.{8}/g) ?? [])
    .map((byte) => Number.parseInt(byte, 2).toString(16).toUpperCase().padStart(2, "0"))
    .join("");
}

describe("the zoned disk's blocks", () => {
  it.each([
    // Source: computed from the table, high nibble first, apart from this code.
    ["00000000", "5294A5294A"],
    ["FFFFFFFF", "AD6B5AD6B5"],
    ["55555555", "7BDEF7BDEF"],
    ["08000000", "5254A5294A"],
    ["07000000", "55D4A5294A"],
    ["12345678", "5CA6E7DAE9"],
  ])("put %s down as %s", (bytes, cells) => {
    expect(cellsOf(1, ["data"], hex(bytes), [0x30, 0x30]).slice(0, 10)).toBe(cells);
  });

  it("put down the worked header of track 18, sector 0, ID AB", () => {
    // Source: computed from the rule; the order of the ID bytes is from memory.
    expect(cellsOf(17, ["ID mark", "ID check", "ID"], new Uint8Array(0), [0x41, 0x42])).toBe("5256B52972749CB55555");
  });

  it("have a sync of 40 ones, a gap of 72 cells, a header of 80 cells and a data block of 2,600", () => {
    // Source: user's guide of a 35-track drive, the drawing of a sector; lengths by arithmetic.
    expect(cellsOf(1, ["ID sync"], new Uint8Array(0), [0, 0])).toBe("FFFFFFFFFF");
    expect(cellsOf(1, ["data sync"], new Uint8Array(0), [0, 0])).toBe("FFFFFFFFFF");
    expect(cellsOf(1, ["gap after ID"], new Uint8Array(0), [0, 0])).toBe("55".repeat(9));
    expect(cellsOf(1, ["ID mark", "ID check", "ID"], new Uint8Array(0), [0, 0])).toHaveLength(2 * 10);
    expect(cellsOf(1, ["data mark", "data", "data check"], new Uint8Array(0), [0, 0])).toHaveLength(2 * 325);
  });

  it("are found by the worked header's cells alone", () => {
    const bits = [..."FFFFFFFFFF5256B52972749CB55555"].map((digit) =>
      Number.parseInt(digit, 16).toString(2).padStart(4, "0"),
    );
    const form = trackForm(recordings.get("zoned-35")!, 17, 0);
    const [sector] = decodeTrack(cellsFromText(`0${bits.join("")}0101`), form);
    expect(sector!.id).toMatchObject({ good: true, id: { track: 18, sector: 0, size: 256 } });
  });
});
