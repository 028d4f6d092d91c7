import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../../bytes/index.ts";
import { FormatError, InputError } from "../../errors/index.ts";
import { mapBlocks } from "../../geometry/index.ts";
import { OWNER, type TreeEntry, type Volume } from "../types.ts";
import { buildSegmentList, type SegmentListBuild, segmentList } from "./index.ts";

const PLAIN: SegmentListBuild = { tracks: 35, sides: 1, sectors: 18, name: "Larkfield", owner: 7 };

const pattern = (length: number, seed: number): Uint8Array =>
  Uint8Array.from({ length }, (_, index) => (index * 7 + seed * 31 + (index >> 8)) & 0xff);

const file = (path: string, bytes: Uint8Array, wishes?: TreeEntry["wishes"]): TreeEntry => ({
  path,
  type: "file",
  bytes,
  ...(wishes ? { wishes } : {}),
});

const TREE: TreeEntry[] = [
  file("Start", pattern(1500, 1)),
  file("texts/readme", pattern(600, 2), {
    segments: 3,
    attributes: "PE PR E W R",
    owner: 513,
    modified: "1984-02-29 23:59",
  }),
  file("texts/empty", new Uint8Array(0)),
  file("texts/old", pattern(300, 3), { deleted: true }),
  { path: "commands", type: "folder", bytes: new Uint8Array(0) },
];

const openImage = (image: Uint8Array): Volume => {
  const [candidate] = segmentList.recognise(image);
  expect(candidate).toBeDefined();
  return segmentList.open(image, candidate!.options);
};
const entryOf = (volume: Volume, path: string) => {
  const entry = volume.entries.find((each) => each.path === path);
  expect(entry, path).toBeDefined();
  return entry!;
};
const codes = (volume: Volume): string[] => volume.damages.map((damage) => damage.code);
/** Opens the built tree after a change to its bytes; `at` finds the descriptor of a path in the sound image. */
const damaged = (
  change: (image: Uint8Array, descriptor: (path: string) => number) => void,
  build = PLAIN,
  tree = TREE,
) => {
  const image = buildSegmentList(tree, build);
  const sound = openImage(image);
  change(image, (path) => entryOf(sound, path).ownBlocks[0]! * 256);
  return openImage(image);
};
const rootSector = (image: Uint8Array): number => ((image[8]! << 16) | (image[9]! << 8) | image[10]!) * 256;

