import { describe, expect, it } from "vitest";
import { loadCatalogue } from "../catalogue/index.ts";
import {
  compareImages,
  makeFormatNamed,
  makeFormats,
  makeImage,
  NO_SIDE,
  openBest,
  readSide,
  type TreeEntry,
} from "./index.ts";

const formats = makeFormats(loadCatalogue());
const file = (path: string, bytes: number | Uint8Array): TreeEntry => ({
  path,
  type: "file",
  bytes:
    typeof bytes === "number" ? Uint8Array.from({ length: bytes }, (_, i) => (i * 13 + path.length) & 0xff) : bytes,
});

describe("every format that can be made", () => {
  it("has an id of its own, and all four kinds are there", () => {
    expect(new Set(formats.map((each) => each.id)).size).toBe(formats.length);
    expect(new Set(formats.map((each) => each.kind))).toEqual(
      new Set(["fat12", "segment-list", "chained-block", "extent-entry"]),
    );
    expect(formats.map((each) => each.id)).toEqual(
      expect.arrayContaining([
        "fat12-720k",
        "chained-block-zoned-77-two-side",
        "extent-entry-ecma-54",
        "segment-list-zoned-77-two-side",
      ]),
    );
  });

  it.each(formats.map((each) => [each.id, each] as const))("%s makes an image that reads back whole", (_, format) => {
    const tree = [file("ALPHA.TXT", 1000), file("BETA.BIN", 6000), file("GAMMA.DAT", 128)];
    const image = makeImage(format, tree, NO_SIDE);
    expect(image.length).toBe(format.bytes);
    const { volume } = openBest(image, { kind: format.kind });
    expect(volume.damages).toEqual([]);
    expect(volume.condition).toBe("whole");
    for (const { path, bytes } of tree) {
      const entry = volume.entries.find((each) => each.path === path)!;
      expect(volume.read(entry).bytes.subarray(0, bytes.length), path).toEqual(bytes);
    }
  });
});

