import { imageReport } from "@rouse/core/fit";
import { buildSegmentList } from "@rouse/core/volume";
import { describe, expect, it } from "vitest";
import { type Disk, diskOf, inOneSentence, keyedFrom, sectorsOn, tell } from "./disk-model.ts";
import { blockUnder, ringOf } from "./disk-paint.ts";
import { treeOf } from "./tree.ts";

const file = (path: string, length: number) => ({
  path,
  type: "file" as const,
  bytes: new Uint8Array(length).fill(65),
});
const image = buildSegmentList([file("sys/boot", 3000), file("sys/login", 900), file("notes", 300)], {
  tracks: 40,
  sides: 2,
  sectors: 18,
  firstTrackSectors: 10,
  name: "test disk",
});
const report = imageReport("test.img", image, "0");
const disk = diskOf(report) as Disk;

describe("the disk of a report", () => {
  it("gives each sector a look after its owner", () => {
    const { entries } = report.survey.volume!;
    const boot = entries.findIndex(({ path }) => path === "sys/boot");
    const folder = entries.findIndex(({ path }) => path === "sys");
    for (const block of disk.blocks[boot]!.content) expect(disk.looks[block]).toBe("file");
    for (const block of disk.blocks[boot]!.own) expect(disk.looks[block]).toBe("book");
    for (const block of disk.blocks[folder]!.content) expect(disk.looks[block]).toBe("book");
    expect(disk.looks[0]).toBe("system");
    expect(disk.looks.at(-1)).toBe("free");
  });

  it("tells a sector in one sentence: block, place, owner and which part of it", () => {
    const boot = report.survey.volume!.entries.findIndex(({ path }) => path === "sys/boot");
    const second = disk.blocks[boot]!.content[1]!;
    const { place } = tell(disk, second);
    expect(inOneSentence(tell(disk, second))).toBe(`Block ${second}, ${place}: file sys/boot, block 2 of 12.`);
    expect(place).toMatch(/^track \d+, side [01], sector \d+$/);
  });
});

describe("keys on the disk", () => {
  it("go round a track, from track to track and to the other side, and never off the disk", () => {
    const last = disk.map.blocks - 1;
    expect(keyedFrom(disk, 0, "ArrowRight", false)).toBe(1);
    expect(keyedFrom(disk, 0, "ArrowLeft", false)).toBe(sectorsOn(disk.map, 0, 0) - 1);
    expect(keyedFrom(disk, 0, "ArrowUp", false)).toBe(0);
    expect(keyedFrom(disk, 5, "End", true)).toBe(last);
    expect(keyedFrom(disk, last, "Home", true)).toBe(0);
    expect(disk.map.place(keyedFrom(disk, 0, "s", false)!)).toMatchObject({ track: 0, side: 1 });
    expect(keyedFrom(disk, 0, "x", false)).toBeUndefined();
    for (const key of ["ArrowUp", "ArrowDown", "PageUp", "PageDown", "Home", "End", "s"])
      for (let block = 0; block <= last; block += 7) {
        const to = keyedFrom(disk, block, key, false)!;
        expect(to >= 0 && to <= last).toBe(true);
      }
  });
});

describe("a point of the picture", () => {
  it("is the sector that is drawn there", () => {
    for (let block = 0; block < disk.map.blocks; block += 11) {
      const { track, side, sector } = disk.map.place(block);
      const radius = 0.465 - (track + 0.5) * ringOf(disk.map.geometry.tracks);
      const angle = ((sector + 0.5) / sectorsOn(disk.map, track, side)) * 2 * Math.PI - Math.PI / 2;
      expect(blockUnder(disk, side, 0.5 + radius * Math.cos(angle), 0.5 + radius * Math.sin(angle))).toBe(block);
    }
    expect(blockUnder(disk, 0, 0.5, 0.5)).toBeUndefined();
    expect(blockUnder(disk, 0, 0, 0)).toBeUndefined();
  });
});

describe("treeOf", () => {
  it("puts what lies in a folder below it, and an orphan at the top under its whole path", () => {
    const { entries } = report.survey.volume!;
    const { roots } = treeOf(entries, false, 100);
    expect(roots.map(({ leaf }) => leaf).sort()).toEqual(["notes", "sys"]);
    expect(roots.find(({ leaf }) => leaf === "sys")!.children.map(({ leaf }) => leaf)).toEqual(["boot", "login"]);
    const orphans = treeOf(
      entries.filter(({ path }) => path !== "sys"),
      false,
      2,
    );
    expect(orphans.roots.map(({ leaf }) => leaf)).toContain("sys/boot");
    expect(orphans.left).toBe(1);
  });
});