describe("a sound segment-list volume", () => {
  it("gives back its tree, dates, attributes and owner", () => {
    const image = buildSegmentList(TREE, { ...PLAIN, bootstrap: "Start" });
    const volume = openImage(image);
    expect(volume.damages).toEqual([]);
    expect(volume.condition).toBe("whole");
    expect(volume.label).toBe("Larkfield");
    expect(volume.entries.map((entry) => [entry.path, entry.type, entry.size, entry.deleted])).toEqual([
      ["Start", "file", 1500, false],
      ["texts", "folder", 160, false],
      ["texts/readme", "file", 600, false],
      ["texts/empty", "file", 0, false],
      ["texts/?ld", "file", 300, true],
      ["commands", "folder", 64, false],
    ]);
    const readme = entryOf(volume, "texts/readme");
    expect(Object.fromEntries(readme.details)).toMatchObject({
      Attributes: "PE PR E W R",
      Owner: "513",
      Modified: "1984-02-29 23:59",
      Created: "1983-01-15",
      Links: "1",
      Segments: "3 of 48",
    });
    expect(volume.read(readme)).toEqual({ bytes: pattern(600, 2), condition: "whole", missing: [] });
    expect(readme.blocks).toHaveLength(3);
    expect(readme.blocks[1]).toBeGreaterThan(readme.blocks[0]! + 1);
    expect(volume.facts).toContainEqual([
      "Bootstrap",
      expect.stringMatching(/^1500 bytes .* 6 sectors, the file Start$/),
    ]);
    expect(volume.freeBlocks).toBe(volume.owners.filter((owner) => owner === OWNER.free).length);
  });

  it("lists a deleted file with its data while nobody has taken its sectors", () => {
    const volume = openImage(buildSegmentList(TREE, PLAIN));
    const old = entryOf(volume, "texts/?ld");
    expect([old.condition, old.nameBytes]).toEqual(["whole", new Uint8Array([0, 0x6c, 0xe4])]);
    expect(volume.read(old).bytes).toEqual(pattern(300, 3));
  });

  it("tells a deleted file whose sectors have a new use as lost", () => {
    const volume = damaged((image, descriptor) => {
      const start = descriptor("Start");
      // The empty file's descriptor is given the deleted file's sector as a segment.
      image.set([0, 0, descriptor("texts/?ld") / 256, 0, 1], descriptor("texts/empty") + 16);
      expect(image[start]).toBeDefined();
    });
    expect(entryOf(volume, "texts/?ld").condition).toBe("lost");
    expect(volume.read(entryOf(volume, "texts/?ld")).bytes).toHaveLength(0);
  });

  it.each([
    ["two sides", { tracks: 80, sides: 2, sectors: 16 }, "80 tracks, two sides, 16 sectors a track", 1],
    [
      "a first track of its own",
      { tracks: 77, sides: 2, sectors: 28, firstTrackSectors: 16 },
      "77 tracks, two sides, 28 sectors a track (16 on the first)",
      2,
    ],
  ] as const)("knows its geometry with %s", (_, geometry, words, clusterSectors) => {
    const image = buildSegmentList([file("A", pattern(5000, 1), { segments: 2 })], { ...geometry, name: "G" });
    const volume = openImage(image);
    expect(volume.format).toBe(words);
    expect(mapBlocks(volume.geometry).blocks * 256).toBe(image.length);
    expect(volume.facts).toContainEqual(["Sectors per cluster", String(clusterSectors)]);
    expect(volume.damages).toEqual([]);
    expect(volume.read(entryOf(volume, "A")).bytes).toEqual(pattern(5000, 1));
  });

  it("tells program modules by their first bytes", () => {
    const volume = openImage(buildSegmentList([file("m", Uint8Array.from([0x87, 0xcd, 0, 16]))], PLAIN));
    expect(entryOf(volume, "m").kind).toBe("program modules");
  });

  it("says that a full list cannot grow", () => {
    const volume = openImage(buildSegmentList([file("f", pattern(48 * 256, 1), { segments: 48 })], PLAIN));
    expect(entryOf(volume, "f").details).toContainEqual(["Segments", expect.stringMatching(/^48: the list is full/)]);
    expect(volume.read(entryOf(volume, "f")).bytes).toEqual(pattern(48 * 256, 1));
  });
});

