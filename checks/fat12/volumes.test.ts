import { readFileSync, writeFileSync } from "node:fs";
import type { TreeEntry, Volume } from "@rouse/core/volume";
import { buildFat12, fat12 } from "@rouse/core/volume/fat12";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { fsck, listing, type Made, MODIFIED, requireTools, run, tree, Workshop } from "./tools.ts";

/** Volumes that `mkfs.fat` (dosfstools 4.2) and mtools (4.0.32) made, read by us; and ours read by them. */

const workshop = new Workshop();
beforeAll(requireTools);
afterAll(() => workshop.remove());

/** Size, and what `mkfs.fat` must be told beside it: it knows the formats from 360 K on by their size, but not the older ones. */
const FORMATS: readonly (readonly [name: string, kibibytes: number, scale: number, args: readonly string[]])[] = [
  ["160K", 160, 1, ["-s", "1", "-r", "64", "-M", "0xFE", "-g", "1/8"]],
  ["180K", 180, 1, ["-s", "1", "-r", "64", "-M", "0xFC", "-g", "1/9"]],
  ["320K", 320, 2, ["-s", "2", "-r", "112", "-M", "0xFF", "-g", "2/8"]],
  ["360K", 360, 2, []],
  ["720K", 720, 6, []],
  ["1200K", 1200, 10, []],
  ["1440K", 1440, 14, []],
  ["2880K", 2880, 20, []],
  ["8-inch 1232K", 1232, 10, ["-S", "1024", "-s", "1", "-r", "192", "-M", "0xFE", "-g", "2/8"]],
];

/** The number by which `mformat` knows the same formats. */
const MFORMAT = ["160", "180", "320", "360", "720", "1200", "1440", "2880"] as const;

function make(name: string): { image: string; made: Made[] } {
  const [, kibibytes, scale, args] = FORMATS.find(([each]) => each === name)!;
  const image = workshop.path();
  run("mkfs.fat", ["-C", "-a", "-F", "12", "--invariant", "-n", "LARKFIELD", ...args, image, String(kibibytes)]);
  const made = tree(kibibytes, scale);
  workshop.fill(image, made);
  return { image, made };
}

const bytesOf = (image: string): Uint8Array => new Uint8Array(readFileSync(image));

function openImage(bytes: Uint8Array): Volume {
  const [candidate] = fat12.recognise(bytes);
  if (!candidate) throw new Error("the image was not recognised");
  return fat12.open(bytes, candidate.options);
}

const live = (volume: Volume): string[] =>
  volume.entries
    .filter(({ deleted }) => !deleted)
    .map(({ path, type }) => (type === "folder" ? `${path}/` : path))
    .sort();

const entryOf = (volume: Volume, path: string) => volume.entries.find((entry) => entry.path === path)!;
const detail = (volume: Volume, path: string, label: string): string | undefined =>
  entryOf(volume, path).details.find(([each]) => each === label)?.[1];

describe.each(FORMATS.map(([name]) => name))("a volume of %s that mkfs.fat made and mtools filled", (name) => {
  it("lists and reads the same as mtools and as the tree that went in", () => {
    const { image, made } = make(name);
    const volume = openImage(bytesOf(image));
    expect(volume).toMatchObject({ label: "LARKFIELD", damages: [], condition: "whole" });
    expect(volume.geometry.zones[0]!.size).toBe(name.startsWith("8-inch") ? 1024 : 512);
    expect(live(volume)).toEqual(listing(image));
    expect(live(volume)).toEqual(made.map(({ path, bytes }) => (bytes ? path : `${path}/`)).sort());
    const out = workshop.copyOut(image);
    for (const { path, bytes } of made) {
      if (!bytes) continue;
      const entry = entryOf(volume, path);
      expect(entry.size).toBe(bytes.length);
      expect(detail(volume, path, "Modified")).toBe(MODIFIED);
      const read = volume.read(entry).bytes;
      expect(Buffer.compare(read, bytes), path).toBe(0);
      expect(Buffer.compare(read, out(path)), path).toBe(0);
    }
    const free = /(\d[\d ]*) bytes free/.exec(run("mdir", ["-i", image, "::/"]).toString())![1]!.replaceAll(" ", "");
    expect(volume.freeBlocks! * volume.geometry.zones[0]!.size).toBe(Number(free));
  });
});

