import { readFileSync } from "node:fs";
import type { Volume } from "@rouse/core/volume";
import { fat12 } from "@rouse/core/volume/fat12";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { KINDS, parse } from "./damage.ts";
import { fsck, type Made, numbers, requireTools, run, tree, Workshop } from "./tools.ts";

/**
 * 235 seeded damages to volumes that `mkfs.fat` and mtools made, and our verdict beside that of `fsck.fat -n` (dosfstools 4.2).
 * The lists below are the only disagreements allowed; docs/volumes/fat12.md explains each.
 */

/** Damage that we tell and `fsck.fat` does not count as an error on a FAT12 volume. */
const ONLY_OURS = new Set([
  "a name in small letters",
  "attribute bits that are not used",
  "a media byte that both FATs contradict",
  "an orphaned piece of a long name",
  "a volume label inside a folder",
]);

/** What `fsck.fat` calls an error and we do not. */
const ONLY_THEIRS = new Set(["bit 5 of the reserved byte 12", "a volume label that the descriptor does not repeat"]);

/** `fsck.fat` takes the first FAT whole where both look sound, and then finds damage that the second FAT does not have. */
const FIRST_FAT_WHOLE = "an entry changed in the first FAT";

/** Kinds after which `fsck.fat` stops, or counts unused clusters by rules that are not ours. */
const OTHER_COUNT = new Set([
  FIRST_FAT_WHOLE,
  "a chain that runs into a bad mark",
  "a chain that runs into a bad cluster",
  "a sector of both FATs zeroed",
]);

const SEEDS = 5;

interface Base {
  bytes: Uint8Array;
  files: Map<string, Uint8Array>;
}

const workshop = new Workshop();
const bases: Base[] = [];

beforeAll(() => {
  requireTools();
  for (const [size, scale, args] of [
    ["160", 1, ["-s", "1", "-r", "64", "-M", "0xFE", "-g", "1/8"]],
    ["360", 2, []],
    ["720", 6, []],
    ["1200", 8, []],
    ["1440", 12, []],
  ] as const) {
    const image = workshop.path();
    run("mkfs.fat", ["-C", "-a", "-F", "12", "--invariant", ...args, image, size]);
    const made = tree(Number(size), scale);
    workshop.fill(image, made);
    const files = made.filter((each): each is Made & { bytes: Uint8Array } => each.bytes !== undefined);
    bases.push({
      bytes: new Uint8Array(readFileSync(image)),
      files: new Map(files.map(({ path, bytes }) => [path, bytes])),
    });
  }
});

afterAll(() => workshop.remove());

const openImage = (bytes: Uint8Array): Volume => {
  const [candidate] = fat12.recognise(bytes);
  if (!candidate) throw new Error("the damaged image was not recognised");
  return fat12.open(bytes, candidate.options);
};

/** Paths that `fsck.fat` names at the start of a line, in so far as they are paths of the tree. */
const named = (text: string, files: Map<string, Uint8Array>): string[] =>
  [...text.matchAll(/^\/(.*?)(?: +and)?\s*$/gm)].map((match) => match[1]!).filter((path) => files.has(path));

describe("our verdict beside that of fsck.fat", () => {
  it("is asked for 200 damages and more", () => {
    expect(KINDS.length * SEEDS).toBeGreaterThanOrEqual(200);
  });

  it("is clean on the volumes before they are damaged", () => {
    for (const { bytes, files } of bases) {
      expect(fsck(workshop.write(bytes, "sound.img")).code).toBe(0);
      const volume = openImage(bytes);
      expect(volume).toMatchObject({ damages: [], condition: "whole" });
      for (const [path, content] of files) expect(Buffer.compare(read(volume, path)!, content)).toBe(0);
    }
  });

  it.each(KINDS.map((kind, index) => [kind.name, kind, index] as const))("agrees on %s", (name, kind, index) => {
    for (let seed = 0; seed < SEEDS; seed++) {
      const base = bases[seed % bases.length]!;
      const image = parse(base.bytes.slice());
      kind.damage(image, numbers(index * 1000 + seed));
      const theirs = fsck(workshop.write(image.bytes, "damaged.img"));
      const ours = openImage(image.bytes);
      const codes = ours.damages.map(({ code }) => code);
      const hint = `seed ${seed}: ${codes.join(", ")}\n${theirs.text}`;

      // What each says.
      expect(codes.length > 0, hint).toBe(kind.codes.length > 0);
      if (kind.codes.length > 0)
        expect(
          kind.codes.some((code) => codes.includes(code)),
          hint,
        ).toBe(true);
      expect(theirs.code, hint).toBe(kind.fsck ? 1 : 0);
      if (kind.fsck) expect(theirs.text, hint).toMatch(kind.fsck);
      const agreed = (theirs.code !== 0) === codes.length > 0;
      expect(agreed, hint).toBe(!ONLY_OURS.has(name) && !ONLY_THEIRS.has(name));

      // Which files: each that fsck.fat names is named by one of our damages too.
      const told = new Set(ours.damages.flatMap(({ files }) => files));
      if (name !== FIRST_FAT_WHOLE && !ONLY_THEIRS.has(name))
        for (const path of named(theirs.text, base.files)) expect(told, `${path}\n${hint}`).toContain(path);

      // How many clusters nothing claims.
      const reclaimed = Number(/Reclaimed (\d+) unused/.exec(theirs.text)?.[1] ?? 0);
      const lost = (ours.damages.find(({ code }) => code === "lost-cluster")?.blockCount ?? 0) / image.perCluster;
      if (!OTHER_COUNT.has(name)) expect(lost, hint).toBe(reclaimed);

      // A file that we call whole and name in no damage has its bytes.
      if (name === KINDS[0]!.name) continue;
      for (const [path, content] of base.files) {
        const entry = ours.entries.find((each) => each.path === path && !each.deleted);
        if (!entry || told.has(path) || entry.condition !== "whole" || entry.size !== content.length) continue;
        expect(Buffer.compare(ours.read(entry).bytes, content), `${path}\n${hint}`).toBe(0);
      }
      if (kind.codes[0] === "fat-copies-differ")
        for (const [path, content] of base.files)
          expect(Buffer.compare(read(ours, path)!, content), `${path}\n${hint}`).toBe(0);
    }
  });
});

function read(volume: Volume, path: string): Uint8Array | undefined {
  const entry = volume.entries.find((each) => each.path === path);
  return entry && volume.read(entry).bytes;
}
