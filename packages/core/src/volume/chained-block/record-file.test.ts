import { beforeEach, describe, expect, it } from "vitest";
import type { Entry, Volume } from "../types.ts";
import { BLOCK } from "./layout.ts";
import { Bench, counting, file } from "./spoilt.ts";

let bench: Bench;

describe("record files", () => {
  const length = 60;
  beforeEach(() => {
    bench = new Bench([file("stock", 60 * 1000, { kind: "records", recordLength: length }), file("other", 3000)]);
  });
  const stock = (): Entry => bench.entry("stock");
  /** Every record of the first file against what was written. */
  const wrongRecords = (volume: Volume): number[] => {
    const wrong: number[] = [];
    const content = volume.read(bench.entry("stock", volume)).bytes;
    const good = counting(60 * 1000, 5);
    for (let record = 0; record < 1000; record++)
      for (let i = record * length; i < (record + 1) * length; i++)
        if (content[i] !== good[i]) {
          wrong.push(record + 1);
          break;
        }
    return wrong;
  };

  it("with a broken data chain give every record by the index", () => {
    bench.poke(stock().blocks[50]!, 0, 99, 0);
    const { volume, by } = bench.told("records-chain");
    // Place 51 of the data is bytes 12,954 to 13,207: records 216 to 221.
    expect(by["records-chain"]!.sentence).toContain("the index still gives the way to records 216–221");
    expect(wrongRecords(volume)).toEqual([]);
    expect(bench.entry("stock", volume).condition).toBe("whole");
  });

  it("with a bad index pointer give every record by the chain", () => {
    bench.poke(stock().ownBlocks[0]!, 16 + 2 * 7, 99, 0);
    const { volume, by } = bench.told("not-indexed");
    expect(by["not-indexed"]!.sentence).toContain("no good block for records 30–34");
    expect(wrongRecords(volume)).toEqual([]);
  });

  it("name the records that are lost where both ways fail", () => {
    bench.poke(stock().blocks[3]!, 0, 99, 0);
    bench.poke(stock().ownBlocks[0]!, 16 + 2 * 4, 99, 0);
    const { volume, by } = bench.told("lost-records", "records-chain", "lost-block");
    // Place 4 is bytes 1,016 to 1,269: records 17 to 22.
    expect(by["lost-records"]).toMatchObject({
      sentence: "Of “stock” records 17–22 cannot be read, wholly or in part.",
      condition: "readable with loss",
    });
    expect(wrongRecords(volume)).toEqual([17, 18, 19, 20, 21, 22]);
    expect(volume.read(bench.entry("stock", volume)).missing).toEqual([{ offset: 1016, length: 254 }]);
  });

  it("choose the better of index and chain where they differ, and name the records", () => {
    // The link leads into another file; the index knows better.
    bench.point(stock().blocks[9]!, 0, bench.entry("other").blocks[3]!);
    const byLink = bench.told("index-chain");
    expect(byLink.by["index-chain"]!.sentence).toContain("different blocks for records 43–47");
    expect(wrongRecords(byLink.volume)).toEqual([]);
    // The pointer leads into another file; the chain knows better.
    bench.point(stock().blocks[9]!, 0, stock().blocks[10]!);
    bench.point(stock().ownBlocks[1]!, 16, bench.entry("other").blocks[3]!);
    const byPointer = bench.told("index-chain");
    expect(wrongRecords(byPointer.volume)).toEqual([]);
    expect(bench.entry("stock", byPointer.volume).condition).toBe("readable with loss");
  });

  it("come back whole without their index, and without one index block", () => {
    bench.slot(0, 19, 0, 0);
    const none = bench.told("no-index", "lost-block", "block-count");
    expect(none.by["no-index"]!.sentence).toBe("In the record file “stock” its index cannot be found.");
    expect(wrongRecords(none.volume)).toEqual([]);
    bench.point(bench.layout.directoryBlock, 2 + 19, stock().ownBlocks[0]!);
    bench.image.fill(0xff, stock().ownBlocks[0]! * BLOCK, (stock().ownBlocks[0]! + 1) * BLOCK);
    bench.told("block-count", "lost-block", "index-block");
    expect(wrongRecords(bench.open())).toEqual([]);
  });

  it("find a later index block by the table where the link to it is broken", () => {
    bench.poke(stock().ownBlocks[0]!, 0, 99, 0);
    const { volume } = bench.told("index-link");
    expect(bench.entry("stock", volume).ownBlocks).toEqual(stock().ownBlocks);
    expect(wrongRecords(volume)).toEqual([]);
  });

  it("tell a wrong number, table or record length of an index block", () => {
    bench.poke(stock().ownBlocks[1]!, 2, 4);
    expect(bench.told("index-number").by["index-number"]!.sentence).toMatch(
      /its index block 1, at track .* number \$04\.$/,
    );
    bench.poke(stock().ownBlocks[1]!, 2, 1);
    bench.poke(stock().ownBlocks[0]!, 6, 99, 0);
    bench.told("index-table");
    bench.point(stock().ownBlocks[0]!, 6, stock().ownBlocks[1]!);
    bench.poke(stock().ownBlocks[0]!, 3, 61);
    const { by, volume } = bench.told("record-length");
    expect(by["record-length"]!.sentence).toBe(
      "The directory gives “stock” the record length 60, 1 index block gives 61; 60 was used.",
    );
    expect(bench.entry("stock", volume).records).toEqual({ length: 60, count: 1000 });
  });

  it("take the record length of the index where the directory's cannot be", () => {
    bench.slot(0, 21, 0);
    const { volume } = bench.told("record-length");
    expect(bench.entry("stock", volume).records).toEqual({ length: 60, count: 1000 });
    bench.slot(0, 21, 61);
    const other = bench.told("record-length", "uneven-records");
    expect(other.by["uneven-records"]!.sentence).toContain("which is not a whole record of 61");
  });

  it("name the records in doubt where another file runs into theirs", () => {
    bench.point(bench.entry("other").blocks[2]!, 0, stock().blocks[stock().blocks.length - 1]!);
    const { by } = bench.told("crossed-chain", "lost-block", "block-count");
    // 60,000 bytes are 236 blocks and 56 bytes: the last block holds the end of record 1000 alone.
    expect(by["crossed-chain"]!.sentence).toContain("Of “stock” record 1000 is in doubt.");
  });

  it("find the other groups where the upper index has lost one", () => {
    bench = new Bench([file("big", 254 * 1500, { kind: "records", recordLength: 127 })], "77-track-two-sided");
    const [upper] = bench.entry("big").ownBlocks;
    bench.poke(upper!, 3 + 2, 200, 0);
    const { volume } = bench.told("index-link");
    expect(bench.entry("big", volume)).toMatchObject({ condition: "whole", records: { length: 127, count: 3000 } });
    expect(volume.read(bench.entry("big", volume)).bytes.every((byte, i) => byte === ((i * 13 + 3) & 0xff))).toBe(true);
    expect(bench.entry("big", volume).ownBlocks.length).toBe(14);
  });
});
