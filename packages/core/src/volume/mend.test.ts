import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../errors/index.ts";
import { STANDARD_8_INCH } from "./extent-entry/index.ts";
import {
  buildChainedBlock,
  buildExtentEntry,
  buildFat12,
  buildSegmentList,
  FORMATS,
  mendImage,
  openBest,
  recogniseAll,
  type TreeEntry,
  type Volume,
  type VolumeKind,
} from "./index.ts";

const bytes = (length: number, seed: number): Uint8Array =>
  Uint8Array.from({ length }, (_, i) => (i * 7 + seed * 31 + (i >> 8)) & 0xff);

const file = (path: string, length: number, seed: number, wishes?: TreeEntry["wishes"]): TreeEntry => ({
  path,
  type: "file",
  bytes: bytes(length, seed),
  ...(wishes ? { wishes } : {}),
});
const folder = (path: string): TreeEntry => ({ path, type: "folder", bytes: new Uint8Array(0) });

const IMAGES: Record<VolumeKind, () => Uint8Array> = {
  fat12: () =>
    buildFat12(
      [
        file("ONE.DAT", 5000, 1),
        file("TWO.DAT", 9000, 2),
        folder("SUB"),
        file("SUB/DEEP.DAT", 3000, 3),
        file("END.DAT", 700, 4),
      ],
      { format: "360K", label: "MENDING" },
    ),
  "segment-list": () =>
    buildSegmentList(
      [file("one", 3000, 1), file("sub/two", 5000, 2), file("sub/three", 900, 3), file("boot", 700, 4)],
      {
        tracks: 35,
        sides: 1,
        sectors: 18,
        bootstrap: "boot",
      },
    ),
  "chained-block": () =>
    buildChainedBlock(
      [
        file("ONE", 3000, 1),
        file("TWO", 5000, 2, { kind: "program" }),
        file("LIST", 100 * 40, 3, { kind: "records", recordLength: 100 }),
        file("END", 900, 4),
      ],
      { layout: "77-track", name: "MENDING", id: "ME" },
    ),
  "extent-entry": () =>
    buildExtentEntry(
      [file("ONE.DAT", 3072, 1), file("TWO.DAT", 20_480, 2), file("user-3/END.DAT", 1024, 3)],
      STANDARD_8_INCH,
    ),
};
const same = (a: Uint8Array, b: Uint8Array): boolean => a.length === b.length && a.every((byte, i) => byte === b[i]);
const KINDS = Object.keys(IMAGES) as VolumeKind[];

const opened = (image: Uint8Array): Volume => openBest(image).volume;
const entry = (volume: Volume, path: string) => volume.entries.find((each) => each.path === path && !each.deleted)!;

