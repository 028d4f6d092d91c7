import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { FormatError, InputError } from "../../errors/index.ts";
import { uniform } from "../../geometry/index.ts";
import { OWNER, type TreeEntry, type Volume } from "../types.ts";
import { nameOf } from "./directory.ts";
import { buildExtentEntry, type ExtentEntryOptions, extentEntry, makeOptions, STANDARD_8_INCH } from "./index.ts";
import { layoutOf, systemTracks, type TrackOrder } from "./layout.ts";

const file = (path: string, bytes: Uint8Array, wishes: TreeEntry["wishes"] = {}): TreeEntry => ({
  path,
  type: "file",
  bytes,
  wishes,
});
const filled = (length: number, seed = 1): Uint8Array =>
  Uint8Array.from({ length }, (_, i) => (i * 7 + seed * 31 + (i >> 7)) & 0xff);
const open = (image: Uint8Array, options: ExtentEntryOptions = STANDARD_8_INCH): Volume =>
  extentEntry.open(image, options);
const find = (volume: Volume, path: string) => volume.entries.find((each) => each.path === path)!;
const codes = (volume: Volume): string[] => volume.damages.map((each) => each.code);
/** Byte of directory entry `slot` on the standard volume, whose directory's records lie six sectors apart. */
const slotAt = (slot: number): number => {
  const layout = layoutOf(STANDARD_8_INCH);
  return layout.startByte + layout.skew[slot >> 2]! * 128 + (slot % 4) * 32;
};
function same(a: Uint8Array, b: Uint8Array): boolean {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return a.length === b.length;
}

