import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { FormatError, InputError } from "../../errors/index.ts";
import { mapBlocks } from "../../geometry/index.ts";
import { type Entry, OWNER, type TreeEntry, type Volume } from "../types.ts";
import { buildFat12, type Fat12BuildOptions, type Fat12Options, fat12 } from "./index.ts";
import { STANDARD_FORMATS } from "./layout.ts";

const folder = (path: string): TreeEntry => ({ path, type: "folder", bytes: new Uint8Array() });
const file = (path: string, length: number, wishes?: TreeEntry["wishes"]): TreeEntry => ({
  path,
  type: "file",
  bytes: Uint8Array.from({ length }, (_, i) => i * 31 + path.charCodeAt(0)),
  ...(wishes ? { wishes } : {}),
});

const TREE: TreeEntry[] = [
  file("README.TXT", 700, { readOnly: true, archive: true, modified: "1988-04-12 10:30:02" }),
  folder("WORK"),
  file("WORK/A.DAT", 3000),
  folder("WORK/DEEP"),
  file("WORK/DEEP/LEAF", 1025),
  file("NONE", 0),
  file("LAST.BIN", 5000, { hidden: true, system: true }),
];

const build = (format = "360K", more: Partial<Fat12BuildOptions> = {}): Uint8Array =>
  buildFat12(TREE, { format, label: "LARKFIELD 9", ...more });

const openImage = (image: Uint8Array): Volume => {
  const [candidate] = fat12.recognise(image);
  if (!candidate) throw new Error("the image was not recognised");
  return fat12.open(image, candidate.options);
};

const entryOf = (volume: Volume, path: string): Entry => volume.entries.find((entry) => entry.path === path)!;
/** Compares long contents quickly. */
const same = (one: Uint8Array, other: Uint8Array): boolean =>
  one.length === other.length && one.every((byte, i) => byte === other[i]);
const codes = (volume: Volume): string[] => volume.damages.map(({ code }) => code);

/** Sets a FAT entry of a 360K image: FATs at sectors 1 and 3. */
const setFat = (image: Uint8Array, n: number, value: number, copies = [512, 1536]): void => {
  for (const copy of copies) {
    const at = copy + n + (n >> 1);
    const pair = image[at]! | (image[at + 1]! << 8);
    const next = n & 1 ? (pair & 0x000f) | (value << 4) : (pair & 0xf000) | value;
    image[at] = next & 0xff;
    image[at + 1] = next >> 8;
  }
};
const ROOT = 5 * 512;
/** Offset of the k-th entry of the root directory; the label is the first. */
const rootEntry = (k: number): number => ROOT + 32 * k;
const firstCluster = (volume: Volume, path: string): number =>
  Number(entryOf(volume, path).details.find(([label]) => label === "First cluster")![1]);

describe("recognise", () => {
  it.each(STANDARD_FORMATS.map(({ name }) => name))("finds the %s format by its descriptor", (name) => {
    const image = build(name);
    const [first, ...others] = fat12.recognise(image);
    expect(first).toMatchObject({ kind: "fat12", score: 0.95, options: { by: "descriptor" } });
    expect(first!.format).toContain(name);
    expect(first!.evidence.length).toBeGreaterThan(2);
    expect(others).toEqual([]);
  });

  it.each(STANDARD_FORMATS.map(({ name }) => name))("finds the %s format by its media byte alone", (name) => {
    const image = build(name, { descriptor: false });
    const [first] = fat12.recognise(image);
    expect(first).toMatchObject({ options: { by: "media byte" } });
    expect(first!.format).toContain(name);
    expect(first!.score).toBeLessThan(0.9);
    expect(openImage(image).entries.map(({ path }) => path)).toEqual(TREE.map(({ path }) => path));
  });

  it("finds nothing in images of nothing, of one byte, of text and of noise", () => {
    const lengths = [0, 1, 35, 512, 163_840, 174_848, 256_256, 327_680, 368_640, 533_248, 1_066_496, 1_228_800];
    for (const length of lengths) {
      for (const fill of [0, 0xff, 0xe5, 0xf6, 0x20, 0xfe, 0xf9])
        expect(fat12.recognise(new Uint8Array(length).fill(fill))).toEqual([]);
      let state = length + 1;
      const noise = Uint8Array.from({ length }, () => {
        state = (Math.imul(state, 1_103_515_245) + 12_345) >>> 0;
        return state >>> 16;
      });
      expect(fat12.recognise(noise)).toEqual([]);
    }
  });

  it("goes by the media byte where the descriptor is damaged, and says so", () => {
    const image = build("1440K");
    image.fill(0, 0, 512);
    const volume = openImage(image);
    expect(codes(volume)).toEqual(["no-descriptor"]);
    expect(volume.condition).toBe("whole");
  });

  it("goes by the media byte where the descriptor contradicts the disk", () => {
    const image = build("1440K");
    image[0x16] = 5;
    const volume = openImage(image);
    expect(codes(volume)).toEqual(["no-descriptor"]);
    expect(volume.read(entryOf(volume, "LAST.BIN")).bytes).toEqual(TREE.at(-1)!.bytes);
  });

  it("goes by the second FAT's head where the first is gone", () => {
    const image = build("360K", { descriptor: false });
    image.fill(0, 512, 1536);
    const volume = openImage(image);
    expect(codes(volume)).toEqual(["fat-copies-differ"]);
    expect(volume.read(entryOf(volume, "LAST.BIN")).bytes).toEqual(TREE.at(-1)!.bytes);
  });
});