describe.each(KINDS)("mending a %s volume", (kind) => {
  it("changes nothing of a sound one, and leaves the image that it was given alone", () => {
    const image = IMAGES[kind]();
    const kept = image.slice();
    const mended = mendImage(image);
    // Compared without the image: matchers are slow on long arrays.
    const { image: _, ...said } = mended;
    expect(said).toMatchObject({ kind, changes: [], refused: [], before: [], left: [] });
    expect(same(mended.image, kept)).toBe(true);
    expect(mended.image === image).toBe(false);
    expect(same(image, kept)).toBe(true);
  });

  it("loses nothing that could be read, settles, and is whole or says what is left, whatever bytes were struck", () => {
    const sound = IMAGES[kind]();
    const format = FORMATS.find((each) => each.kind === kind)!;
    // Strikes fall where the volume keeps its books, as elsewhere they only change content.
    const { owners, geometry, entries } = opened(sound);
    const size = geometry.zones[0]!.size;
    const books = [
      ...new Set([
        ...entries.flatMap((each) => each.ownBlocks.slice(0, 2)),
        ...Array.from(owners).flatMap((owner, block) =>
          owner === -2 && (kind !== "extent-entry" || (block >= 52 && block < 68)) ? [block] : [],
        ),
      ]),
    ];
    const targets =
      kind === "chained-block" ? [...books, ...entries.flatMap((each) => each.blocks.slice(0, 3))] : books;
    let mendedWhole = 0;
    fc.assert(
      fc.property(
        fc.array(fc.record({ at: fc.nat(targets.length * size - 1), value: fc.integer({ min: 0, max: 255 }) }), {
          minLength: 1,
          maxLength: 6,
        }),
        (strikes) => {
          const image = sound.slice();
          for (const { at, value } of strikes) image[targets[Math.floor(at / size)]! * size + (at % size)] = value;
          const candidate = recogniseAll(image).find((each) => each.kind === kind);
          if (!candidate) return;
          const before = format.open(image, candidate.options);
          const mended = mendImage(image, { kind, format: candidate.format });
          const after = format.open(mended.image, candidate.options);
          for (const old of before.entries) {
            if (old.deleted || old.type === "folder") continue;
            const now = after.entries.find((each) => each.path === old.path && !each.deleted);
            expect(now, old.path).toBeDefined();
            const had = before.read(old);
            const has = after.read(now!);
            const gone = (at: number) => had.missing.some(({ offset, length }) => at >= offset && at < offset + length);
            for (let i = 0; i < had.bytes.length; i++)
              if (!gone(i) && has.bytes[i] !== had.bytes[i]) throw new Error(`${old.path} lost byte ${i}`);
          }
          expect(mended.left).toEqual(after.damages);
          if (mended.left.length === 0) {
            expect(after.condition).toBe("whole");
            if (mended.before.length > 0) mendedWhole++;
          }
          expect(mendImage(mended.image, { kind, format: candidate.format }).changes).toEqual([]);
        },
      ),
      { seed: 20_261_125, numRuns: 30 },
    );
    expect(mendedWhole).toBeGreaterThan(3);
  });
});

