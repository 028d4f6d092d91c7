import { describe, expect, it } from "vitest";
import type { MapState } from "../../memory/index.ts";
import { faultyLines, type LineFault } from "./lines.ts";
import { type MapFault, seenThrough } from "./map-faults.ts";

/** Writes 16 bytes, each its own number × 17, and reads them back. */
function readBack(fault: LineFault, within?: { from: number; to: number }): string {
  const memory = new Uint8Array(20);
  const words = faultyLines(fault, memory, 4, 16, within);
  words.settle(0);
  for (let word = 0; word < 16; word++) words.write(word, word * 17, word);
  const got = Array.from({ length: 16 }, (_, word) =>
    words
      .read(word, 100 + word, 0)
      .toString(16)
      .toUpperCase()
      .padStart(2, "0"),
  );
  expect(memory.subarray(0, 4)).toEqual(new Uint8Array(4));
  return got.join(" ");
}

describe("faults of lines", () => {
  it.each<[string, LineFault, string]>([
    ["a data line at 1", { kind: "data", bits: 0x01, value: 1 }, "01 11 23 33 45 55 67 77 89 99 AB BB CD DD EF FF"],
    [
      "data lines joined",
      { kind: "data-short", lines: [0, 1], wired: "and" },
      "00 10 20 33 44 54 64 77 88 98 A8 BB CC DC EC FF",
    ],
    [
      "an address line at 0",
      { kind: "address", lines: [3], value: 0, bits: 0xff },
      "88 99 AA BB CC DD EE FF 88 99 AA BB CC DD EE FF",
    ],
    [
      "that of one chip",
      { kind: "address", lines: [3], value: 0, bits: 0x80 },
      "80 91 A2 B3 C4 D5 E6 F7 88 99 AA BB CC DD EE FF",
    ],
    [
      "address lines joined",
      { kind: "address-short", pairs: [[0, 1]], wired: "or", bits: 0xff },
      "00 33 33 33 44 77 77 77 88 BB BB BB CC FF FF FF",
    ],
    [
      "words without a select",
      { kind: "select", from: 4, to: 7, floats: 0xff },
      "00 11 22 33 FF FF FF FF 88 99 AA BB CC DD EE FF",
    ],
    ["a write line open", { kind: "no-write", bits: 0xf0 }, "00 01 02 03 04 05 06 07 08 09 0A 0B 0C 0D 0E 0F"],
    [
      "an output late in going to 1",
      { kind: "slow", bits: 0x01, edge: 1 },
      "00 10 22 32 44 54 66 76 88 98 AA BA CC DC EE FE",
    ],
  ])("%s", (_, fault, expected) => {
    expect(readBack(fault)).toBe(expected);
  });

  it("let rows fall that nobody visits, and charge the others", () => {
    const memory = Uint8Array.of(0x55, 0x55, 0x55, 0x55);
    const words = faultyLines({ kind: "refresh", bits: 0xff, rows: 2, hold: 10 }, memory, 0, 4);
    words.settle(0);
    expect([words.read(0, 9, 0), words.read(2, 18, 0), words.read(1, 18, 0), words.read(3, 19, 0)]).toEqual([
      0x55, 0x55, 0xff, 0xff,
    ]);
  });

  it("leave the other rows of chips alone", () => {
    expect(readBack({ kind: "address", lines: [0], value: 1, bits: 0xff }, { from: 8, to: 15 })).toBe(
      "00 11 22 33 44 55 66 77 99 99 BB BB DD DD FF FF",
    );
  });
});

describe("faults of latches and translation", () => {
  const state: MapState = {
    latches: { window: 5 },
    translation: {
      on: true,
      task: 1,
      writes: 0,
      maps: [
        [0, 1, 2, 3],
        [4, 5, 6, 7],
      ],
    },
  };
  it.each<[string, MapFault, object]>([
    ["an output", { kind: "latch", latch: "window", bit: 1, value: 1 }, { latches: { window: 7 } }],
    ["two joined", { kind: "latch-short", latch: "window", bits: [0, 1], wired: "and" }, { latches: { window: 4 } }],
    ["the switch", { kind: "enable", value: 0 }, { translation: { on: false } }],
    ["the number of the map", { kind: "task", bit: 0, value: 0 }, { translation: { task: 0 } }],
    [
      "a bit of all entries",
      { kind: "block-line", bit: 0, value: 0 },
      {
        translation: {
          maps: [
            [0, 0, 2, 2],
            [4, 4, 6, 6],
          ],
        },
      },
    ],
    [
      "a cell",
      { kind: "block-cell", map: 1, entry: 2, bit: 3, value: 1 },
      {
        translation: {
          maps: [
            [0, 1, 2, 3],
            [4, 5, 14, 7],
          ],
        },
      },
    ],
    [
      "an address line of the tables",
      { kind: "entry-line", bit: 1, value: 1 },
      {
        translation: {
          maps: [
            [2, 3, 2, 3],
            [6, 7, 6, 7],
          ],
        },
      },
    ],
  ])("%s", (_, fault, seen) => {
    expect(seenThrough(fault, state)).toMatchObject(seen);
    expect(state.latches.window).toBe(5);
  });
});