describe("an extent-entry volume", () => {
  const small = filled(1000);
  const large = filled(40_000, 2);
  const tree = [
    file("SMALL.TXT", small),
    file("user-3/LARGE.DAT", large, { readOnly: true, system: true, archive: true }),
    file("EMPTY", new Uint8Array(0)),
  ];
  const image = buildExtentEntry(tree, STANDARD_8_INCH, Uint8Array.of(0xc3, 0, 1));

  it("lists files of all users with lengths in whole records", () => {
    const volume = open(image);
    expect(volume.entries.map(({ path, size, condition }) => [path, size, condition])).toEqual([
      ["SMALL.TXT", 1024, "whole"],
      ["user-3/LARGE.DAT", 40_064, "whole"],
      ["EMPTY", 0, "whole"],
    ]);
    expect(volume.damages).toEqual([]);
    expect(volume.condition).toBe("whole");
  });

  it("reads extents in order, filled up with the end-of-text character", () => {
    const volume = open(image);
    const { bytes, missing } = volume.read(find(volume, "user-3/LARGE.DAT"));
    expect(same(bytes.subarray(0, 40_000), large)).toBe(true);
    expect(bytes.subarray(40_000).every((byte) => byte === 0x1a)).toBe(true);
    expect(missing).toEqual([]);
  });

  it("tells attributes and user, and keeps the name's exact bytes", () => {
    const entry = find(open(image), "user-3/LARGE.DAT");
    expect(entry.details).toContainEqual(["User", "3"]);
    expect(entry.details).toContainEqual(["Attributes", "read-only, system, archive"]);
    expect(Array.from(entry.nameBytes)).toEqual([0x4c, 0x41, 0x52, 0x47, 0x45, 0x20, 0x20, 0x20, 0xc4, 0xc1, 0xd4]);
  });

  it("gives each block an owner and counts the free ones", () => {
    const volume = open(image);
    expect(volume.freeBlocks).toBe((243 - 2 - 1 - 40) * 8);
    expect(volume.owners.length).toBe(2002);
    expect([...volume.owners].filter((owner) => owner === OWNER.free).length).toBe(volume.freeBlocks);
    expect([...volume.owners].filter((owner) => owner === 1).length).toBe(40 * 8);
    expect(find(volume, "SMALL.TXT").blocks.length).toBe(8);
    for (const block of find(volume, "SMALL.TXT").blocks) expect(volume.owners[block]).toBe(0);
  });

  it("says whether the system tracks hold something", () => {
    const fact = (volume: Volume) => volume.facts.find(([label]) => label === "System tracks")![1];
    expect(fact(open(image))).toBe("2 reserved, 6656 bytes, hold something");
    expect(fact(open(buildExtentEntry([], STANDARD_8_INCH)))).toMatch(/empty: every byte is E5/);
    expect(systemTracks(image, STANDARD_8_INCH).subarray(0, 3)).toEqual(Uint8Array.of(0xc3, 0, 1));
    expect(systemTracks(image, STANDARD_8_INCH).length).toBe(6656);
  });

  it("changes nothing by looking", () => {
    const before = image.slice();
    const volume = open(image);
    for (const entry of volume.entries) volume.read(entry);
    extentEntry.recognise(image);
    expect(same(image, before)).toBe(true);
  });

  it("reads a sparse file's holes as zero bytes", () => {
    const sparse = new Uint8Array(14 * 1024);
    sparse.set(filled(2048, 5), 0);
    sparse.set(filled(1024, 6), 13 * 1024);
    const volume = open(buildExtentEntry([file("RANDOM.DAT", sparse, { sparse: true })], STANDARD_8_INCH));
    const entry = find(volume, "RANDOM.DAT");
    expect(entry.kind).toBe("sparse");
    expect(entry.details).toContainEqual(["Holes", "11 blocks never written, read as zero bytes"]);
    expect(entry.blocks.length).toBe(3 * 8);
    expect(volume.read(entry)).toEqual({ bytes: sparse, condition: "whole", missing: [] });
    expect(volume.damages).toEqual([]);
  });

  it("lists a deleted file with what no live file took over", () => {
    const gone = filled(3 * 1024, 9);
    const built = buildExtentEntry(
      [file("GONE.TXT", gone, { deleted: true }), file("HERE.TXT", small)],
      STANDARD_8_INCH,
    );
    const whole = open(built);
    expect(find(whole, "GONE.TXT")).toMatchObject({ deleted: true, condition: "whole", size: 3072 });
    expect(same(whole.read(find(whole, "GONE.TXT")).bytes, gone)).toBe(true);
    // The live file's one block now is the deleted file's second.
    built[slotAt(1) + 16] = built[slotAt(0) + 17]!;
    const partly = open(built);
    const entry = find(partly, "GONE.TXT");
    expect(entry.condition).toBe("readable with loss");
    expect(partly.read(entry).missing).toEqual([{ offset: 1024, length: 1024 }]);
    expect(partly.damages).toEqual([]);
  });

  it("gives a live file the plain path and a deleted one of the same name another", () => {
    const built = buildExtentEntry([file("A.TXT", small, { deleted: true }), file("A.TXT", large)], STANDARD_8_INCH);
    expect(open(built).entries.map((each) => [each.path, each.deleted])).toEqual([
      ["A.TXT", false],
      ["A.TXT~2", true],
    ]);
  });

  it("recognises label and date entries of the later format", () => {
    const built = buildExtentEntry([file("DATED.TXT", small), file("B.TXT", small)], STANDARD_8_INCH);
    const label = slotAt(2);
    built.fill(0, label, label + 32);
    built.set([0x20, ..."LARKFLD ".split("").map((each) => each.charCodeAt(0)), 0x44, 0x53, 0x4b, 0x31], label);
    const dates = slotAt(3);
    built.fill(0, dates, dates + 32);
    // Day 366 is 1979-01-01, day 790 is 1980-02-29.
    built.set([0x21, 0x6e, 0x01, 0x09, 0x30, 0x16, 0x03, 0x23, 0x59], dates);
    const volume = open(built);
    expect(volume.label).toBe("LARKFLD.DSK");
    expect(find(volume, "DATED.TXT").details).toEqual(
      expect.arrayContaining([
        ["Created or last used", "1979-01-01 09:30"],
        ["Changed", "1980-02-29 23:59"],
      ]),
    );
    expect(volume.facts).toContainEqual(["Date entries", "yes, the later format"]);
    expect(volume.entries.length).toBe(2);
    expect(volume.damages).toEqual([]);
  });
});