describe("what is mended", () => {
  const codes = (image: Uint8Array) => opened(image).damages.map((each) => each.code);

  it("is a FAT copy that was wiped, from the other, and the head of both", () => {
    const image = IMAGES.fat12();
    image.fill(0, 512, 1024);
    expect(codes(image)).toContain("fat-copies-differ");
    const mended = mendImage(image);
    expect(mended.left).toEqual([]);
    expect(same(mended.image, IMAGES.fat12())).toBe(true);
  });

  it("is a crossed chain: each file keeps the bytes it read, in clusters of its own", () => {
    const image = IMAGES.fat12();
    const sound = opened(image);
    const start = (path: string) => Number(entry(sound, path).details.find(([label]) => label === "First cluster")![1]);
    // TWO.DAT's entry is the third of the root directory, behind the label.
    const root = 5 * 512 + 2 * 32;
    expect(String.fromCharCode(...image.subarray(root, root + 3))).toBe("TWO");
    image[root + 26] = start("ONE.DAT");
    expect(codes(image)).toContain("crossed-chain");
    const before = opened(image);
    const mended = mendImage(image);
    expect(mended.left).toEqual([]);
    const after = opened(mended.image);
    expect(after.condition).toBe("whole");
    expect(after.read(entry(after, "ONE.DAT")).bytes).toEqual(bytes(5000, 1));
    const had = before.read(entry(before, "TWO.DAT")).bytes;
    const has = after.read(entry(after, "TWO.DAT")).bytes;
    expect(has.subarray(0, 5000)).toEqual(had.subarray(0, 5000));
    expect(entry(after, "TWO.DAT").blocks.some((block) => entry(after, "ONE.DAT").blocks.includes(block))).toBe(false);
    expect(mended.changes.map((each) => each.sentence).join(" ")).toContain("TWO.DAT got");
  });

  it("is the allocation map of a segment-list volume, and files that share sectors", () => {
    const image = IMAGES["segment-list"]();
    image.fill(0, 256, 256 + 79);
    expect(codes(image)).toContain("held-but-free");
    const mended = mendImage(image);
    expect(mended.left).toEqual([]);
    expect(same(mended.image, IMAGES["segment-list"]())).toBe(true);

    const crossed = IMAGES["segment-list"]();
    const sound = opened(crossed);
    const one = entry(sound, "one");
    const three = entry(sound, "sub/three");
    const lsn = three.ownBlocks[0]! * 256 + 16;
    crossed.set([0, one.blocks[2]! >> 8, one.blocks[2]! & 0xff], lsn);
    expect(codes(crossed)).toContain("shared-sector");
    const parted = mendImage(crossed);
    expect(parted.left.filter((each) => each.code !== "lost-sector")).toEqual([]);
    const after = opened(parted.image);
    expect(after.read(entry(after, "one")).bytes).toEqual(bytes(3000, 1));
    expect(after.read(entry(after, "sub/three")).bytes).toEqual(bytes(3000, 1).subarray(512, 512 + 900));
  });

  it("is the map, the header and the counts of a chained-block volume", () => {
    const image = IMAGES["chained-block"]();
    const { owners } = opened(image);
    const header = Array.from(owners).indexOf(-2);
    expect(header).toBeGreaterThan(0);
    const sound = image.slice();
    // Map blocks lie on track 38, sectors 0, 3, 6 and 9: their entries from byte 6 on.
    for (const block of [0, 3].map((sector) => 37 * 29 + sector)) image.fill(0xff, block * 256 + 6, block * 256 + 100);
    expect(codes(image).length).toBeGreaterThan(0);
    const mended = mendImage(image);
    expect(mended.left).toEqual([]);
    expect(opened(mended.image).freeBlocks).toBe(opened(sound).freeBlocks);
  });

  it("is a chain that runs into another file's, on a chained-block volume", () => {
    const image = IMAGES["chained-block"]();
    const sound = opened(image);
    const one = entry(sound, "ONE");
    const end = entry(sound, "END");
    image.copyWithin(end.blocks[1]! * 256, one.blocks[5]! * 256, one.blocks[5]! * 256 + 2);
    expect(codes(image)).toContain("crossed-chain");
    const mended = mendImage(image);
    const after = opened(mended.image);
    expect(mended.left.filter((each) => each.code !== "lost-block")).toEqual([]);
    expect(after.read(entry(after, "ONE")).bytes).toEqual(bytes(3000, 1));
    expect(after.read(entry(after, "END")).bytes.subarray(0, 508)).toEqual(bytes(900, 4).subarray(0, 508));
  });

  it("is a block that two extent-entry files claim, and an entry that is none", () => {
    const image = IMAGES["extent-entry"]();
    const directory = 2 * 26 * 128;
    const twoAt = directory + 32;
    expect(String.fromCharCode(...image.subarray(twoAt + 1, twoAt + 4))).toBe("TWO");
    image[twoAt + 17] = image[directory + 16]!;
    expect(codes(image)).toContain("block-claimed-twice");
    const mended = mendImage(image);
    expect(mended.left).toEqual([]);
    const after = opened(mended.image);
    expect(after.read(entry(after, "ONE.DAT")).bytes).toEqual(bytes(3072, 1));
    expect(after.read(entry(after, "TWO.DAT")).bytes.subarray(1024, 2048)).toEqual(bytes(3072, 1).subarray(0, 1024));
  });

  it("is not what the image no longer holds: that is left, and told", () => {
    const whole = IMAGES.fat12();
    const cut = whole.slice(0, 20_000);
    const mended = mendImage(cut);
    expect(mended.left.map((each) => each.code)).toContain("short-image");
  });
});

describe("an image damaged beyond sense", () => {
  it.each(KINDS)("of kind %s is mended, or refused with one sentence, in little time", (kind) => {
    const sound = IMAGES[kind]();
    let state = 7;
    const roll = (below: number): number => {
      state = (Math.imul(state, 1_103_515_245) + 12_345) >>> 0;
      return (state >>> 8) % below;
    };
    const started = performance.now();
    for (let round = 0; round < 6; round++) {
      const image = sound.slice(0, sound.length - roll(2) * roll(sound.length >> 1));
      for (let i = 0; i < 2000; i++) image[roll(image.length)] = roll(256);
      if (round > 3) for (let at = 0; at + 1 < image.length; at += 512) image[at] = image[roll(image.length)]!;
      try {
        expect(mendImage(image, { kind }).image.length).toBe(image.length);
      } catch (error) {
        expect(error).toBeInstanceOf(InputError);
      }
    }
    expect((performance.now() - started) / 1000).toBeLessThan(40);
  });
});

describe("an image of no volume", () => {
  it("is refused with one sentence", () => {
    expect(() => mendImage(new Uint8Array(1000))).toThrow("speaks for");
  });
});
