import { beforeEach, describe, expect, it } from "vitest";
import { OWNER } from "../types.ts";
import { buildChainedBlock } from "./index.ts";
import { BLOCK, DATA } from "./layout.ts";
import { entryOffset } from "./map.ts";
import { Bench, counting, file } from "./spoilt.ts";

let bench: Bench;

describe("chains of plain files", () => {
  beforeEach(() => {
    bench = new Bench([file("one", 2000), file("second", 2000), file("prog", 700, { kind: "program" })]);
  });
  const blocks = (path: string): readonly number[] => bench.entry(path).blocks;

  it("that link off the disk are read up to there, and the rest is found lost", () => {
    bench.poke(blocks("one")[2]!, 0, 99, 1);
    const { volume, by } = bench.told("bad-link", "lost-block");
    expect(by["bad-link"]).toMatchObject({
      condition: "readable with loss",
      blocks: [blocks("one")[2]],
      files: ["one"],
    });
    expect(by["bad-link"]!.sentence).toMatch(
      /^The chain of “one” breaks off: the block at track \d+, sector \d+ links/,
    );
    expect(by["bad-link"]!.sentence).toContain("3 data blocks of the 8 blocks that the directory states can be read.");
    expect(by["lost-block"]!.blocks).toEqual(
      blocks("one")
        .slice(3)
        .toSorted((a, b) => a - b),
    );
    expect(by["lost-block"]!.sentence).toContain("They begin 1 chain.");
    expect(volume.owners[blocks("one")[3]!]).toBe(OWNER.lost);
    const content = volume.read(bench.entry("one", volume));
    expect(content.missing).toEqual([{ offset: 3 * DATA, length: 5 * DATA }]);
    expect(content.bytes.subarray(0, 3 * DATA)).toEqual(counting(2000, 3).subarray(0, 3 * DATA));
    expect(volume.condition).toBe("readable with loss");
  });

  it("that run in a loop stop at the block met twice", () => {
    bench.point(blocks("one")[3]!, 0, blocks("one")[1]!);
    const { volume, by } = bench.told("chain-loop", "lost-block");
    expect(by["chain-loop"]!.condition).toBe("readable with loss");
    expect(bench.entry("one", volume).blocks).toEqual(blocks("one").slice(0, 4));
  });

  it("that cross are told for both files, and both can be read", () => {
    bench.point(blocks("one")[4]!, 0, blocks("second")[5]!);
    expect(bench.told("crossed-chain", "lost-block").by["crossed-chain"]!.sentence).not.toContain("likelier");
    bench.point(blocks("one")[3]!, 0, blocks("second")[5]!);
    const { volume, by } = bench.told("crossed-chain", "lost-block", "block-count");
    expect(by["crossed-chain"]!.sentence).toContain("They are likelier those of “second”");
    expect(by["block-count"]!.repair).toBe("Settle first which blocks it shares with another file.");
    expect(by["crossed-chain"]).toMatchObject({ files: ["one", "second"], blocks: blocks("second").slice(5) });
    expect(volume.owners[blocks("second")[5]!]).toBe(OWNER.clash);
    expect(volume.read(bench.entry("second", volume)).bytes).toEqual(counting(2000, 6));
    expect(bench.entry("second", volume).condition).toBe("readable with loss");
  });

  it("that run into the directory stop before it", () => {
    bench.point(blocks("prog")[0]!, 0, bench.layout.directoryBlock);
    const { volume, by } = bench.told("chain-into-system", "lost-block");
    expect(by["chain-into-system"]!.files).toEqual(["prog"]);
    expect(bench.entry("prog", volume).blocks).toEqual(blocks("prog").slice(0, 1));
    expect(volume.owners[bench.layout.directoryBlock]).toBe(OWNER.system);
  });

  it("that begin nowhere are lost, and say so", () => {
    bench.slot(1, 1, 40, 0);
    const { volume, by } = bench.told("bad-first-block", "lost-block");
    expect(by["bad-first-block"]!.condition).toBe("lost");
    expect(bench.entry("second", volume).condition).toBe("lost");
    expect(volume.condition).toBe("readable with loss");
  });

  it("whose count in the directory is wrong lose nothing", () => {
    bench.slot(0, 28, 200);
    const { volume, by } = bench.told("block-count");
    expect(by["block-count"]!.sentence).toBe("The directory states 200 blocks for “one”; its chain has 8.");
    expect(volume.condition).toBe("whole");
  });

  it("of a type that there is not are read as sequential", () => {
    bench.slot(0, 0, 0x87);
    const { volume } = bench.told("unknown-type");
    expect(volume.entries[0]).toMatchObject({ kind: "type 7", size: 2000 });
  });

  it("that share a name are kept apart", () => {
    bench.image.copyWithin(
      bench.layout.directoryBlock * BLOCK + 37,
      bench.layout.directoryBlock * BLOCK + 5,
      bench.layout.directoryBlock * BLOCK + 21,
    );
    const { volume } = bench.told("same-name");
    expect(volume.entries.map((entry) => entry.path)).toEqual(["one", "one~2", "prog"]);
  });
});

