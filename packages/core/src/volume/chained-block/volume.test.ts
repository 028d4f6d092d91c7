import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../../errors/index.ts";
import { OWNER, type TreeEntry } from "../types.ts";
import { type BuildChainedBlock, buildChainedBlock, chainedBlock } from "./index.ts";
import { LAYOUT_NAMES, type LayoutName } from "./layout.ts";

const noise = (length: number, seed = 1): Uint8Array => {
  const bytes = new Uint8Array(length);
  let state = seed;
  for (let i = 0; i < length; i++) {
    state = (Math.imul(state, 1103515245) + 12345) >>> 0;
    bytes[i] = state >>> 16;
  }
  return bytes;
};
const file = (path: string, bytes: Uint8Array, wishes: NonNullable<TreeEntry["wishes"]> = {}): TreeEntry => ({
  path,
  type: "file",
  bytes,
  wishes,
});
const build = (tree: TreeEntry[], layout: LayoutName, more: Partial<BuildChainedBlock> = {}): Uint8Array =>
  buildChainedBlock(tree, { layout, name: "test", id: "a1", ...more });

/** The matcher for arrays is slow with whole images. */
const same = (one: Uint8Array, other: Uint8Array): boolean =>
  one.length === other.length && one.every((byte, i) => byte === other[i]);

/** Opens by what `recognise` puts first, as everyone does. */
const openFirst = (image: Uint8Array) => chainedBlock.open(image, chainedBlock.recognise(image)[0]!.options);