describe("open", () => {
  it("gives entries, details, label, owners and free blocks of a sound volume", () => {
    const volume = openImage(build());
    expect(volume).toMatchObject({ kind: "fat12", label: "LARKFIELD 9", condition: "whole", damages: [] });
    expect(volume.geometry).toMatchObject({ tracks: 40, sides: 2 });
    const readme = entryOf(volume, "README.TXT");
    expect(readme.details).toEqual([
      ["Attributes", "read-only, archive"],
      ["Modified", "1988-04-12 10:30:02"],
      ["First cluster", "2"],
    ]);
    expect(readme.blocks).toEqual([12, 13]);
    expect([...readme.nameBytes]).toEqual(Array.from("README  TXT", (c) => c.charCodeAt(0)));
    expect(entryOf(volume, "WORK")).toMatchObject({ type: "folder", size: 1024 });
    const { owners } = volume;
    expect(owners).toHaveLength(mapBlocks(volume.geometry).blocks);
    expect([owners[0], owners[11], owners[12], owners[719]]).toEqual([OWNER.system, OWNER.system, 0, OWNER.free]);
    const used = volume.entries.reduce((sum, { blocks }) => sum + blocks.length, 0);
    expect(volume.freeBlocks).toBe(708 - used);
    for (const entry of volume.entries)
      for (const block of entry.blocks) expect(volume.entries[owners[block]!]).toBe(entry);
  });

  it("throws a FormatError where the image cannot be one", () => {
    const image = build();
    const { options } = fat12.recognise(image)[0]!;
    expect(() => fat12.open(new Uint8Array(100), options)).toThrow(FormatError);
    for (const wrong of [
      { sectorSize: 0 },
      { sectorsPerCluster: 3 },
      { reserved: 0 },
      { fats: 9 },
      { sectors: 1e9 },
      { media: 7 },
    ])
      expect(() => fat12.open(image, { ...options, ...wrong })).toThrow(FormatError);
  });

  it("reads what a short image still holds, and lists what is missing", () => {
    const whole = openImage(build());
    const last = entryOf(whole, "LAST.BIN");
    const image = build().slice(0, last.blocks[3]! * 512 + 100);
    const volume = openImage(image);
    expect(volume.damages).toMatchObject([
      { code: "short-image", condition: "readable with loss", files: ["LAST.BIN"] },
    ]);
    const content = volume.read(entryOf(volume, "LAST.BIN"));
    expect(content.condition).toBe("readable with loss");
    expect(content.missing).toEqual([{ offset: 1636, length: 3364 }]);
    expect(content.bytes.subarray(0, 1636)).toEqual(TREE.at(-1)!.bytes.subarray(0, 1636));
    expect(content.bytes.subarray(1636).every((byte) => byte === 0)).toBe(true);
  });

  it("calls a short image whole where no file lies in what is missing", () => {
    const volume = openImage(build().slice(0, 700 * 512));
    expect(volume).toMatchObject({ condition: "whole", damages: [{ code: "short-image", blockCount: 20, files: [] }] });
  });

  it("lists a deleted file with what can still be read of it", () => {
    const image = build();
    const before = openImage(image);
    const entry = entryOf(before, "LAST.BIN");
    image[rootEntry(4)] = 0xe5;
    for (let n = 0; n < 5; n++) setFat(image, firstCluster(before, "LAST.BIN") + n, 0);
    const volume = openImage(image);
    const deleted = entryOf(volume, "?AST.BIN");
    expect(deleted).toMatchObject({ deleted: true, condition: "readable with loss", blocks: entry.blocks });
    expect(volume.read(deleted).bytes).toEqual(TREE.at(-1)!.bytes);
    expect(volume).toMatchObject({ condition: "whole", damages: [] });
    expect(volume.owners[entry.blocks[0]!]).toBe(OWNER.free);
  });

  it("gives no more of a deleted file than the clusters that nothing has taken since", () => {
    const image = build();
    const start = firstCluster(openImage(image), "LAST.BIN");
    image[rootEntry(4)] = 0xe5;
    for (let n = 0; n < 5; n++) setFat(image, start + n, 0);
    setFat(image, start + 2, 0xff7);
    const volume = openImage(image);
    const content = volume.read(entryOf(volume, "?AST.BIN"));
    expect(content.missing).toEqual([{ offset: 2048, length: 2952 }]);
    expect(volume.owners[12 + (start + 2 - 2) * 2]).toBe(OWNER.bad);
  });

  it("uses, sector by sector, the copy of the FAT that fits the directories", () => {
    // 300 chained clusters on a 1440K volume fill more than one sector of the FAT; damage one sector in each copy.
    const tree = [file("ONE.DAT", 512 * 300), file("TWO.DAT", 512 * 700)];
    const image = buildFat12(tree, { format: "1440K" });
    image.fill(0x77, 512 + 512, 512 + 1024);
    image.fill(0, 10 * 512 + 1024, 10 * 512 + 1536);
    const volume = openImage(image);
    expect(codes(volume)).toEqual(["fat-copies-differ"]);
    expect(volume.damages[0]!.blocks).toEqual([2, 11, 3, 12]);
    for (const { path, bytes } of tree) {
      const content = volume.read(entryOf(volume, path));
      expect(content).toMatchObject({ condition: "whole", missing: [] });
      expect(same(content.bytes, bytes)).toBe(true);
    }
  });

  it("tells both files where chains cross, and owns the clusters to neither", () => {
    const image = build();
    const before = openImage(image);
    const [a, last] = [firstCluster(before, "WORK/A.DAT"), firstCluster(before, "LAST.BIN")];
    setFat(image, a + 1, last + 3);
    const volume = openImage(image);
    const crossed = volume.damages.find(({ code }) => code === "crossed-chain")!;
    expect(crossed.files).toEqual(expect.arrayContaining(["WORK/A.DAT", "LAST.BIN"]));
    expect(crossed).toMatchObject({ condition: "readable with loss", blockCount: 2 });
    expect(volume.owners[crossed.blocks[0]!]).toBe(OWNER.clash);
    expect(entryOf(volume, "WORK/A.DAT").condition).toBe("readable with loss");
    expect(entryOf(volume, "README.TXT").condition).toBe("whole");
  });

  it("reads on through free clusters where a chain is broken, and says so", () => {
    const image = build();
    const start = firstCluster(openImage(image), "LAST.BIN");
    for (let n = 2; n < 5; n++) setFat(image, start + n, 0);
    const volume = openImage(image);
    expect(codes(volume)).toEqual(["broken-chain"]);
    expect(volume.damages[0]!.sentence).toMatch(/3 clusters there, not in use elsewhere/);
    const content = volume.read(entryOf(volume, "LAST.BIN"));
    expect(content).toMatchObject({ condition: "readable with loss", missing: [] });
    expect(content.bytes).toEqual(TREE.at(-1)!.bytes);
  });

  it("finds a folder's entries although its chain is free in both FATs", () => {
    const image = build();
    setFat(image, firstCluster(openImage(image), "WORK"), 0);
    const volume = openImage(image);
    expect(codes(volume)).toEqual(["broken-chain"]);
    expect(entryOf(volume, "WORK/DEEP/LEAF").condition).toBe("whole");
  });

  it("goes on behind a folder's blank first sector", () => {
    const many = [folder("D"), ...Array.from({ length: 30 }, (_, i) => file(`D/F${i}`, 10))];
    const image = buildFat12(many, { format: "1440K" });
    image.fill(0, 33 * 512, 34 * 512);
    const volume = openImage(image);
    expect(codes(volume)).toEqual(["blank-folder", "lost-cluster"]);
    expect(volume.entries.filter(({ type }) => type === "file")).toHaveLength(16);
    expect(volume.condition).toBe("readable with loss");
  });

  it("takes a folder inside itself for a crossed chain and comes to an end", () => {
    const image = build();
    const before = openImage(image);
    const work = firstCluster(before, "WORK");
    // The entry of DEEP is the fourth of WORK, after the dots and A.DAT.
    image[12 * 512 + (work - 2) * 1024 + 3 * 32 + 26] = work;
    const volume = openImage(image);
    expect(codes(volume)).toContain("crossed-chain");
    expect(codes(volume)).toContain("lost-cluster");
    expect(volume.entries.filter(({ path }) => path.startsWith("WORK/DEEP/"))).toEqual([]);
  });

  it("keeps paths unique where a name is met twice", () => {
    const image = build();
    image.set(image.slice(rootEntry(1), rootEntry(1) + 11), rootEntry(4));
    const volume = openImage(image);
    expect(volume.entries.map(({ path }) => path)).toContain("README.TXT~2");
    expect(codes(volume)).toEqual(["same-name"]);
  });

  it("passes over entries that hold no sense and volumes that were never written", () => {
    const image = build();
    for (let i = 0; i < 32; i++) image[rootEntry(5) + i] = 0x80 + i;
    image[rootEntry(5) + 3] = 7;
    const volume = openImage(image);
    expect(codes(volume)).toEqual(["damaged-entry"]);
    // Early disks were formatted with E5 at the head of each entry and F6 behind it.
    const early = buildFat12([], { format: "160K", descriptor: false });
    for (let at = 3 * 512; at < 7 * 512; at++) early[at] = at % 32 === 0 ? 0xe5 : 0xf6;
    expect(openImage(early)).toMatchObject({ entries: [], damages: [] });
  });

  it("lets no control character of an image into paths, sentences or facts", () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ minLength: 11, maxLength: 11 }),
        fc.uint8Array({ minLength: 8, maxLength: 8 }),
        (name, system) => {
          const image = build();
          image.set(name, rootEntry(1));
          image.set(name, rootEntry(0));
          image.set(system, 3);
          const volume = openImage(image);
          const texts = [
            volume.label,
            ...volume.facts.flat(),
            ...volume.damages.flatMap(({ sentence, repair, files }) => [sentence, repair, ...files]),
            ...volume.entries.flatMap(({ path, details }) => [path, ...details.flat()]),
          ];
          for (const text of texts) expect(text).not.toMatch(/[\u0000-\u001f\u007f-\u009f]/);
          expect(new Set(volume.entries.map(({ path }) => path)).size).toBe(volume.entries.length);
          for (const { path } of volume.entries) expect(path).not.toMatch(/\\|(^|\/)\.*(\/|$)/);
        },
      ),
      { seed: 3, numRuns: 150 },
    );
  });
});

