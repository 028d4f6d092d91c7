import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Layout, layOut, optionsOf, STANDARD_FORMATS } from "./layout.ts";
import { differingSectors, fatBytes, readFat, usedBytes, writeFat } from "./table.ts";

const layouts = STANDARD_FORMATS.map((format) => layOut(optionsOf(format, "descriptor")) as Layout);
const layoutNamed = (name: string): Layout => layouts[STANDARD_FORMATS.findIndex((each) => each.name === name)]!;

describe("the packed FAT", () => {
  it("packs pairs as ECMA-107 clause 8.4 has it", () => {
    // Computed from the rule of the clause; each pair becomes three bytes.
    for (const [first, second, packed] of [
      [0xff0, 0xfff, [0xf0, 0xff, 0xff]],
      [0xff9, 0xfff, [0xf9, 0xff, 0xff]],
      [0x003, 0x004, [0x03, 0x40, 0x00]],
      [0xfff, 0xff7, [0xff, 0x7f, 0xff]],
      [0x123, 0x456, [0x23, 0x61, 0x45]],
      [0xabc, 0xdef, [0xbc, 0xfa, 0xde]],
    ] as const) {
      const bytes = new Uint8Array(3);
      writeFat(Uint16Array.of(first, second), bytes);
      expect([...bytes]).toEqual(packed);
    }
  });

  it("lets entry 341 straddle bytes 511 and 512", () => {
    const layout = layoutNamed("1440K");
    const bytes = new Uint8Array(usedBytes(layout));
    bytes[511] = 0xc0;
    bytes[512] = 0xab;
    expect(readFat(bytes, layout)[341]).toBe(0xabc);
  });

  it("reads back what it wrote, for every standard format", () => {
    fc.assert(
      fc.property(fc.constantFrom(...layouts), fc.integer(), (layout, seed) => {
        const entries = Uint16Array.from({ length: layout.clusters + 2 }, (_, n) => (n * 2654435761 + seed) & 0xfff);
        const bytes = new Uint8Array(layout.sectorsPerFat * layout.sectorSize);
        writeFat(entries, bytes);
        expect(readFat(bytes.subarray(0, usedBytes(layout)), layout)).toEqual(entries);
      }),
      { seed: 12, numRuns: 40 },
    );
  });

  it("reads entries past a cut-off FAT as free", () => {
    const layout = layoutNamed("360K");
    expect(readFat(Uint8Array.of(0xfd, 0xff, 0xff), layout).slice(0, 3)).toEqual(Uint16Array.of(0xffd, 0xfff, 0));
    expect(fatBytes(new Uint8Array(513), layout, 1)).toHaveLength(0);
  });

  it("names each sector in which two copies differ", () => {
    const one = new Uint8Array(3072);
    const other = one.slice();
    for (const at of [0, 7, 600, 2048]) other[at] = 1;
    expect(differingSectors(one, other, 512)).toEqual([0, 1, 4]);
    expect(differingSectors(one, one.subarray(0, 2600), 512)).toEqual([5]);
    expect(differingSectors(one, one.slice(), 512)).toEqual([]);
  });
});

describe("the standard formats", () => {
  it("lay out as the handbook tables say", () => {
    // Sector numbers of root and data, and clusters: arithmetic on the published descriptors of these formats.
    for (const [name, root, data, clusters] of [
      ["360K", 5, 12, 354],
      ["720K", 7, 14, 713],
      ["1200K", 15, 29, 2371],
      ["1440K", 19, 33, 2847],
    ] as const) {
      const layout = layoutNamed(name);
      expect([layout.rootStart, layout.dataStart, layout.clusters]).toEqual([root, data, clusters]);
    }
  });

  it("have FATs that can number all their clusters", () => {
    for (const layout of layouts)
      expect(usedBytes(layout)).toBeLessThanOrEqual(layout.sectorsPerFat * layout.sectorSize);
  });
});
