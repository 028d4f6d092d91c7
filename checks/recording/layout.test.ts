import { loadCatalogue } from "@rouse/core/catalogue";
import { cellAt, encodeTrack, type FieldKind, trackBudget, trackFields, trackForm } from "@rouse/core/recording";
import { describe, expect, it } from "vitest";

const { recordings, media } = loadCatalogue();
const form = (id: string, track = 1, side: 0 | 1 = 0) => trackForm(recordings.get(id)!, track, side);

/** Cells of the first field of a kind, in words of 16. */
function words(id: string, kind: FieldKind, count: number, byte = 0xe5, track = 1): string[] {
  const of = form(id, track);
  const cells = encodeTrack(of, new Uint8Array(of.sectors * of.size).fill(byte));
  const { start } = trackFields(of).find((each) => each.kind === kind)!;
  return Array.from({ length: count }, (_, k) => {
    let word = 0;
    for (let cell = 0; cell < 16; cell++) word = (word << 1) | cellAt(cells, start + 16 * k + cell);
    return word.toString(16).toUpperCase().padStart(4, "0");
  });
}

describe("cell patterns", () => {
  // Source: mark bytes and their clocks, 179x disk controller data sheet, section 9 (FM marks also in an 8-inch drive's
  // manual, figure 6-9); cells are clock and data in turn, so FE with clock C7 is F57E.
  it("of FM marks leave out three clocks", () => {
    expect(words("ecma-54", "index mark", 1)).toEqual(["F77A"]);
    expect(words("ecma-54", "ID mark", 1)).toEqual(["F57E"]);
    expect(words("ecma-54", "data mark", 1)).toEqual(["F56F"]);
  });

  it("of FM gaps and sync are all clocks", () => {
    expect(words("ecma-54", "gap before index", 2)).toEqual(["FFFF", "FFFF"]);
    expect(words("ecma-54", "ID sync", 6)).toEqual(Array(6).fill("AAAA"));
  });

  it("of MFM marks begin with three A1 or C2 that leave out one clock", () => {
    expect(words("ecma-100", "index mark", 4)).toEqual(["5224", "5224", "5224", "5552"]);
    expect(words("ecma-100", "ID mark", 4)).toEqual(["4489", "4489", "4489", "5554"]);
    expect(words("ecma-100", "data mark", 4)).toEqual(["4489", "4489", "4489", "5545"]);
  });

  it("of MFM gaps and sync keep to the rule: a clock only between two zeros (ISO 8860-2, 4.1)", () => {
    expect(words("ecma-100", "gap before index", 3)).toEqual(["9254", "9254", "9254"]);
    expect(words("ecma-100", "ID sync", 12)).toEqual(Array(12).fill("AAAA"));
    // A1 and C2 as data, with every clock: 44A9 and 52A4, so never 4489 or 5224.
    expect(words("ecma-100", "data", 2, 0xa1)[1]).toBe("44A9");
    expect(words("ecma-100", "data", 2, 0xc2)[1]).toBe("52A4");
  });
});

describe("track layouts", () => {
  const bytes = (id: string, kind: FieldKind) => trackBudget(form(id)).rows.find((each) => each.kind === kind)!.bytes;
  const total = (id: string, gap4: number) => trackBudget(form(id)).content + gap4;

  it("sum to the printed track of FM, 26 × 128", () => {
    // Source: 179x data sheet, section 12.1: 73 + 26 × 188 + 247 = 5208.
    expect(bytes("ecma-54", "gap to index")).toBe(247);
    expect(trackBudget(form("ecma-54")).content).toBe(73 + 26 * 188);
    expect(total("ecma-54", 247)).toBe(5208);
    expect(form("ecma-54").cells).toBe(5208 * 16);
  });

  it.each([
    // Source: 179x data sheet, section 12.2, and an 8-inch drive's manual, figure 6-7 (prints 10416): 26 × 256 with gap 4 of
    // 598, 15 × 512 of 400, 8 × 1024 of 654.
    ["ecma-69", 598],
    ["ecma-69-15x512", 400],
    ["ecma-69-8x1024", 654],
  ])("sum to the printed track of MFM in %s", (id, gap4) => {
    expect(bytes(id, "gap to index")).toBe(gap4);
    expect(total(id, gap4)).toBe(10_416);
  });

  it("have the printed fields of MFM, 26 × 256", () => {
    // Source: 179x data sheet, section 12.2.
    const rows = trackBudget(form("ecma-69")).rows.map(({ kind, times, bytes: count }) => [kind, times, count]);
    expect(rows).toEqual([
      ["gap before index", 1, 80],
      ["index sync", 1, 12],
      ["index mark", 1, 4],
      ["gap after index", 1, 50],
      ["ID sync", 26, 12],
      ["ID mark", 26, 4],
      ["ID", 26, 4],
      ["ID check", 26, 2],
      ["gap after ID", 26, 22],
      ["data sync", 26, 12],
      ["data mark", 26, 4],
      ["data", 26, 256],
      ["data check", 26, 2],
      ["gap after data", 26, 54],
      ["gap to index", 1, 598],
    ]);
  });

  it.each([...recordings.values()].filter(({ code }) => code !== "zoned 4-to-5 group code"))(
    "of $id keep the least gaps of a controller",
    (recording) => {
      // Source: 179x data sheet, section 12.3. The 765 sheets allow 12 bytes after data for 18 × 256.
      const least = (code: string) => (code === "FM" ? [16, 11, 10] : [32, 22, 24]);
      for (let zone = 0; zone < recording.geometry.zones.length; zone++) {
        const { from, side = 0 } = recording.geometry.zones[zone]!;
        const { code, layout } = form(recording.id, from, side);
        const [afterIndex, afterId, afterData] = least(code);
        expect(layout.afterIndex).toBeGreaterThanOrEqual(afterIndex!);
        expect(layout.afterId).toBeGreaterThanOrEqual(afterId!);
        expect(layout.afterData).toBeGreaterThanOrEqual(layout.source.id === "fdc-765" ? 12 : afterData!);
      }
    },
  );
});