describe("a built volume", () => {
  it.each(LAYOUT_NAMES)("comes back whole with the %s layout", (layout) => {
    const tree = [
      file("notes", noise(1000)),
      file("Loader", Uint8Array.of(0x01, 0x04, 1, 2, 3), { kind: "program", locked: true }),
      file("own", noise(254), { kind: "user" }),
      file("empty", new Uint8Array(0)),
      file("stock", noise(60 * 300, 4), { kind: "records", recordLength: 60 }),
    ];
    const volume = openFirst(build(tree, layout));
    expect(volume.damages).toEqual([]);
    expect(volume.condition).toBe("whole");
    expect(volume.label).toBe("test");
    expect(volume.entries.map((entry) => [entry.path, entry.kind, entry.size, entry.deleted])).toEqual([
      ["notes", "sequential", 1000, false],
      ["Loader", "program", 5, false],
      ["own", "user", 254, false],
      ["empty", "sequential", 0, false],
      ["stock", "records", 18000, false],
    ]);
    expect(volume.entries[4]!.records).toEqual({ length: 60, count: 300 });
    expect(volume.entries[1]!.details).toContainEqual(["Load address", "$0401"]);
    expect(volume.entries[1]!.details).toContainEqual(["Locked", "yes"]);
    volume.entries.forEach((entry, i) => {
      const { bytes, ...rest } = volume.read(entry);
      expect(same(bytes, tree[i]!.bytes)).toBe(true);
      expect(rest).toEqual({ condition: "whole", missing: [] });
      for (const block of [...entry.blocks, ...entry.ownBlocks]) expect(volume.owners[block]).toBe(i);
    });
    const owned = volume.entries.reduce((sum, entry) => sum + entry.blocks.length + entry.ownBlocks.length, 0);
    const system = volume.owners.filter((owner) => owner === OWNER.system).length;
    const directoryLeft =
      volume.geometry.zones.find((zone) => zone.to >= (layout.startsWith("77") ? 38 : 17))!.sectors - 2;
    expect(volume.freeBlocks! + directoryLeft + owned + system).toBe(volume.owners.length);
  });

  it("is full to the last block and says so one block later", () => {
    const most = 664 * 254;
    const volume = openFirst(build([file("all", noise(most))], "35-track"));
    expect(volume.freeBlocks).toBe(0);
    expect(volume.damages).toEqual([]);
    expect(same(volume.read(volume.entries[0]!).bytes, noise(most))).toBe(true);
    expect(() => build([file("all", noise(most + 1))], "35-track")).toThrow(
      "“all” does not fit: the volume has 664 blocks for files.",
    );
  });

  it("keeps record files past one group with the upper index", () => {
    const bytes = noise(254 * 1500, 9);
    const tree = [file("big", bytes, { kind: "records", recordLength: 127 })];
    for (const upperIndex of [0xfe, 0xff] as const) {
      const volume = openFirst(build(tree, "77-track", { upperIndex }));
      const [entry] = volume.entries;
      expect(volume.damages).toEqual([]);
      expect(entry!.records).toEqual({ length: 127, count: 3000 });
      // 1500 blocks take 13 index blocks, and the upper index is one more.
      expect(entry!.ownBlocks.length).toBe(14);
      expect(entry!.details).toContainEqual([
        "Index",
        `13 blocks, upper index with marker $${upperIndex === 0xfe ? "FE" : "FF"}`,
      ]);
      expect(same(volume.read(entry!).bytes, bytes)).toBe(true);
    }
    expect(() => build(tree, "77-track", { upperIndex: "none" })).toThrow("a record file here holds 182880 at most");
  });

  it("reads a plain index on the 77-track kinds too", () => {
    const bytes = noise(254 * 130, 9);
    const volume = openFirst(
      build([file("plain", bytes, { kind: "records", recordLength: 254 })], "77-track-two-sided", {
        upperIndex: "none",
      }),
    );
    expect(volume.damages).toEqual([]);
    expect(volume.entries[0]!.ownBlocks.length).toBe(2);
    expect(same(volume.read(volume.entries[0]!).bytes, bytes)).toBe(true);
  });

  it("settles what the byte in a last block means by its files, and says how", () => {
    const how = (volume: ReturnType<typeof openFirst>): string | undefined =>
      volume.facts.find(([label]) => label === "Byte in a last block")?.[1];
    const records = file("r", noise(77 * 10), { kind: "records", recordLength: 77 });
    const text = file("t", noise(100));
    const counts = openFirst(build([records, text], "35-track", { lastByte: "count" }));
    expect(counts.entries.map((entry) => entry.size)).toEqual([770, 100]);
    expect(how(counts)).toBe("count of valid data bytes (seen: 1 of the files can mean only that)");
    const indexed = openFirst(build([records, text], "35-track"));
    expect(indexed.entries.map((entry) => entry.size)).toEqual([770, 100]);
    expect(how(indexed)).toBe("index of the last valid byte (seen: 1 of the files can mean only that)");
    const unsettled = openFirst(build([text], "35-track"));
    expect(how(unsettled)).toBe("index of the last valid byte (assumed: no file on this volume settles it)");
    const image = build([text], "35-track", { lastByte: "count" });
    const asked = chainedBlock.open(image, { layout: "35-track", errorBytes: false, lastByte: "count" });
    expect(asked.entries[0]!.size).toBe(100);
    expect(how(asked)).toBe("count of valid data bytes (as asked)");
  });

  it("refuses what cannot be on it, in one sentence", () => {
    const bad: [TreeEntry, string][] = [
      [{ path: "x", type: "folder", bytes: new Uint8Array(0) }, "has no folders"],
      [file("a name that is too long", noise(1)), "1 to 16 bytes"],
      [file("x{", noise(1)), "no character “{”"],
      [file("a/b", noise(1)), "no character “/”"],
      [file("", noise(1)), "1 to 16 bytes"],
      [file("x", noise(1), { kind: "folder" }), "is to be “folder”"],
      [file("x", noise(10), { kind: "records" }), "record length from 1 to 254"],
      [file("x", noise(10), { kind: "records", recordLength: 3 }), "not whole records of 3"],
    ];
    for (const [entry, sentence] of bad) {
      expect(() => build([entry], "35-track")).toThrow(InputError);
      expect(() => build([entry], "35-track")).toThrow(sentence);
    }
    expect(() => build([file("x", noise(1)), file("x", noise(1))], "35-track")).toThrow("“x” is there twice.");
    const many = Array.from({ length: 145 }, (_, i) => file(`f${i}`, noise(1)));
    expect(() => build(many, "35-track")).toThrow("145 files do not fit: the directory has 144 places.");
    expect(openFirst(build(many.slice(1), "35-track")).entries.length).toBe(144);
  });

  it("comes back as it went in, whatever the tree", () => {
    const sign = fc.constantFrom(..."abcXYZ 019.-%£↑", "%2F", "%0D", "%A1", "%1B");
    const name = fc
      .array(sign, { minLength: 1, maxLength: 12 })
      .map((signs) => signs.join(""))
      .filter((text) => text !== "." && text !== ".." && !/%[0-9A-F]{2}%|%[0-9A-F]{3}/.test(text));
    const entry = fc.record({
      path: name,
      length: fc.integer({ min: 0, max: 4000 }),
      seed: fc.nat(),
      kind: fc.constantFrom("sequential", "program", "user", "records"),
      recordLength: fc.integer({ min: 1, max: 254 }),
      locked: fc.boolean(),
    });
    fc.assert(
      fc.property(
        fc.uniqueArray(entry, { maxLength: 24, selector: (each) => each.path }),
        fc.constantFrom(...LAYOUT_NAMES),
        fc.constantFrom(0xfe as const, 0xff as const, "none" as const),
        fc.constantFrom("index" as const, "count" as const),
        (entries, layout, upperIndex, lastByte) => {
          const tree = entries.map(({ path, length, seed, kind, recordLength, locked }) => {
            const whole = kind === "records" ? length - (length % recordLength) : length;
            return file(
              path,
              noise(whole, seed),
              kind === "records" ? { kind, recordLength, locked } : { kind, locked },
            );
          });
          const image = build(tree, layout, { upperIndex, lastByte });
          const before = image.slice();
          const [candidate] = chainedBlock.recognise(image);
          expect(candidate!.options.layout).toBe(layout);
          const volume = chainedBlock.open(image, { ...candidate!.options, lastByte });
          expect(volume.damages).toEqual([]);
          expect(volume.entries.map((each) => each.path)).toEqual(tree.map((each) => each.path));
          volume.entries.forEach((each, i) => {
            expect(each.kind).toBe(entries[i]!.kind);
            expect(same(volume.read(each).bytes, tree[i]!.bytes)).toBe(true);
            if (each.records) expect(each.records.length * each.records.count).toBe(tree[i]!.bytes.length);
          });
          expect(same(image, before)).toBe(true);
        },
      ),
      { seed: 21, numRuns: 60 },
    );
  });
});