describe("a damaged segment-list volume", () => {
  const mapBit = (image: Uint8Array, block: number, set: boolean): void => {
    const at = 256 + (block >> 3);
    if (set) image[at]! |= 0x80 >> (block & 7);
    else image[at]! &= ~(0x80 >> (block & 7));
  };

  it("names files whose sectors the map calls free", () => {
    const volume = damaged((image, descriptor) => mapBit(image, descriptor("Start") / 256 + 2, false));
    expect(volume.damages).toMatchObject([
      { code: "held-but-free", condition: "whole", blockCount: 1, files: ["Start"] },
    ]);
    expect(volume.condition).toBe("whole");
  });

  it("counts lost sectors and marks them", () => {
    const volume = damaged((image) => mapBit(image, 600, true));
    expect(volume.damages).toMatchObject([{ code: "lost-sector", blocks: [600], files: [] }]);
    expect(volume.owners[600]).toBe(OWNER.lost);
  });

  it("warns of free bits past the end of the volume", () => {
    const volume = damaged((image) => mapBit(image, 631, false));
    expect(codes(volume)).toEqual(["map-tail-free"]);
  });

  it("tells sectors that two files share, and what both lose", () => {
    const volume = damaged((image, descriptor) => {
      image.copyWithin(descriptor("texts/empty") + 9, descriptor("Start") + 9, descriptor("Start") + 21);
    });
    const clash = volume.damages.find((damage) => damage.code === "shared-sector")!;
    expect(clash.files).toEqual(["Start", "texts/empty"]);
    expect(clash.blockCount).toBe(6);
    expect(volume.owners[clash.blocks[0]!]).toBe(OWNER.clash);
    expect(entryOf(volume, "Start").condition).toBe("readable with loss");
    expect(volume.read(entryOf(volume, "Start")).bytes).toEqual(pattern(1500, 1));
  });

  it("reads a file whose segment leaves the volume as far as it goes", () => {
    const volume = damaged((image, descriptor) => {
      image.set([0, 0x02, 0x74], descriptor("Start") + 16); // 628 of 630, six sectors
    });
    expect(codes(volume)).toContain("segment-past-end");
    const content = volume.read(entryOf(volume, "Start"));
    expect(content.condition).toBe("readable with loss");
    expect(content.bytes).toHaveLength(1500);
    expect(content.missing).toEqual([{ offset: 512, length: 988 }]);
  });

  it("calls a file lost whose only segment is outside the volume", () => {
    const volume = damaged((image, descriptor) => image.set([0x10, 0, 0], descriptor("Start") + 16));
    expect(entryOf(volume, "Start").condition).toBe("lost");
    expect(volume.condition).toBe("readable with loss");
  });

  it("takes no content for a descriptor and no text for entries", () => {
    const volume = damaged((image, descriptor) => {
      image.set(pattern(256, 9), descriptor("Start"));
      const at = ((image[descriptor("texts") + 17]! << 8) | image[descriptor("texts") + 18]!) * 256;
      image.set(asciiBytes("This is a text and no directory."), at + 64);
    });
    expect(codes(volume)).toEqual(expect.arrayContaining(["no-descriptor", "slot-without-entry"]));
    expect(codes(volume)).not.toContain("shared-sector");
    expect(entryOf(volume, "Start")).toMatchObject({ condition: "lost", blocks: [], size: 0 });
    expect(volume.read(entryOf(volume, "Start")).condition).toBe("lost");
    expect(volume.entries.filter((entry) => entry.path.startsWith("texts/"))).toHaveLength(2);
  });

  it("never makes more bytes than the image has for a size that lies", () => {
    const volume = damaged((image, descriptor) => image.set([0xff, 0xff, 0xff, 0xff], descriptor("Start") + 9));
    const content = volume.read(entryOf(volume, "Start"));
    expect(codes(volume)).toContain("size-beyond-segments");
    expect(content.bytes).toHaveLength(630 * 256);
    expect(content.missing).toEqual([{ offset: 6 * 256, length: 0xffffffff - 6 * 256 }]);
  });

  it("stops at a loop of folders", () => {
    const volume = damaged((image, descriptor) => {
      const texts =
        ((image[descriptor("texts") + 16]! << 16) |
          (image[descriptor("texts") + 17]! << 8) |
          image[descriptor("texts") + 18]!) *
        256;
      const lsn = descriptor("texts") / 256;
      image.set([lsn >> 16, lsn >> 8, lsn & 0xff], texts + 3 * 32 + 29); // `empty` leads to its own folder
    });
    expect(codes(volume)).toContain("folder-loop");
    expect(entryOf(volume, "texts/readme").condition).toBe("whole");
  });

  it("checks parent, self and link count", () => {
    const volume = damaged((image, descriptor) => {
      const at = ((image[descriptor("texts") + 17]! << 8) | image[descriptor("texts") + 18]!) * 256;
      image[at + 31]! ^= 1;
      image[at + 32] = 0x58;
      image[at + 33] = 0xd8;
      image[descriptor("Start") + 8] = 4;
    });
    expect(codes(volume)).toEqual(expect.arrayContaining(["wrong-parent", "missing-self", "link-count"]));
  });

  it("reads a directory to the end of its sectors where its size is gone", () => {
    const volume = damaged((image, descriptor) => image.set([0, 0, 0, 0], descriptor("texts") + 9));
    expect(codes(volume)).toContain("directory-size");
    expect(entryOf(volume, "texts/readme").condition).toBe("whole");
  });

  it("finds the root directory of a volume whose first two sectors are gone", () => {
    const volume = damaged((image) => image.fill(0xe5, 0, 512));
    expect(codes(volume)).toContain("identification");
    expect(volume.read(entryOf(volume, "texts/readme")).bytes).toEqual(pattern(600, 2));
  });

  it("lists what a short image still holds", () => {
    const big = pattern(120_000, 5);
    const volume = openImage(buildSegmentList([...TREE, file("big", big)], PLAIN).subarray(0, 300 * 256 + 100));
    expect(codes(volume)).toEqual(expect.arrayContaining(["image-short", "segment-past-image"]));
    const content = volume.read(entryOf(volume, "big"));
    expect(content.condition).toBe("readable with loss");
    const held = content.missing[0]!.offset;
    expect(held % 256).toBe(100);
    expect(content.bytes.subarray(0, held)).toEqual(big.subarray(0, held));
  });

  it("says that nothing can be found where the root is outside", () => {
    const image = buildSegmentList(TREE, PLAIN);
    const options = segmentList.recognise(image)[0]!.options;
    const volume = segmentList.open(image, { ...options, root: 5000 });
    expect([volume.condition, volume.entries.length]).toEqual(["lost", 0]);
    expect(codes(volume)).toContain("no-root");
  });

  it.each([
    ["past the end", (image: Uint8Array) => image.set([0, 2, 0x74, 8, 0], 0x15), "bootstrap-past-end"],
    ["of another size", (image: Uint8Array) => image.set([5, 0xdb], 0x18), "bootstrap-size"],
    ["nobody's and free", (image: Uint8Array) => image.set([0, 2, 0], 0x15), "held-but-free"],
    ["inside another file", (image: Uint8Array) => image[0x17]!++, "bootstrap-overwritten"],
    ["without bytes", (image: Uint8Array) => image.set([0, 0], 0x18), "bootstrap-empty"],
  ])("tells a bootstrap that is %s", (_, change, code) => {
    expect(codes(damaged(change as (image: Uint8Array) => void, { ...PLAIN, bootstrap: "Start" }))).toContain(code);
  });

  it("takes a bootstrap that is no file as the system's", () => {
    const volume = damaged((image) => {
      image.set([0, 2, 0, 1, 0x80], 0x15);
      mapBit(image, 512, true);
      mapBit(image, 513, true);
    });
    expect(volume.damages).toEqual([]);
    expect([volume.owners[512], volume.owners[513]]).toEqual([OWNER.system, OWNER.system]);
    expect(volume.facts).toContainEqual(["Bootstrap", "384 bytes from sector 512 (hex 000200), 2 sectors, no file's"]);
  });

  it("tells a bootstrap in pieces", () => {
    const volume = damaged((image) => {
      const readme = entryOf(openImage(image), "texts/readme");
      image.set([0, 0, readme.blocks[0]!, 600 >> 8, 600 & 0xff], 0x15);
    });
    expect(codes(volume)).toContain("bootstrap-in-pieces");
  });

  it("shows control characters, slashes and dots of a name safely, and keeps names apart", () => {
    const volume = damaged((image) => {
      const root = rootSector(image);
      const at = ((image[root + 17]! << 8) | image[root + 18]!) * 256 + 64;
      image.set([0x1b, 0x2f, 0x5c, 0x80 | 0x41], at);
      image.set([0x2e, 0x2e | 0x80], at + 32);
      image.copyWithin(at + 64, at, at + 4);
    });
    expect(volume.entries.filter((entry) => !entry.path.startsWith("%2E%2E/")).map((entry) => entry.path)).toEqual([
      "%1B%2F%5CA",
      "%2E%2E",
      "%1B%2F%5CA~2",
    ]);
    expect(volume.entries[0]!.nameBytes).toEqual(new Uint8Array([0x1b, 0x2f, 0x5c, 0xc1]));
  });

  it("refuses only what has no room for a volume", () => {
    const options = { total: 1, clusterSectors: 1, root: 1, sectorsPerTrack: 1, sides: 1 } as const;
    expect(() => segmentList.open(new Uint8Array(100), options)).toThrow(FormatError);
    expect(segmentList.recognise(new Uint8Array(100))).toEqual([]);
    expect(segmentList.recognise(new Uint8Array(161280))).toEqual([]);
  });
});