describe("files deleted, hidden and named at length by mtools", () => {
  it("show as deleted, and their bytes can still be read while their clusters are free", () => {
    const { image, made } = make("720K");
    const gone = ["LAST.BIN", "WORK/B.TXT", "NOTES/N7.TXT"];
    run("mdel", ["-i", image, ...gone.map((path) => `::/${path}`)]);
    const volume = openImage(bytesOf(image));
    expect(volume.damages).toEqual([]);
    expect(live(volume)).toEqual(listing(image));
    for (const path of gone) {
      const shown = path.replace(/[^/](?=[^/]*$)/, "?");
      const entry = entryOf(volume, shown);
      expect(entry.deleted).toBe(true);
      expect(Buffer.compare(volume.read(entry).bytes, made.find((each) => each.path === path)!.bytes!)).toBe(0);
    }
    // A new file that takes every free cluster leaves nothing of them.
    workshop.fill(image, [{ path: "NEW.BIN", bytes: new Uint8Array(volume.freeBlocks! * 512).fill(1) }]);
    const after = openImage(bytesOf(image));
    expect(after).toMatchObject({ damages: [], freeBlocks: 0 });
    expect(entryOf(after, "WORK/?.TXT")).toMatchObject({ deleted: true, blocks: [], condition: "lost" });
  });

  it("show their attributes, folders and long names", () => {
    const { image } = make("1440K");
    run("mmd", ["-i", image, "::/MADE", "::/MADE/LATER"]);
    run("mattrib", ["+r", "+h", "+s", "-a", "-i", image, "::/README.TXT"]);
    workshop.fill(image, [{ path: "A long name of the museum.text", bytes: new Uint8Array(9) }]);
    const volume = openImage(bytesOf(image));
    expect(volume.damages).toEqual([]);
    expect(detail(volume, "README.TXT", "Attributes")).toBe("read-only, hidden, system");
    expect(entryOf(volume, "MADE/LATER").type).toBe("folder");
    expect(entryOf(volume, "README.TXT").kind).toBe("system file");
    expect(detail(volume, "ALONGN~1.TEX", "Long name")).toBe("A long name of the museum.text");
  });
});

describe("volumes without a descriptor", () => {
  it.each(["160K", "180K", "320K", "360K"])("of %s are listed as mtools lists them, by the media byte", (name) => {
    const { image } = make(name);
    const bytes = bytesOf(image);
    bytes.fill(0, 0, 512);
    writeFileSync(image, bytes);
    const volume = openImage(bytes);
    expect(volume).toMatchObject({ label: "LARKFIELD", damages: [], condition: "whole" });
    expect(volume.facts).toContainEqual(["Layout found by", "media byte"]);
    expect(live(volume)).toEqual(listing(image));
  });
});

describe("volumes that we build", () => {
  const ours: TreeEntry[] = tree(3, 1).map(({ path, bytes }) => ({
    path,
    type: bytes ? "file" : "folder",
    bytes: bytes ?? new Uint8Array(),
    wishes: { archive: bytes !== undefined, modified: MODIFIED },
  }));

  it.each([...MFORMAT.map((size) => `${size}K`), "640K", "8-inch 250K", "8-inch 500K", "8-inch 1232K"])(
    "in the %s format are clean for fsck.fat and read by mtools",
    (format) => {
      const image = workshop.write(buildFat12(ours, { format, label: "LARKFIELD", serial: 0x19880412 }));
      // fsck.fat takes no sectors below 512 bytes; mtools does.
      const short = format === "8-inch 250K" || format === "8-inch 500K";
      if (!short) expect(fsck(image)).toMatchObject({ code: 0 });
      expect(listing(image)).toEqual(ours.map(({ path, type }) => (type === "folder" ? `${path}/` : path)).sort());
      const out = workshop.copyOut(image);
      for (const { path, type, bytes } of ours)
        if (type === "file") expect(Buffer.compare(out(path), bytes), path).toBe(0);
      const shown = run("mdir", ["-i", image, "::/"]).toString();
      expect(shown).toContain("LARKFIELD");
      expect(shown).toContain("1988-0412");
      expect(shown).toMatch(/README +TXT +700 1988-04-12 +10:30/);
    },
  );

  it.each(MFORMAT)("have the descriptor that mformat writes for %s K", (size) => {
    const image = workshop.path();
    run("mformat", ["-C", "-f", size, "-i", image, "::"]);
    expect(buildFat12([], { format: `${size}K` }).subarray(11, 28)).toEqual(bytesOf(image).subarray(11, 28));
  });

  it("without a descriptor are read by mtools, by the media byte", () => {
    for (const format of ["160K", "180K", "320K", "360K"]) {
      const image = workshop.write(buildFat12(ours, { format, descriptor: false }));
      expect(listing(image)).toHaveLength(ours.length);
    }
  });
});

describe("text of the upper half", () => {
  it("is shown as iconv shows code page 437", () => {
    // Bytes 80 to FE, eleven to a name; FF is a blank there, which we show in percent form.
    const image = buildFat12(
      Array.from({ length: 12 }, (_, i) => ({ path: `F${i}`, type: "file" as const, bytes: new Uint8Array() })),
      { format: "360K" },
    );
    const stored: Uint8Array[] = [];
    for (let i = 0; i < 12; i++) {
      const name = Uint8Array.from({ length: 11 }, (_, k) => Math.min(0xfe, 0x80 + i * 11 + k));
      if (name[0] === 0xe5) name[0] = 0xe4;
      image.set(name, 5 * 512 + i * 32);
      stored.push(name);
    }
    const shown = openImage(image).entries.map(({ path }) => path.replace(".", ""));
    const theirs = stored.map((name) => run("iconv", ["-f", "CP437", "-t", "UTF-8"], name).toString());
    expect(shown).toEqual(theirs);
  });
});