describe("scratched and open files", () => {
  it("are read from the blocks that nobody has taken since", () => {
    bench = new Bench([file("gone", 1000), file("stays", 1000)]);
    const old = bench.entry("gone").blocks;
    bench.slot(0, 0, 0);
    for (const block of old) bench.setFree(block, true);
    const { volume } = bench.told();
    expect(volume.entries[0]).toMatchObject({
      path: "gone",
      kind: "deleted",
      deleted: true,
      condition: "whole",
      size: 1000,
    });
    expect(volume.read(volume.entries[0]!).bytes).toEqual(counting(1000, 4));
    expect(volume.owners[old[0]!]).toBe(OWNER.free);
    // A living file now takes the third block: what comes before it is still to be had.
    bench.setFree(old[2]!, false);
    bench.point(bench.entry("stays").blocks[3]!, 0, old[2]!);
    bench.poke(old[2]!, 0, 0, 101);
    bench.slot(1, 28, 5);
    const after = bench.told().volume.entries[0]!;
    expect(after).toMatchObject({ condition: "readable with loss", blocks: old.slice(0, 2) });
  });

  it("keep a closed entry of type 0 as a file, not as a scratched one", () => {
    bench = new Bench([file("mark", 10)]);
    bench.slot(0, 0, 0x80);
    expect(bench.told().volume.entries[0]).toMatchObject({ kind: "deleted", deleted: false, size: 10 });
  });

  it("left open are told and read, and do not run into closed ones", () => {
    bench = new Bench([file("stays", 1000)]);
    bench.image = buildChainedBlock([file("log", 1000, { open: true }), file("stays", 1000)], {
      layout: "35-track",
      name: "test",
      id: "a1",
    });
    const { volume, by } = bench.told("left-open");
    expect(by["left-open"]).toMatchObject({ files: ["log"], condition: "readable with loss" });
    expect(volume.read(volume.entries[0]!).bytes).toEqual(counting(1000, 3));
    expect(volume.entries[0]!.details).toContainEqual(["State", "left open"]);
    bench.point(volume.entries[0]!.blocks[1]!, 0, volume.entries[1]!.blocks[1]!);
    const spoilt = bench.told("left-open", "chain-into-file", "lost-block");
    expect(spoilt.volume.entries[0]!.blocks.length).toBe(2);
    expect(spoilt.volume.entries[1]!.condition).toBe("whole");
  });
});

describe("the allocation map", () => {
  for (const name of ["35-track", "77-track-two-sided"] as const)
    it(`is compared with the chains, both ways (${name})`, () => {
      bench = new Bench([file("one", 2000)], name);
      const block = bench.entry("one").blocks[3]!;
      bench.setFree(block, true);
      const spare = bench.layout.blocks - 1;
      bench.setFree(spare, false);
      const { volume, by } = bench.told("used-but-free", "lost-block");
      expect(by["used-but-free"]).toMatchObject({ blocks: [block], files: ["one"], condition: "whole" });
      expect(by["lost-block"]!.blocks).toEqual([spare]);
      expect(volume.condition).toBe("whole");
      expect(volume.freeBlocks).toBe(bench.whole.freeBlocks);
    });

  it("is told where a count and its bits differ, bits stand for no sector, or its blocks are wrong", () => {
    bench = new Bench([file("one", 10)], "77-track-two-sided");
    const [, second] = bench.layout.mapBlocks;
    const at = entryOffset(bench.layout, second!, 60);
    bench.image[at]! += 3;
    expect(bench.told("map-count").by["map-count"]!.sentence).toBe(
      "The map counts 28 free blocks on track 60, where its bits show 25.",
    );
    expect(bench.open().freeBlocks).toBe(bench.whole.freeBlocks! + 3);
    bench.image[at]! -= 2;
    bench.image[at + 4]! |= 0x80;
    expect(bench.told("map-bits", "map-count").by["map-bits"]!.sentence).toBe(
      "The map shows free sectors that do not exist, on track 60.",
    );
    bench = new Bench([file("one", 10)], "77-track-two-sided");
    bench.poke(second!.block, 5, 78);
    bench.poke(second!.block, 0, 1, 1);
    bench.told("map-link", "map-range");
  });

  it("frees no block of the system unnoticed", () => {
    bench = new Bench([file("one", 10)]);
    bench.setFree(bench.layout.headerBlock, true);
    expect(bench.told("system-free").by["system-free"]!.blocks).toEqual([bench.layout.headerBlock]);
  });
});

