import { uniform } from "@rouse/core/geometry";
import {
  buildExtentEntry,
  extentEntry,
  fullExtentMask,
  makeOptions,
  makeParameterBlock,
  parameterBlockBytes,
  parameterBlockFaults,
  parseParameterBlock,
  STANDARD_8_INCH,
  skewTable,
} from "@rouse/core/volume/extent-entry";
import { describe, expect, it } from "vitest";

const fromHex = (text: string): Uint8Array => Uint8Array.from(text.match(/../g)!, (pair) => Number.parseInt(pair, 16));

/** Source: skeletal system listing in the 8080/Z80 system manual, the block of the 8-inch single-density disk. */
const PUBLISHED = "1A00030700F2003F00C00010000200";

describe("the published 8-inch parameter block", () => {
  const block = parseParameterBlock(fromHex(PUBLISHED));

  it("says 26 records a track, blocks of 1 KiB, last block 242, 64 entries, two directory blocks, two reserved tracks", () => {
    expect(block).toEqual({ spt: 26, bsh: 3, blm: 7, exm: 0, dsm: 242, drm: 63, al0: 0xc0, al1: 0, cks: 16, off: 2 });
    expect(parameterBlockFaults(block)).toEqual([]);
  });

  it("is what the rules give for that disk, byte for byte", () => {
    expect(parameterBlockBytes(STANDARD_8_INCH.parameters)).toEqual(fromHex(PUBLISHED));
    expect(parameterBlockBytes(block)).toEqual(fromHex(PUBLISHED));
  });

  it("may have a check vector of 0, as listings that use it again print", () => {
    // Source: re-used listings of the same block; the rule of section 6.10 gives 16.
    expect(parameterBlockFaults({ ...block, cks: 0 })).toEqual([]);
  });

  it("agrees with the disk: 256,256 bytes, 243 blocks of which 2 are directory and 241 data", () => {
    // Arithmetic on the block and ECMA-54's 77 tracks of 26 sectors of 128 bytes.
    expect(77 * 26 * 128).toBe(256_256);
    expect(Math.floor(((77 - 2) * 26 * 128) / 1024)).toBe(243);
    const image = buildExtentEntry([], STANDARD_8_INCH);
    expect(image.length).toBe(256_256);
    const volume = extentEntry.open(image, STANDARD_8_INCH);
    expect(volume.freeBlocks).toBe(241 * 8);
    expect(volume.facts).toContainEqual(["Blocks", "243 of 1 KiB, 2 of them the directory"]);
    expect(volume.facts).toContainEqual(["Directory entries", "0 of 64 in use, 64 never used"]);
  });

  it("lets 241 KiB of files be written and not one record more", () => {
    const file = (bytes: number) => [{ path: "FULL.DAT", type: "file" as const, bytes: new Uint8Array(bytes) }];
    const volume = extentEntry.open(buildExtentEntry(file(241 * 1024), STANDARD_8_INCH), STANDARD_8_INCH);
    expect(volume.freeBlocks).toBe(0);
    // 241 KiB take 16 entries: a logical extent holds 16 KiB (table 5-2).
    expect(volume.entries[0]!.details).toContainEqual(["Directory entries", "16"]);
    expect(() => buildExtentEntry(file(241 * 1024 + 1), STANDARD_8_INCH)).toThrow(/full/);
  });
});

describe("the skew of the 8-inch disk", () => {
  it("is the published table of 26 sectors, six apart", () => {
    // Source: translate table of the same skeletal listing; sectors printed from 1.
    const published = [1, 7, 13, 19, 25, 5, 11, 17, 23, 3, 9, 15, 21, 2, 8, 14, 20, 26, 6, 12, 18, 24, 4, 10, 16, 22];
    expect(skewTable(26, 6).map((sector) => sector + 1)).toEqual(published);
  });

  it("puts the directory's second record seven sectors on, behind two reserved tracks", () => {
    const tree = [1, 2, 3, 4, 5].map((n) => ({ path: `F${n}`, type: "file" as const, bytes: new Uint8Array(1) }));
    const image = buildExtentEntry(tree, STANDARD_8_INCH);
    const name = (at: number): string => String.fromCharCode(...image.subarray(at + 1, at + 3));
    expect(name(2 * 26 * 128)).toBe("F1");
    expect(name(2 * 26 * 128 + 6 * 128)).toBe("F5");
  });
});

describe("the manual's tables of block sizes", () => {
  /** Source: tables 6-8, 6-9 and 6-10 of the 8080/Z80 system manual. */
  const ROWS = [
    { size: 1024, bsh: 3, blm: 7, narrow: 0, wide: null, entries: 32 },
    { size: 2048, bsh: 4, blm: 15, narrow: 1, wide: 0, entries: 64 },
    { size: 4096, bsh: 5, blm: 31, narrow: 3, wide: 1, entries: 128 },
    { size: 8192, bsh: 6, blm: 63, narrow: 7, wide: 3, entries: 256 },
    { size: 16_384, bsh: 7, blm: 127, narrow: 15, wide: 7, entries: 512 },
  ];

  it.each(ROWS)("give shift and masks for blocks of $size bytes", ({ size, bsh, blm, narrow, wide, entries }) => {
    expect(fullExtentMask(size, 255)).toBe(narrow);
    expect(fullExtentMask(size, 256)).toBe(wide);
    const made = makeParameterBlock({
      trackBytes: 5120,
      volumeBytes: 200 * size + 5120,
      reservedTracks: 1,
      blockSize: size,
      entries,
    });
    // One bit of AL0 holds that many entries.
    expect(made).toMatchObject({ bsh, blm, exm: narrow, dsm: 199, drm: entries - 1, al0: 0x80, al1: 0 });
    expect(parameterBlockFaults(made)).toEqual([]);
    expect(parameterBlockFaults({ ...made, blm: blm - 1 })[0]).toContain(`asks for ${blm}`);
    expect(parameterBlockFaults({ ...made, drm: entries })[0]).toContain("AL0 and AL1");
  });

  it("give AL0 F0 for 128 entries in blocks of 1 KiB, as the printed example", () => {
    // Source: section 6.10, example DRM 127.
    const options = makeOptions(uniform(40, 1, 18, 128), {
      skew: 1,
      reservedTracks: 3,
      blockSize: 1024,
      entries: 128,
    });
    expect(options.parameters).toMatchObject({ drm: 127, al0: 0xf0, al1: 0, cks: 32 });
  });
});