describe("nominal turns", () => {
  it.each([
    // Source: rate × time of a turn; rotation and rate from drive manuals and controller sheets (500 and 1000 kbit/s from memory).
    ["ecma-54", 5208.3],
    ["ecma-69", 10_416.7],
    ["ecma-66", 3125],
    ["ecma-70", 6250],
    ["ecma-78", 6250],
    ["ecma-99-b", 10_416.7],
    ["ecma-100", 6250],
    ["ecma-125", 12_500],
    ["ecma-147", 25_000],
    ["zoned-35", 7692.3],
  ])("of %s hold %f bytes", (id, bytes) => {
    const { bytesInTurn } = trackBudget(form(id)).left[0]!;
    expect(Math.abs(bytesInTurn - bytes)).toBeLessThan(0.1);
  });

  it.each([
    // Source: titles of ECMA-59, ECMA-66, ECMA-70 and ECMA-99; the rest from memory. A radian holds that many transitions at the
    // most, so a turn 2π times as many cells in FM (one each), and in MFM one each second cell: bytes = 2π × ftprad ÷ 16 or ÷ 8.
    ["ecma-59", 13_262, 16],
    ["ecma-66", 7958, 16],
    ["ecma-70", 7958, 8],
    ["ecma-99-b", 13_262, 8],
    ["ecma-100", 7958, 8],
    ["ecma-125", 15_916, 8],
    ["ecma-147", 31_831, 8],
  ])("of %s agree with %i transitions a radian", (id, perRadian, share) => {
    const { bytesInTurn } = trackBudget(form(id)).left[0]!;
    expect(bytesInTurn / ((2 * Math.PI * perRadian) / share)).toBeCloseTo(1, 3);
    const densest = Math.max(...recordings.get(id)!.media.map((each) => media.get(each)!.bitDensity.value.value));
    expect(densest).toBeGreaterThanOrEqual(perRadian * 0.99);
  });

  it("of the 35-track zones have cells of 3.25, 3.5, 3.75 and 4 µs", () => {
    // Source: 16 MHz ÷ 13, 14, 15, 16 ÷ 4 (from memory).
    expect([0, 17, 24, 30].map((track) => form("zoned-35", track).cellSeconds * 1e6)).toEqual(
      [3.25, 3.5, 3.75, 4].map((cell) => expect.closeTo(cell, 4)),
    );
  });

  it("of MFM at 250 kbit/s give pulses 4, 6 and 8 µs apart", () => {
    // Source: manual of a 3.5-inch drive, 5.4.4: 4, 6 and 8 µs at 250 kbit/s, 2, 3 and 4 µs at 500.
    expect([2, 3, 4].map((cells) => cells * form("ecma-100").cellSeconds * 1e6)).toEqual(
      [4, 6, 8].map((us) => expect.closeTo(us, 9)),
    );
    expect([2, 3, 4].map((cells) => cells * form("ecma-125").cellSeconds * 1e6)).toEqual(
      [2, 3, 4].map((us) => expect.closeTo(us, 9)),
    );
  });
});
