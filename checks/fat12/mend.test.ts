/**
 * Images made and mended here, before `fsck.fat -n` (dosfstools 4.2) and mtools (4.0.32): made ones are clean and read back,
 * and mended ones are clean unless the mending itself says what is left.
 */
import { readFileSync } from "node:fs";
import { loadCatalogue } from "@rouse/core/catalogue";
import { makeFormats, makeImage, mendImage, NO_SIDE, readSide, type TreeEntry } from "@rouse/core/volume";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { KINDS, parse } from "./damage.ts";
import { fsck, listing, type Made, numbers, requireTools, run, tree, Workshop } from "./tools.ts";

const SEEDS = 3;

/** What mending leaves as it is, because the image does not say what is right; it must then be told as left. */
const LEFT: Record<string, string> = {
  "a folder entry that points to another folder": "which of the two owns it is not known",
  "a folder without a first cluster": "its entries cannot be found from it",
  "a name with a control character": "what it should be is not known",
  "the same name twice": "which should have another name is not known",
  "an image that ends too soon": "its end is not in it",
  "bits turned in the root directory": "names and attribute bits may be any",
};
/** Errors of `fsck.fat` that are none to us: the mending has nothing to say of them. */
const ONLY_THEIRS = new Set(["bit 5 of the reserved byte 12", "a volume label that the descriptor does not repeat"]);

const workshop = new Workshop();
let base: Uint8Array;
let files: Map<string, Uint8Array>;

beforeAll(() => {
  requireTools();
  const image = workshop.path();
  run("mkfs.fat", ["-C", "-a", "-F", "12", "--invariant", image, "360"]);
  const made = tree(360, 2);
  workshop.fill(image, made);
  base = new Uint8Array(readFileSync(image));
  files = new Map(made.flatMap(({ path, bytes }) => (bytes ? [[path, bytes] as const] : [])));
});
afterAll(() => workshop.remove());

describe("an image mended here", () => {
  it.each(KINDS.map((kind, index) => [kind.name, kind, index] as const))(
    "is clean for fsck.fat after %s, or says what is left",
    (name, kind, index) => {
      for (let seed = 0; seed < SEEDS; seed++) {
        const image = parse(base.slice());
        kind.damage(image, numbers(index * 1000 + seed));
        const mended = mendImage(image.bytes, { kind: "fat12" });
        const theirs = fsck(workshop.write(mended.image, "mended.img"));
        const hint = `seed ${seed}: ${mended.changes.map((each) => each.sentence).join(" ")}\nleft: ${mended.left.map((each) => each.sentence).join(" ")}\n${theirs.text}`;
        if (name in LEFT) expect(mended.left.length, hint).toBeGreaterThan(0);
        else if (!ONLY_THEIRS.has(name)) {
          expect(theirs.code, hint).toBe(0);
          expect(mended.refused, hint).toEqual([]);
        }
      }
    },
  );

  it("still gives mtools every file that was not hurt, after both FAT copies were damaged in different places", () => {
    const image = parse(base.slice());
    image.bytes.fill(0, image.fatAt, image.fatAt + image.size);
    image.bytes.fill(0xff, image.fatAt + image.fatBytes + image.size, image.fatAt + 2 * image.fatBytes);
    expect(fsck(workshop.write(image.bytes, "before.img")).code).toBe(1);
    const mended = mendImage(image.bytes, { kind: "fat12" });
    expect(mended.left).toEqual([]);
    const path = workshop.write(mended.image, "after.img");
    expect(fsck(path).code).toBe(0);
    const out = workshop.copyOut(path);
    for (const [name, bytes] of files) expect(Buffer.compare(out(name), bytes), name).toBe(0);
  });
});

const entriesOf = (made: readonly Made[]): TreeEntry[] =>
  made.map(({ path, bytes }) => ({ path, type: bytes ? "file" : "folder", bytes: bytes ?? new Uint8Array(0) }));

describe("an image made here", () => {
  const formats = makeFormats(loadCatalogue()).filter((each) => each.kind === "fat12");
  // mtools knows the 8-inch disks of 128-byte sectors no more than it knows their geometry; fsck.fat refuses such sectors.
  const usable = formats.filter((each) => !/8-inch-(250|500)k$|ecma-(54|59)$/.test(each.id));

  it("is one of more than a dozen formats", () => {
    expect(usable.length).toBeGreaterThan(12);
  });

  it.each(usable.map((each) => [each.id, each] as const))(
    "as %s is clean for fsck.fat, and mtools reads it back",
    (_, format) => {
      const made = tree(7, format.bytes < 300 * 1024 ? 0 : 1).filter(({ path }) => !path.startsWith("NOTES"));
      const side = readSide(
        { volume: { label: "OPEN DAY", serial: 77 }, files: { "README.TXT": { readOnly: true } } },
        "side",
      );
      const path = workshop.write(makeImage(format, entriesOf(made), side), "made.img");
      const theirs = fsck(path);
      expect(theirs.code, theirs.text).toBe(0);
      expect(listing(path)).toEqual(made.map((each) => (each.bytes ? each.path : `${each.path}/`)).sort());
      const out = workshop.copyOut(path);
      for (const { path: name, bytes } of made) if (bytes) expect(Buffer.compare(out(name), bytes), name).toBe(0);
      expect(run("mlabel", ["-s", "-i", path, "::"]).toString()).toContain("OPEN DAY");
    },
  );

  it("without a side file has no label, and is clean as well", () => {
    const path = workshop.write(makeImage(formats.find((each) => each.id === "fat12-720k")!, [], NO_SIDE), "empty.img");
    const theirs = fsck(path);
    expect(theirs.code, theirs.text).toBe(0);
    expect(run("mlabel", ["-s", "-i", path, "::"]).toString()).toContain("has no label");
  });
});