describe("a disk that fills one side after the other", () => {
  it("has its blocks on side 1 behind those of side 0, and its reserved tracks on side 0 alone", () => {
    const geometry = uniform(40, 2, 10, 512);
    const wishes = { skew: 1, reservedTracks: 2, blockSize: 2048, entries: 128 };
    const system = filled(2 * 5120, 8);
    // Blocks 2 to 190 fill side 0 from track 2 to its end and go on to side 1.
    const tree = [file("FULL.DAT", filled(380 * 512, 3)), file("NEXT.DAT", filled(4096, 4))];
    for (const [trackOrder, firstOfSide1] of [
      ["side 1 after side 0", 0],
      ["there and back", 39],
    ] as const) {
      const options = makeOptions(geometry, { ...wishes, trackOrder });
      const image = buildExtentEntry(tree, options, system);
      expect(same(systemTracks(image, options), system)).toBe(true);
      // Tracks of the image take turns: track 1 of side 0 is the third.
      expect(same(image.subarray(10_240, 15_360), system.subarray(5120))).toBe(true);
      const volume = open(image, options);
      expect(volume.damages).toEqual([]);
      const blocks = find(volume, "FULL.DAT").blocks;
      const onSide1 = blocks.filter((block) => Math.floor(block / 10) % 2 === 1);
      expect(onSide1[0]).toBe((firstOfSide1 * 2 + 1) * 10);
      for (const { path, bytes } of tree) expect(same(volume.read(find(volume, path)).bytes, bytes)).toBe(true);
    }
  });
});