describe("buildSegmentList", () => {
  it.each([
    [[file("a", pattern(1, 1)), file("A", pattern(1, 1))], PLAIN, /given twice/],
    [[file("a b", pattern(1, 1))], PLAIN, /a name has/],
    [[file("a", pattern(200_000, 1))], PLAIN, /no room left/],
    [[file("a", pattern(1, 1)), file("a/b", pattern(1, 1))], PLAIN, /cannot lie in it/],
    [[file("a", pattern(1, 1), { attributes: "Q" })], PLAIN, /no attributes/],
    [[file("a", pattern(1, 1), { created: "1983-13-01" })], PLAIN, /date/],
    [[], { ...PLAIN, clusterSectors: 3 }, /power of two/],
    [[], { ...PLAIN, tracks: 80, sides: 2, sectors: 30, clusterSectors: 1 }, /4096 bits/],
    [[], { ...PLAIN, bootstrap: "x" }, /no file x/],
  ] as [TreeEntry[], SegmentListBuild, RegExp][])("refuses what does not fit (%#)", (tree, build, sentence) => {
    expect(() => buildSegmentList(tree, build)).toThrow(InputError);
    expect(() => buildSegmentList(tree, build)).toThrow(sentence);
  });
});

describe("a volume on a zoned disk", () => {
  // Zones and totals: user's guides of the zoned drives, as in the recordings of the catalogue.
  it.each([
    [
      "35-track",
      683,
      "zoned, 35 tracks, one side",
      [
        [0, 0, 0],
        [34, 0, 16],
      ],
    ],
    [
      "35-track-early",
      690,
      "zoned, 35 tracks, one side",
      [
        [0, 0, 0],
        [34, 0, 16],
      ],
    ],
    [
      "77-track",
      2083,
      "zoned, 77 tracks, one side",
      [
        [0, 0, 0],
        [76, 0, 22],
      ],
    ],
    [
      "77-track-two-sided",
      4166,
      "zoned, 77 tracks, two sides",
      [
        [0, 0, 0],
        [76, 1, 22],
      ],
    ],
  ] as const)("of %s takes all of it", (zoned, total, format, [first, last]) => {
    const image = buildSegmentList([file("Start", pattern(5000, 1))], { zoned, name: "Zoned", bootstrap: "Start" });
    expect(image.length).toBe(total * 256);
    const volume = openImage(image);
    expect([volume.format, volume.damages]).toEqual([format, []]);
    expect(volume.read(entryOf(volume, "Start")).bytes).toEqual(pattern(5000, 1));
    const map = mapBlocks(volume.geometry);
    const place = (block: number) => Object.values(map.place(block));
    expect([map.blocks, place(0), place(total - 1)]).toEqual([total, first, last]);
  });

  it("has all of side 0 before side 1", () => {
    const volume = openImage(buildSegmentList([], { zoned: "77-track-two-sided" }));
    const map = mapBlocks(volume.geometry);
    expect([2082, 2083].map((block) => map.place(block))).toEqual([
      { track: 76, side: 0, sector: 22 },
      { track: 0, side: 1, sector: 0 },
    ]);
  });

  it("holds a file on side 1 where that is wished, and goes on from the start where there is no room", () => {
    const tree = [file("far", pattern(3000, 1), { from: 2083 }), file("wide", pattern(60_000, 2), { from: 4000 })];
    const volume = openImage(buildSegmentList(tree, { zoned: "77-track-two-sided" }));
    expect(volume.damages).toEqual([]);
    expect(entryOf(volume, "far").blocks[0]).toBe(2085);
    expect(Math.min(...entryOf(volume, "wide").blocks)).toBeLessThan(2083);
    for (const entry of tree) expect(volume.read(entryOf(volume, entry.path)).bytes).toEqual(entry.bytes);
  });

  it("leaves a total that whole tracks make to them", () => {
    // 690 = 30 tracks of 23 sectors, though the early zoned disk has as many blocks.
    const volume = openImage(buildSegmentList([], { tracks: 30, sides: 1, sectors: 23 }));
    expect(volume.format).toBe("30 tracks, one side, 23 sectors a track");
  });
});