describe("the side file", () => {
  const side = (data: unknown) => readSide(data, "side.yaml");

  it("gives attributes, dates and a label to a FAT12 volume, and a boot program around its descriptor", () => {
    const image = makeImage(
      makeFormatNamed(formats, "fat12-720k"),
      [file("read.me", 100)],
      side({
        volume: { label: "open day" },
        files: { "read.me": { readOnly: true, hidden: true, modified: "1988-04-12 10:30:02" } },
      }),
      new Uint8Array(512).fill(0xaa),
    );
    const { volume } = openBest(image);
    expect(volume.label).toBe("OPEN DAY");
    expect(volume.entries[0]!.details).toEqual(
      expect.arrayContaining([
        ["Attributes", "read-only, hidden"],
        ["Modified", "1988-04-12 10:30:02"],
      ]),
    );
    expect([image[0], image[0x3e], image[511]]).toEqual([0xaa, 0xaa, 0xaa]);
    expect(volume.condition).toBe("whole");
  });

  it("makes record files and programs of a chained-block volume", () => {
    const image = makeImage(
      makeFormatNamed(formats, "chained-block-zoned-35"),
      [file("ACCOUNTS", 100 * 30), file("TERM", 500)],
      side({
        volume: { label: "DATA", id: 12 },
        files: { ACCOUNTS: { kind: "records", recordLength: 100 }, TERM: { kind: "program" } },
      }),
    );
    const { volume } = openBest(image);
    expect(volume.facts).toContainEqual(["ID", "12"]);
    expect(volume.entries.find((each) => each.path === "ACCOUNTS")!.records).toEqual({ length: 100, count: 30 });
    expect(volume.entries.find((each) => each.path === "TERM")!.kind).toBe("program");
  });

  it("names a bootstrap and owners of a segment-list volume, and fills reserved tracks of an extent-entry one", () => {
    const image = makeImage(
      makeFormatNamed(formats, "segment-list-zoned-77-two-side"),
      [file("boot", 700), { path: "sys", type: "folder", bytes: new Uint8Array(0) }, file("sys/x", 10)],
      side({
        volume: { label: "Tern", bootstrap: "boot", owner: 3 },
        files: { boot: { attributes: "PR R", owner: 7 } },
      }),
    );
    const { volume } = openBest(image);
    expect(volume.facts.find(([label]) => label === "Bootstrap")![1]).toContain("the file boot");
    expect(volume.entries.find((each) => each.path === "boot")!.details).toContainEqual(["Owner", "7"]);

    const disk = makeImage(
      makeFormatNamed(formats, "extent-entry-ecma-54"),
      [file("user-2/A.COM", 256)],
      side({ volume: { skew: 1 } }),
      Uint8Array.of(0xc3, 0, 2),
    );
    expect([...disk.subarray(0, 3)]).toEqual([0xc3, 0, 2]);
    expect(openBest(disk).volume.entries[0]!.path).toBe("user-2/A.COM");
  });

  it.each([
    [{ volumes: {} }, "not a key here"],
    [{ volume: { lable: "x" } }, "did you mean “label”"],
    [{ volume: { serial: "x" } }, "a whole number"],
    [{ files: { A: { readonly: true } } }, "did you mean “readOnly”"],
    [{ files: { A: { readOnly: 1 } } }, "true or false"],
    [{ volume: { lastByte: "both" } }, "index or count"],
    [[1], "has the keys"],
    [{ files: [1] }, "paths with their wishes"],
    [{ boot: 3 }, "names a file"],
  ])("refuses %j with one sentence", (data, sentence) => {
    expect(() => side(data)).toThrow(sentence);
  });

  it("is refused where it speaks of what is not there, or of another kind of volume", () => {
    const fat = makeFormatNamed(formats, "fat12-360k");
    expect(() => makeImage(fat, [], side({ files: { "NO.NE": {} } }))).toThrow("not in the folder");
    expect(() => makeImage(fat, [], side({ volume: { bootstrap: "x" } }))).toThrow("not for this kind");
    expect(() => makeFormatNamed(formats, "fat12-72k")).toThrow("did you mean");
    expect(() =>
      makeImage(
        makeFormatNamed(formats, "chained-block-zoned-35"),
        [{ path: "F", type: "folder", bytes: new Uint8Array(0) }],
        NO_SIDE,
      ),
    ).toThrow("has none");
    expect(() => makeImage(makeFormatNamed(formats, "chained-block-zoned-35"), [], NO_SIDE, new Uint8Array(1))).toThrow(
      "boot block",
    );
    expect(() => makeImage(fat, [file("BIG.DAT", 500_000)], NO_SIDE)).toThrow("does not fit");
  });
});

describe("comparing two images", () => {
  const fat = makeFormatNamed(formats, "fat12-360k");
  const base = [file("ONE.TXT", 1200), file("TWO.TXT", 700), file("GONE.TXT", 10)];

  it("finds no difference between an image and itself", () => {
    const image = makeImage(fat, base, NO_SIDE);
    expect(compareImages(image, image.slice())).toMatchObject({ same: true, differingBlocks: 0, runs: [], files: [] });
  });

  it("tells blocks with their places and files, and files by what differs", () => {
    const a = makeImage(fat, base, NO_SIDE);
    const changed = base[0]!.bytes.slice();
    changed[600]! ^= 0xff;
    const b = makeImage(
      fat,
      [{ ...base[0]!, bytes: changed }, { ...base[1]!, path: "TWO.TXT" }, file("NEW.TXT", 10)],
      readSide({ files: { "TWO.TXT": { readOnly: true } } }, "side"),
    );
    const compared = compareImages(a, b);
    const how = Object.fromEntries(compared.files.map((each) => [each.path, each.how]));
    expect(how).toEqual({
      "ONE.TXT": "content",
      "TWO.TXT": "details",
      "GONE.TXT": "only in the first",
      "NEW.TXT": "only in the second",
    });
    expect(compared.files.find((each) => each.path === "ONE.TXT")!.sentence).toContain(
      "1 byte differs, the first at 600",
    );
    expect(compared.runs.some((run) => run.files.includes("ONE.TXT") && run.place !== null)).toBe(true);
    expect(compared.same).toBe(false);
  });

  it("takes any bytes: of different lengths, and of no volume", () => {
    expect(compareImages(Uint8Array.of(1, 2), new Uint8Array(600))).toMatchObject({
      same: false,
      blockSize: 256,
      differingBlocks: 3,
      files: [],
    });
    expect(compareImages(new Uint8Array(0), new Uint8Array(0)).same).toBe(true);
  });
});