describe("damage of an extent-entry volume", () => {
  const tree = [file("ONE.TXT", filled(3000, 1)), file("TWO.TXT", filled(3000, 2)), file("BIG.DAT", filled(50_000, 3))];
  const damaged = (change: (image: Uint8Array) => void): Volume => {
    const image = buildExtentEntry(tree, STANDARD_8_INCH);
    change(image);
    return open(image);
  };

  it("tells a block claimed twice, with both files", () => {
    const volume = damaged((image) => {
      image[slotAt(1) + 16] = image[slotAt(0) + 18]!;
    });
    expect(volume.damages).toMatchObject([
      { code: "block-claimed-twice", condition: "readable with loss", files: ["ONE.TXT", "TWO.TXT"], blockCount: 8 },
    ]);
    expect([...volume.owners].filter((owner) => owner === OWNER.clash).length).toBe(8);
    expect(volume.condition).toBe("readable with loss");
  });

  it("tells a pointer past the end and reads the rest", () => {
    const volume = damaged((image) => {
      image[slotAt(0) + 17] = 250;
    });
    expect(volume.damages).toMatchObject([{ code: "pointer-past-end", files: ["ONE.TXT"] }]);
    const { bytes, missing } = volume.read(find(volume, "ONE.TXT"));
    expect(missing).toEqual([{ offset: 1024, length: 1024 }]);
    expect(same(bytes.subarray(0, 1024), filled(3000, 1).subarray(0, 1024))).toBe(true);
  });

  it("tells a pointer into the directory", () => {
    const volume = damaged((image) => {
      image[slotAt(0) + 16] = 1;
    });
    expect(volume.damages).toMatchObject([{ code: "pointer-in-directory", files: ["ONE.TXT"], blockCount: 8 }]);
    for (const block of volume.damages[0]!.blocks) expect(volume.owners[block]).toBe(OWNER.system);
  });

  it("tells a missing extent and where the file lacks it", () => {
    const volume = damaged((image) => {
      // BIG.DAT has extents 0 to 3 in slots 2 to 5; the second goes back to fill.
      image.fill(0xe5, slotAt(3), slotAt(3) + 32);
    });
    expect(volume.damages).toMatchObject([{ code: "missing-extent", files: ["BIG.DAT"] }]);
    expect(volume.read(find(volume, "BIG.DAT")).missing).toEqual([{ offset: 16_384, length: 16_384 }]);
    expect(find(volume, "BIG.DAT")).toMatchObject({ kind: "sparse", condition: "readable with loss" });
  });

  it("tells a stretch that two entries cover, and whether they agree", () => {
    const copy = (image: Uint8Array): void => {
      image.set(image.slice(slotAt(2), slotAt(2) + 32), slotAt(6));
    };
    expect(damaged(copy).damages).toMatchObject([{ code: "duplicate-extent", condition: "whole" }]);
    const volume = damaged((image) => {
      copy(image);
      image[slotAt(6) + 16] = 200;
    });
    expect(volume.damages).toMatchObject([{ code: "duplicate-extent", condition: "readable with loss" }]);
    expect([...volume.owners].filter((owner) => owner === OWNER.lost).length).toBe(8);
  });

  it("tells records without blocks, and blocks without records", () => {
    expect(
      damaged((image) => {
        image[slotAt(0) + 15] = 40;
      }).damages,
    ).toMatchObject([{ code: "records-without-block", files: ["ONE.TXT"] }]);
    expect(
      damaged((image) => {
        image[slotAt(0) + 15] = 8;
      }).damages,
    ).toMatchObject([{ code: "block-without-records", condition: "whole" }]);
  });

  it("tells an extent number that no file of this disk reaches", () => {
    const volume = damaged((image) => {
      image[slotAt(0) + 14] = 60;
    });
    expect(volume.damages).toMatchObject([{ code: "extent-number", condition: "lost", files: ["ONE.TXT"] }]);
    expect(volume.read(find(volume, "ONE.TXT")).bytes.length).toBe(0);
  });

  it("tells an illegal name and an unreadable entry", () => {
    expect(
      damaged((image) => {
        image[slotAt(0) + 2] = 0x6e;
      }).damages,
    ).toMatchObject([{ code: "illegal-name", condition: "whole", files: ["OnE.TXT"] }]);
    expect(
      damaged((image) => {
        image[slotAt(0)] = 0x77;
      }).damages,
    ).toMatchObject([{ code: "unreadable-entry", condition: "readable with loss", blocks: [52] }]);
  });

  it("tells a short image, and the files that it cuts", () => {
    const image = buildExtentEntry([...tree, file("LAST.DAT", filled(180_000, 4))], STANDARD_8_INCH);
    const volume = open(image.subarray(0, 230_000));
    expect(codes(volume)).toEqual(["short-image", "block-not-in-image"]);
    const last = find(volume, "LAST.DAT");
    expect(last.condition).toBe("readable with loss");
    const { bytes, missing } = volume.read(last);
    const lacks = missing.reduce((sum, each) => sum + each.length, 0);
    expect(lacks).toBeGreaterThan(5_000);
    expect(lacks).toBeLessThan(20_000);
    expect(same(bytes.subarray(0, 100_000), filled(180_000, 4).subarray(0, 100_000))).toBe(true);
  });

  it("tells a parameter block that contradicts itself", () => {
    const { parameters } = STANDARD_8_INCH;
    const options = { ...STANDARD_8_INCH, parameters: { ...parameters, blm: 15, al0: 0x80 } };
    expect(codes(open(buildExtentEntry(tree, STANDARD_8_INCH), options))).toEqual([
      "parameter-block",
      "parameter-block",
    ]);
  });

  it("refuses options that can't be", () => {
    const image = buildExtentEntry(tree, STANDARD_8_INCH);
    const { parameters } = STANDARD_8_INCH;
    const wrong: ExtentEntryOptions[] = [
      { ...STANDARD_8_INCH, skew: [0, 1, 2] },
      { ...STANDARD_8_INCH, parameters: { ...parameters, bsh: 9 } },
      { ...STANDARD_8_INCH, parameters: { ...parameters, spt: 25 } },
      { ...STANDARD_8_INCH, parameters: { ...parameters, off: 77 } },
      { ...STANDARD_8_INCH, geometry: uniform(77, 1, 26, 100) },
      { ...STANDARD_8_INCH, geometry: uniform(1e9, 1, 26, 128) },
    ];
    for (const options of wrong) expect(() => open(image, options)).toThrow(FormatError);
    expect(() => open(image.subarray(0, 6656), STANDARD_8_INCH)).toThrow(/ends before the directory/);
  });
});