const part = fc
  .tuple(fc.stringMatching(/^[A-Z0-9$%'@{}~!#()&^_-]{1,8}$/), fc.stringMatching(/^[A-Z0-9_]{0,3}$/))
  .map(([base, extension]) => (extension ? `${base}.${extension}` : base).replaceAll("%", "%25"));

const trees = fc
  .uniqueArray(fc.record({ name: part, bytes: fc.option(fc.uint8Array({ maxLength: 3000 })), home: fc.nat() }), {
    maxLength: 40,
    selector: ({ name }) => name,
  })
  .map((items) => {
    const homes = [""];
    return items.map(({ name, bytes, home }): TreeEntry => {
      const path = `${homes[home % homes.length]!}${name}`;
      if (bytes) return { path, type: "file", bytes };
      if (path.split("/").length < 8) homes.push(`${path}/`);
      return { path, type: "folder", bytes: new Uint8Array() };
    });
  });

describe("build and open", () => {
  it("give the same tree, whatever the tree and format", () => {
    fc.assert(
      fc.property(
        trees,
        fc.constantFrom(...STANDARD_FORMATS.map(({ name }) => name)),
        fc.boolean(),
        (tree, format, descriptor) => {
          const image = buildFat12(tree, { format, descriptor, serial: 0x12345678 });
          const volume = openImage(image);
          expect(codes(volume).filter((code) => code !== "no-descriptor")).toEqual([]);
          expect(volume.entries).toHaveLength(tree.length);
          for (const { path, type, bytes } of tree) {
            const entry = entryOf(volume, path);
            expect(entry).toMatchObject({ type, condition: "whole", deleted: false });
            if (type === "file") expect(volume.read(entry)).toEqual({ bytes, condition: "whole", missing: [] });
          }
        },
      ),
      { seed: 1, numRuns: 120 },
    );
  });

  it.each([
    ["a format that is none", [], { format: "999K" }],
    ["a bad label", [], { format: "160K", label: "far too long a label" }],
    ["a missing folder", [file("A/B", 1)], { format: "160K" }],
    ["a name twice", [file("A", 1), file("A", 2)], { format: "160K" }],
    ["too much", [file("A", 400_000)], { format: "160K" }],
    ["too many entries in the root", Array.from({ length: 65 }, (_, i) => file(`F${i}`, 0)), { format: "160K" }],
  ] as const)("refuse %s", (_, tree, options) => {
    expect(() => buildFat12(tree, options)).toThrow(InputError);
  });
});

describe("any bytes at all", () => {
  const optionsOfAnything: fc.Arbitrary<Fat12Options> = fc.record({
    by: fc.constantFrom("descriptor" as const, "media byte" as const),
    sectorSize: fc.constantFrom(0, 128, 512, 1024, 777, Number.NaN),
    sectorsPerCluster: fc.constantFrom(1, 2, 4, 128, 0, 3),
    reserved: fc.integer({ min: -1, max: 70 }),
    fats: fc.integer({ min: 0, max: 5 }),
    rootEntries: fc.constantFrom(0, 1, 64, 112, 65_535),
    sectors: fc.constantFrom(0, 10, 320, 720, 2880, 65_535, 4e9, 0.5),
    media: fc.constantFrom(0xf0, 0xff, 0, 300),
    sectorsPerFat: fc.constantFrom(0, 1, 2, 9, 65_535),
    sectorsPerTrack: fc.constantFrom(0, 8, 9, 65_535),
    sides: fc.constantFrom(0, 1, 2, 9),
  });

  it("open or are refused with a FormatError", () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ maxLength: 8000 }),
        fc.integer({ min: 1, max: 24 }),
        optionsOfAnything,
        (bytes, times, options) => {
          const image = new Uint8Array(bytes.length * times);
          for (let i = 0; i < times; i++) image.set(bytes, i * bytes.length);
          fat12.recognise(image);
          try {
            const volume = fat12.open(image, options);
            for (const entry of volume.entries) volume.read(entry);
            expect(volume.owners.length).toBeLessThanOrEqual(200_000);
          } catch (error) {
            expect(error).toBeInstanceOf(FormatError);
          }
        },
      ),
      { seed: 2, numRuns: 600 },
    );
  });

  it("come to an end soon when a sound image is mutated", () => {
    const sound = STANDARD_FORMATS.slice(0, 8).map(({ name }) => build(name));
    let worst = 0;
    fc.assert(
      fc.property(
        fc.nat(),
        fc.array(fc.tuple(fc.nat(), fc.integer({ min: 0, max: 255 })), { maxLength: 60 }),
        (which, changes) => {
          const image = sound[which % sound.length]!.slice();
          // Most of the changes fall on the areas before the files and on the first folders.
          for (const [at, byte] of changes) image[at % (at & 1 ? 40 * 512 : image.length)] = byte;
          const from = performance.now();
          for (const { options } of fat12.recognise(image)) {
            const volume = fat12.open(image, options);
            for (const entry of volume.entries) volume.read(entry);
            for (const damage of volume.damages) expect(damage.sentence).not.toBe("");
          }
          worst = Math.max(worst, performance.now() - from);
        },
      ),
      { seed: 4, numRuns: 800 },
    );
    // 50 ms is the aim on an idle machine; the bound here is wide, for a busy one.
    expect(worst).toBeLessThan(1000);
  });

  it("stay bounded where every entry of a huge folder claims one long chain", () => {
    const image = buildFat12([folder("D"), file("D/A", 2_369 * 512)], { format: "1200K" });
    const at = 29 * 512;
    // One chain through all clusters, its clusters full of entries that all begin at the second.
    for (const copy of [512, 8 * 512])
      for (let n = 2; n < 2373; n++) setFat(image, n, n < 2372 ? n + 1 : 0xfff, [copy]);
    const entry = image.slice(at + 64, at + 96);
    for (let place = at + 64; place < image.length; place += 32) image.set(entry, place);
    const volume = openImage(image);
    const blocks = volume.entries.reduce((sum, each) => sum + each.blocks.length, 0);
    expect(volume.entries.length).toBeGreaterThan(30_000);
    expect(blocks).toBeLessThan(5 * 2371 + 1);
    expect(volume.damages.length).toBeLessThan(600);
  });
});