describe("any bytes", () => {
  const name = fc.stringMatching(/^[A-Za-z0-9_.]{1,12}$/).filter((each) => each !== "." && each !== "..");
  const trees = fc
    .uniqueArray(
      fc.record({
        folder: fc.option(name, { nil: undefined }),
        name,
        bytes: fc.uint8Array({ maxLength: 2000 }),
        segments: fc.integer({ min: 1, max: 6 }),
      }),
      { maxLength: 10, selector: (each) => each.name.toLowerCase() },
    )
    .map((list) => {
      const files = new Set(list.map((each) => each.name.toLowerCase()));
      return list.map(({ folder, name: own, bytes, segments }) =>
        file(folder && !files.has(folder.toLowerCase()) ? `${folder.toLowerCase()}/${own}` : own, bytes, { segments }),
      );
    });
  const builds = fc.record({
    tracks: fc.constantFrom(35, 40, 77),
    sides: fc.constantFrom(1 as const, 2 as const),
    sectors: fc.constantFrom(10, 16, 18),
    clusterSectors: fc.constantFrom(1, 2, 4, 8).map((each) => Math.max(each, 1)),
  });

  it("gives back every built tree, without damage", () => {
    fc.assert(
      fc.property(trees, builds, (tree, build) => {
        const volume = openImage(buildSegmentList(tree, build));
        expect(volume.damages).toEqual([]);
        const files = volume.entries.filter((entry) => entry.type === "file");
        expect(files.map((entry) => entry.path).sort()).toEqual(tree.map((entry) => entry.path).sort());
        for (const entry of tree) expect(volume.read(entryOf(volume, entry.path)).bytes).toEqual(entry.bytes);
      }),
      { numRuns: 150, seed: 1 },
    );
  });

  const opensAll = (image: Uint8Array): void => {
    const before = image.slice();
    for (const candidate of segmentList.recognise(image)) {
      const volume = segmentList.open(image, candidate.options);
      expect(volume.owners.length).toBe(Math.ceil(image.length / 256));
      expect(new Set(volume.entries.map((entry) => entry.path)).size).toBe(volume.entries.length);
      for (const entry of volume.entries) {
        expect(entry.path).not.toMatch(/[\u0000-\u001f\u007f-\u009f\\]/);
        expect(volume.read(entry).bytes.length).toBeLessThanOrEqual(image.length);
        expect([...entry.blocks, ...entry.ownBlocks].every((block) => block < volume.owners.length)).toBe(true);
      }
    }
    expect(image.every((byte, at) => byte === before[at])).toBe(true);
  };

  it("never crashes on arbitrary bytes", () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 3000 }), opensAll), { numRuns: 300, seed: 2 });
    const options = fc.record({
      total: fc.nat(0xffffff),
      clusterSectors: fc.constantFrom(1, 2, 64),
      root: fc.nat(12),
      sectorsPerTrack: fc.nat(40),
      sides: fc.constantFrom(1 as const, 2 as const),
    });
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 512, maxLength: 3000 }), options, (image, wild) => {
        const volume = segmentList.open(image, wild);
        for (const entry of volume.entries) volume.read(entry);
      }),
      { numRuns: 300, seed: 3 },
    );
  });

  it("never crashes on a built image with bytes changed", () => {
    const sound = buildSegmentList(TREE, { ...PLAIN, bootstrap: "Start" });
    const change = fc.tuple(fc.oneof(fc.nat(20 * 256), fc.nat(sound.length - 1)), fc.nat(255));
    fc.assert(
      fc.property(fc.array(change, { minLength: 1, maxLength: 40 }), (changes) => {
        const image = sound.slice();
        for (const [at, value] of changes) image[at] = value;
        opensAll(image);
      }),
      { numRuns: 300, seed: 4 },
    );
  });

  it("stays quick where every descriptor claims the whole disk", () => {
    const image = buildSegmentList([], { tracks: 80, sides: 2, sectors: 16 });
    for (let at = 16 * 256; at < image.length; at += 256) {
      for (let slot = 0; slot < 48; slot++) image.set([0, 0, 1, 0xff, 0xff], at + 16 + 5 * slot);
      image.set([0x80, 0, 0], at);
      image.set([0, 0xff, 0xff, 0xff], at + 9);
    }
    const candidate = segmentList.recognise(image)[0]!;
    const start = performance.now();
    segmentList.open(image, candidate.options);
    expect(performance.now() - start).toBeLessThan(500);
  });
});