describe("names of an extent-entry volume", () => {
  it("never let a control character, a slash or a second dot through", () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 11, maxLength: 11 }), (bytes) => {
        expect(nameOf(bytes)).toMatch(/^[ -.0-[\]-~]+$/);
        expect(nameOf(bytes).split(".").length).toBeLessThanOrEqual(2);
      }),
      { numRuns: 500, seed: 3 },
    );
    const name = Uint8Array.from("\x1b[2J/\\..T.T", (each) => each.charCodeAt(0));
    expect(nameOf(name)).toBe("%1B[2J%2F%5C%2E%2E.T%2ET");
  });

  it("are refused by the builder where no such volume can hold them", () => {
    for (const path of [
      "TOOLONGNAME.TXT",
      "A.LONG",
      "lower.txt",
      "A*B",
      "user-16/A",
      "dir/A",
      "user-1/x/A",
      "",
      "Ä.TXT",
      "A B",
    ])
      expect(() => buildExtentEntry([file(path, filled(1))], STANDARD_8_INCH), path).toThrow(InputError);
    expect(() => buildExtentEntry([file("A", filled(250_000))], STANDARD_8_INCH)).toThrow(/disk is full/);
    const many = Array.from({ length: 65 }, (_, i) => file(`F${i}`, new Uint8Array(0)));
    expect(() => buildExtentEntry(many, STANDARD_8_INCH)).toThrow(/64 entries are taken/);
    expect(() => buildExtentEntry([], STANDARD_8_INCH, new Uint8Array(6657))).toThrow(/reserved tracks hold 6656/);
  });
});

/** Options of many kinds: 8-inch of both densities, 5.25-inch and 3.5-inch, both pointer widths, all block sizes. */
const anyOptions: fc.Arbitrary<ExtentEntryOptions> = fc
  .record({
    geometry: fc.constantFrom(
      uniform(77, 1, 26, 128),
      uniform(77, 2, 26, 256),
      uniform(77, 2, 8, 1024, "side-after-side"),
      uniform(40, 1, 10, 512),
      uniform(40, 2, 18, 128),
      uniform(80, 2, 9, 512),
      {
        ...uniform(77, 1, 26, 256),
        zones: [
          { from: 0, to: 0, sectors: 26, size: 128 },
          { from: 1, to: 76, sectors: 26, size: 256 },
        ],
      },
    ),
    skew: fc.integer({ min: 1, max: 7 }),
    reservedTracks: fc.integer({ min: 1, max: 4 }),
    shift: fc.integer({ min: 0, max: 4 }),
    directoryBlocks: fc.integer({ min: 1, max: 3 }),
    order: fc.constantFrom<TrackOrder>("as the image", "side 1 after side 0", "there and back"),
  })
  .map(({ geometry, skew, reservedTracks, shift, directoryBlocks, order }) => {
    const zone = geometry.zones.at(-1)!;
    const room = zone.sectors * zone.size * geometry.tracks * geometry.sides;
    const blockSize = room > 256 * 1024 ? 2048 << Math.min(shift, 3) : 1024 << shift;
    const entries = (directoryBlocks * blockSize) / 32;
    const trackOrder = geometry.sides === 2 ? order : "as the image";
    return makeOptions(geometry, { skew, reservedTracks, blockSize, entries, trackOrder });
  });

