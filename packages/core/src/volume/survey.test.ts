import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../errors/index.ts";
import { buildFat12, buildSegmentList, FORMATS, openBest, recogniseAll, survey, type TreeEntry } from "./index.ts";

const file = (path: string, bytes: Uint8Array): TreeEntry => ({ path, type: "file", bytes });
const text = (words: string): Uint8Array => Uint8Array.from(words, (letter) => letter.charCodeAt(0));

/** A segment-list volume of `tracks` times ten sectors. */
const segments = (tracks: number, ...tree: TreeEntry[]): Uint8Array =>
  buildSegmentList(tree, { tracks, sides: 1, sectors: 10, name: `T${tracks}` });

describe("the list of formats", () => {
  it("has each kind once", () => {
    expect(FORMATS.map(({ kind }) => kind).sort()).toEqual(["chained-block", "extent-entry", "fat12", "segment-list"]);
  });
});

describe("recogniseAll", () => {
  it("puts the best candidate first, with its evidence", () => {
    const candidates = recogniseAll(segments(35, file("a", text("b"))));
    expect(candidates[0]).toMatchObject({ kind: "segment-list", score: 1 });
    expect(candidates[0]!.evidence).toContain("sector 0 states 350 sectors, and the image holds as many");
    const scores = candidates.map(({ score }) => score);
    expect(scores).toEqual([...scores].sort((a, b) => b - a));
  });

  it("finds nothing in nothing", () => {
    expect(recogniseAll(new Uint8Array(0))).toEqual([]);
  });
});

describe("openBest", () => {
  it("opens what the image speaks for, or what is wished", () => {
    const image = buildFat12([file("A.TXT", text("hello"))], { format: "360K" });
    expect(openBest(image).volume.kind).toBe("fat12");
    expect(openBest(image, { kind: "fat12" }).candidate.kind).toBe("fat12");
  });

  it("says what the image could be where the wish is wrong", () => {
    const image = segments(35);
    expect(() => openBest(image, { kind: "fat12" })).toThrow(InputError);
    expect(() => openBest(image, { kind: "fat12" })).toThrow(
      /for a FAT12 volume\. It could be a segment-list volume \(35/,
    );
    expect(() => openBest(new Uint8Array(5))).toThrow(
      "Nothing in these 5 bytes speaks for a volume of a kind that Rouse knows.",
    );
  });
});

describe("survey", () => {
  it("is plain data that JSON keeps", () => {
    const found = survey(segments(35, file("texts/a", text("hello"))));
    expect(JSON.parse(JSON.stringify(found))).toEqual(found);
    expect(found.volume).toMatchObject({
      kind: "segment-list",
      label: "T35",
      condition: "whole",
      blocks: 350,
      counts: { files: 1, folders: 1, records: 0, deleted: 0, hurt: 0 },
      nested: [],
    });
    expect(found.volume!.entries[1]).toMatchObject({ path: "texts/a", size: 5, blocks: 1, condition: "whole" });
  });

  it("finds volumes in files of volumes, of any kind, with their addresses", () => {
    const inner = segments(28, file("deep", text("found")));
    const middle = buildFat12([file("INNER.IMG", inner)], { format: "160K" });
    const found = survey(segments(110, file("images/mid:dle", middle), file("big", new Uint8Array(66_048))));
    const [one] = found.volume!.nested;
    expect(found.volume!.nested).toHaveLength(1);
    expect(one).toMatchObject({ address: "images/mid%3Adle:", size: middle.length, volume: { kind: "fat12" } });
    expect(one!.volume.nested).toMatchObject([{ address: "images/mid%3Adle:INNER.IMG:", volume: { label: "T28" } }]);
    expect(one!.volume.nested[0]!.volume.entries[0]!.path).toBe("deep");
  });

  it("goes four volumes deep and never over the same bytes twice", () => {
    let image = segments(28, file("deep", text("found")));
    for (let tracks = 32; tracks <= 52; tracks += 4) image = segments(tracks, file("in", image));
    const depth = (volume = survey(image).volume): number =>
      volume ? 1 + Math.max(-1, ...volume.nested.map((each) => depth(each.volume))) : -1;
    expect(depth()).toBe(4);
    const same = segments(28, file("a", text("b")));
    expect(survey(segments(80, file("x", same), file("y", same))).volume!.nested).toHaveLength(1);
  });

  it("takes any bytes, whatever they look like", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 4096 }), (image) => {
        const found = survey(image);
        expect(found.size).toBe(image.length);
        expect(found.volume === null || found.candidates.length > 0).toBe(true);
      }),
      { numRuns: 200, seed: 5 },
    );
    for (const size of [161280, 163840, 174848, 256256, 368640, 533248, 1066496, 1228800])
      for (const fill of [0, 0xe5, 0xff]) expect(survey(new Uint8Array(size).fill(fill)).size).toBe(size);
  });
});