describe("header and directory", () => {
  const many = Array.from({ length: 20 }, (_, i) => file(`f${i}`, 300));

  it("are read from their fixed places where the header is wrong", () => {
    bench = new Bench(many);
    bench.poke(bench.layout.headerBlock, 0, 77, 77, 0x00);
    expect(bench.told("format-byte", "header-link").volume.entries.length).toBe(20);
  });

  it("give the entries past a break in the directory's chain, by their looks", () => {
    for (const [track, sector, words] of [
      [200, 0, "links to a place that the disk does not have"],
      [18, 1, "it runs in a loop"],
      [1, 0, "links out of the directory"],
    ] as const) {
      bench = new Bench(many);
      bench.poke(bench.layout.directoryBlock, 0, track, sector);
      const { volume, by } = bench.told("directory-chain");
      expect(by["directory-chain"]!.sentence).toContain(words);
      expect(by["directory-chain"]!.sentence).toContain("2 more blocks of its track look like a part of it");
      expect(volume.entries.map((entry) => entry.path).sort()).toEqual(many.map((each) => each.path).sort());
    }
  });

  it("show control characters of names, slashes and dots in percent form", () => {
    bench = new Bench([file("one", 10), file("two", 10), file("three", 10)]);
    bench.slot(0, 3, 0x1b, 0x2f, 0x0d, 0xa0, 0x41);
    bench.slot(1, 3, 0x2e, 0x2e, 0xa0, 0xa0);
    bench.slot(2, 3, 0xa0, 0xa0, 0xa0, 0xa0, 0xa0);
    const { entries } = bench.told().volume;
    expect(entries.map((entry) => entry.path)).toEqual(["%1B%2F%0D%A0a", "%2E%2E", "(no name)"]);
    expect([...entries[0]!.nameBytes]).toEqual([0x1b, 0x2f, 0x0d, 0xa0, 0x41]);
  });
});

describe("images that are not whole", () => {
  it("say which files reached past a short end", () => {
    bench = new Bench([file("two", 2000), file("one", 254 * 400)]);
    bench.image = bench.image.slice(0, 400 * BLOCK);
    const { volume, by } = bench.told("short-image", "unreadable-block", "lost-block");
    expect(by["short-image"]!.blockCount).toBe(283);
    expect(by["short-image"]!.files).toEqual(["one"]);
    expect(bench.entry("two", volume).condition).toBe("whole");
    expect(bench.entry("one", volume).size).toBe(254 * 400);
  });

  it("tell bytes that are left over", () => {
    bench = new Bench([file("one", 10)]);
    const longer = new Uint8Array(bench.image.length + 5);
    longer.set(bench.image);
    bench.image = longer;
    expect(bench.told("extra-bytes").by["extra-bytes"]!.sentence).toMatch(/^The image has 5 bytes after/);
  });

  it("tell the error bytes, and read a bad block unless it holds only a filling", () => {
    bench = new Bench([file("one", 2000), file("stock", 6000, { kind: "records", recordLength: 60 })]);
    const longer = new Uint8Array(bench.image.length + 683).fill(1, bench.image.length);
    longer.set(bench.image);
    bench.image = longer;
    expect(bench.open({ errorBytes: true }).damages).toEqual([]);
    const suspectBlock = bench.entry("one").blocks[2]!;
    const goneBlock = bench.entry("stock").blocks[4]!;
    longer[683 * BLOCK + suspectBlock] = 5;
    longer[683 * BLOCK + goneBlock] = 2;
    longer[683 * BLOCK + 682] = 11;
    longer.fill(0, goneBlock * BLOCK, (goneBlock + 1) * BLOCK);
    const volume = bench.open({ errorBytes: true });
    expect(volume.damages.map(({ code, condition, files }) => [code, condition, files])).toEqual([
      ["lost-records", "readable with loss", ["stock"]],
      ["sector-error", "readable with loss", ["stock"]],
      ["sector-error", "readable with loss", ["one"]],
      ["records-chain", "whole", ["stock"]],
      ["sector-error", "whole", []],
    ]);
    expect(volume.damages[0]!.sentence).toBe("Of “stock” records 17–22 cannot be read, wholly or in part.");
    expect(volume.read(bench.entry("one", volume)).bytes).toEqual(counting(2000, 3));
    expect(bench.entry("one", volume).condition).toBe("readable with loss");
    expect(volume.read(bench.entry("stock", volume)).missing).toEqual([{ offset: 1016, length: 254 }]);
  });
});