const anyTree: fc.Arbitrary<TreeEntry[]> = fc.uniqueArray(
  fc
    .record({
      user: fc.integer({ min: 0, max: 15 }),
      stem: fc.stringMatching(/^[A-Z0-9$#@!%&'()_{}~^-]{1,8}$/),
      type: fc.stringMatching(/^[A-Z0-9$]{0,3}$/),
      length: fc.oneof(fc.integer({ min: 0, max: 3000 }), fc.integer({ min: 0, max: 40_000 })),
      seed: fc.nat(),
      readOnly: fc.boolean(),
      archive: fc.boolean(),
    })
    .map(({ user, stem, type, length, seed, readOnly, archive }) => {
      const name = type ? `${stem}.${type}` : stem;
      return file(user > 0 ? `user-${user}/${name}` : name, filled(length, seed % 251), { readOnly, archive });
    }),
  { selector: (each) => each.path, maxLength: 10 },
);

describe("any extent-entry volume", () => {
  it("gives back the tree that was built", () => {
    let built = 0;
    fc.assert(
      fc.property(anyOptions, anyTree, (options, tree) => {
        let image: Uint8Array;
        try {
          image = buildExtentEntry(tree, options);
        } catch (error) {
          expect((error as Error).message).toMatch(/full|taken/);
          return;
        }
        built++;
        const volume = extentEntry.open(image, options);
        expect(volume.damages).toEqual([]);
        expect(volume.entries.map((each) => each.path).sort()).toEqual(tree.map((each) => each.path).sort());
        for (const { path, bytes, wishes } of tree) {
          const entry = find(volume, path);
          const read = volume.read(entry);
          expect(read.bytes.length).toBe(Math.ceil(bytes.length / 128) * 128);
          expect(entry.size).toBe(read.bytes.length);
          expect(same(read.bytes.subarray(0, bytes.length), bytes)).toBe(true);
          const attributes = entry.details.find(([label]) => label === "Attributes")?.[1] ?? "";
          expect(attributes.includes("read-only")).toBe(wishes!["readOnly"]);
        }
      }),
      { numRuns: 40, seed: 7 },
    );
    expect(built).toBeGreaterThan(25);
  });

  const onDisk =
    (volume: Volume) =>
    (block: number): boolean =>
      block >= 0 && block < volume.owners.length;

  /** Everything an image is asked; whatever it holds, only an `InputError` may come of it. */
  const survives = (image: Uint8Array, options: ExtentEntryOptions): void => {
    for (const candidate of [...extentEntry.recognise(image).map((each) => each.options), options]) {
      let volume: Volume;
      try {
        volume = extentEntry.open(image, candidate);
      } catch (error) {
        expect(error).toBeInstanceOf(InputError);
        continue;
      }
      expect(new Set(volume.entries.map((each) => each.path)).size).toBe(volume.entries.length);
      for (const entry of volume.entries) {
        expect(entry.path).toMatch(/^[ -~]+$/);
        const { bytes, missing, condition } = volume.read(entry);
        expect(bytes.length).toBe(entry.size);
        expect(bytes.length).toBeLessThanOrEqual(4 * image.length + 32_768);
        if (missing.length > 0) expect(condition).not.toBe("whole");
        expect(entry.blocks.every(onDisk(volume))).toBe(true);
        expect(entry.ownBlocks.every(onDisk(volume))).toBe(true);
        for (const { offset, length } of missing) expect(offset + length).toBeLessThanOrEqual(bytes.length);
      }
      for (const damage of volume.damages) {
        expect(damage.sentence.length).toBeGreaterThan(10);
        expect(damage.blocks.length).toBeLessThanOrEqual(64);
        expect(damage.blocks.every(onDisk(volume))).toBe(true);
      }
    }
  };

  it("survives any bytes at all", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 20_000 }), anyOptions, (bytes, options) => survives(bytes, options)),
      { numRuns: 100, seed: 5 },
    );
  });

  it("survives any parameter block", () => {
    const image = buildExtentEntry([file("A.TXT", filled(5000))], STANDARD_8_INCH);
    const byte = fc.integer({ min: 0, max: 255 });
    const word = fc.integer({ min: 0, max: 65_535 });
    fc.assert(
      fc.property(
        fc.record({
          spt: fc.constantFrom(26, 52),
          bsh: fc.integer({ min: 0, max: 8 }),
          blm: byte,
          exm: fc.constantFrom(0, 1, 3, 7, 2, 255),
          dsm: word,
          drm: word,
          al0: byte,
          al1: byte,
          cks: word,
          off: fc.integer({ min: 0, max: 90 }),
        }),
        (parameters) => survives(image, { ...STANDARD_8_INCH, parameters }),
      ),
      { numRuns: 60, seed: 9 },
    );
  });

  it("survives seeded mutations, and still gives the files that they missed", () => {
    const tree = Array.from({ length: 12 }, (_, i) => file(`F${i}.TXT`, filled(2000 + i * 1500, i)));
    const image = buildExtentEntry(tree, STANDARD_8_INCH);
    const { startByte } = layoutOf(STANDARD_8_INCH);
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            at: fc.oneof(fc.integer({ min: 0, max: 26 * 128 }), fc.nat(image.length - startByte - 1)),
            value: fc.integer({ min: 0, max: 255 }),
          }),
          { minLength: 1, maxLength: 12 },
        ),
        (changes) => {
          const mutated = image.slice();
          for (const { at, value } of changes) mutated[startByte + at] = value;
          survives(mutated, STANDARD_8_INCH);
          const volume = open(mutated);
          const right = tree.filter(({ path, bytes }) => {
            const entry = volume.entries.find((each) => each.path === path);
            return entry && same(volume.read(entry).bytes.subarray(0, bytes.length), bytes);
          });
          // A change can hit at most the file whose entry or block it is in, and one that it makes clash.
          expect(right.length).toBeGreaterThanOrEqual(tree.length - 2 * changes.length);
        },
      ),
      { numRuns: 60, seed: 13 },
    );
  });
});
