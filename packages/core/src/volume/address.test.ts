import { describe, expect, it } from "vitest";
import { InputError } from "../errors/index.ts";
import { buildFat12, buildSegmentList, parseAddress, resolveAddress, type TreeEntry } from "./index.ts";

const file = (path: string, bytes: Uint8Array): TreeEntry => ({ path, type: "file", bytes });
const text = (words: string): Uint8Array => Uint8Array.from(words, (letter) => letter.charCodeAt(0));

const inner = buildSegmentList([file("docs/readme", text("found"))], {
  tracks: 4,
  sides: 1,
  sectors: 10,
  name: "Inner",
});
const middle = buildFat12([file("INNER.IMG", inner), file("NOTE.TXT", text("note"))], { format: "160K" });
const image = buildSegmentList([file("images/mid:dle", middle), file("@start", text("at")), file("plain", text("p"))], {
  tracks: 80,
  sides: 1,
  sectors: 18,
  name: "Outer",
});

const read = (...parts: string[]): string => {
  const { volume, entry } = resolveAddress(image, parts);
  return String.fromCharCode(...volume!.read(entry!).bytes);
};

describe("parseAddress", () => {
  it("splits at colons, and not behind a drive letter", () => {
    expect(parseAddress("images/a.img:b/c:d")).toEqual({ image: "images/a.img", parts: ["b/c", "d"] });
    expect(parseAddress("a.img:")).toEqual({ image: "a.img", parts: [""] });
    expect(parseAddress("C:\\images\\a.img:b")).toEqual({ image: "C:\\images\\a.img", parts: ["b"] });
    expect(parseAddress("c:b")).toEqual({ image: "c", parts: ["b"] });
  });
});

describe("resolveAddress", () => {
  it("gives the image's own volume for no parts and for an empty one", () => {
    for (const parts of [[], [""]]) {
      const found = resolveAddress(image, parts);
      expect([found.image === image, found.entry, found.volume?.label]).toEqual([true, null, "Outer"]);
    }
  });

  it("goes into files that are volumes, to any depth, whatever the case of letters", () => {
    expect(read("images/mid%3Adle", "inner.img", "docs/README")).toBe("found");
    expect(read("images/mid:dle", "NOTE.TXT")).toBe("note");
    expect(read("/images/mid:dle", "INNER.IMG", "docs/readme/")).toBe("found");
    expect(resolveAddress(image, ["images/mid%3Adle", "INNER.IMG", ""]).volume?.label).toBe("Inner");
    expect(resolveAddress(image, ["images"]).entry?.type).toBe("folder");
    expect(read("%40start")).toBe("at");
  });

  it("takes a run of blocks or bytes as a volume", () => {
    const two = new Uint8Array(inner.length + image.length);
    two.set(image);
    two.set(inner, image.length);
    const bytes = `@bytes=${image.length}-${two.length - 1}`;
    expect(resolveAddress(two, [bytes]).volume?.label).toBe("Inner");
    expect(
      resolveAddress(two, [`@bytes=0x${image.length.toString(16)}-${two.length - 1}`, "docs/readme"]).entry?.size,
    ).toBe(5);
    const block = resolveAddress(image, ["plain"]).entry!.blocks[0]!;
    const run = resolveAddress(image, [`@blocks=${block}`]);
    expect(run).toMatchObject({ volume: null, entry: null });
    expect(run.image).toEqual(image.subarray(block * 256, block * 256 + 256));
    const start = resolveAddress(image, ["images/mid:dle"]).entry!.blocks[0]!;
    expect(resolveAddress(image, [`@blocks=${start}-${start + 639}`, "NOTE.TXT"]).entry?.size).toBe(4);
  });

  it.each([
    [["images/mid"], /There is no images\/mid on this segment-list volume; the nearest path is images\/mid:dle\./],
    [["plane"], /nearest path is plain/],
    [["images/xylophone"], /nearest path is images\./],
    [["nothing like it"], /it begins with images, images\/mid:dle, @start/],
    [["images", "x"], /images is a folder/],
    [["plain/x"], /plain is a file/],
    [["plain", "x"], /plain cannot be opened as a volume/],
    [["images/mid%3Adle", "INNER.IMG", "docs/reedme"], /nearest path is docs\/readme/],
    [["@blocks=5-2"], /not a run of the blocks 0 to 1439/],
    [["@blocks=5-99999"], /not a run/],
    [["@bytes=99999999"], /not a run of the bytes/],
    [["@tracks=1"], /is no run: write @blocks=10-699/],
    [["@bytes=0-99", "@blocks=0"], /use @bytes=FIRST-LAST/],
    [["\u001b[2J"], /There is no \\x1B\[2J/],
  ] as [string[], RegExp][])("says what is near where %j is not there", (parts, sentence) => {
    expect(() => resolveAddress(image, parts)).toThrow(InputError);
    expect(() => resolveAddress(image, parts)).toThrow(sentence);
  });
});
