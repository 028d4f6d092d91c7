import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { FormatError } from "../../errors/index.ts";
import { buildChainedBlock, chainedBlock } from "./index.ts";
import { BLOCK, LAYOUT_NAMES, type LayoutName, layoutOf } from "./layout.ts";

const build = (layout: LayoutName): Uint8Array =>
  buildChainedBlock([{ path: "a", type: "file", bytes: Uint8Array.of(1, 2, 3) }], { layout, name: "test", id: "a1" });

describe("recognise", () => {
  it.each(LAYOUT_NAMES)("is sure of a %s image and names only that", (layout) => {
    const candidates = chainedBlock.recognise(build(layout));
    expect(candidates.map(({ score, options }) => [score, options])).toEqual([[1, { layout, errorBytes: false }]]);
    expect(candidates[0]!.evidence.length).toBe(6);
  });

  it("takes an image with one error byte a block", () => {
    const image = build("35-track");
    const longer = new Uint8Array(image.length + 683).fill(1);
    longer.set(image);
    expect(chainedBlock.recognise(longer)[0]!.options).toEqual({ layout: "35-track", errorBytes: true });
  });

  it("knows a short image by its content, and half of a two-sided one", () => {
    const image = build("35-track");
    expect(chainedBlock.recognise(image.subarray(0, 500 * BLOCK))[0]).toMatchObject({
      score: 0.7,
      options: { layout: "35-track", errorBytes: false },
    });
    const half = build("77-track-two-sided").subarray(0, 2083 * BLOCK);
    const [first, second] = chainedBlock.recognise(half);
    expect(first!.options.layout).toBe("77-track-two-sided");
    expect(second!.options.layout).toBe("77-track");
    expect(second!.evidence).toContain("Against it: the map keeps other tracks than this layout has.");
  });

  it("still knows an image of the right size with a ruined header", () => {
    const image = build("77-track");
    const { headerBlock } = layoutOf("77-track");
    image.fill(0xe5, headerBlock * BLOCK, (headerBlock + 1) * BLOCK);
    expect(chainedBlock.recognise(image).map(({ score }) => score)).toEqual([0.65]);
  });

  it("finds nothing in other images", () => {
    expect(chainedBlock.recognise(new Uint8Array(0))).toEqual([]);
    expect(chainedBlock.recognise(new Uint8Array(737280))).toEqual([]);
    expect(chainedBlock.recognise(new Uint8Array(1474560).fill(0xe5))).toEqual([]);
  });

  it("says no more than a weak word for an empty image of the right size", () => {
    const [candidate] = chainedBlock.recognise(new Uint8Array(174848));
    expect(candidate!.score).toBe(0.3);
    expect(candidate!.evidence).toEqual(["The size is that of 683 blocks of 256 bytes."]);
  });

  it("gives a sentence where the image ends before the header", () => {
    expect(() => chainedBlock.open(new Uint8Array(1000), { layout: "35-track", errorBytes: false })).toThrow(
      FormatError,
    );
    expect(() => chainedBlock.open(new Uint8Array(1000), { layout: "35-track", errorBytes: false })).toThrow(
      "has its header in block 357, and the image holds 3 blocks",
    );
  });
});

describe("any bytes at all", () => {
  const options = LAYOUT_NAMES.flatMap((layout) => [
    { layout, errorBytes: false },
    { layout, errorBytes: true },
  ]);

  /** Opens and reads everything; what comes out must hold together whatever the bytes are. */
  const walk = (image: Uint8Array, option: (typeof options)[number]): void => {
    const volume = chainedBlock.open(image, option);
    const { blocks } = layoutOf(option.layout);
    expect(volume.owners.length).toBe(blocks);
    const paths = new Set(volume.entries.map((entry) => entry.path));
    expect(paths.size).toBe(volume.entries.length);
    for (const entry of volume.entries) {
      expect(entry.path).not.toMatch(/[\u0000-\u001f\u007f-\u00a0/\\]|^\.{0,2}$/);
      const content = volume.read(entry);
      expect(content.bytes.length).toBe(entry.size);
      expect(new Set(entry.blocks).size).toBe(entry.blocks.length);
      for (const { offset, length } of content.missing) expect(offset + length).toBeLessThanOrEqual(entry.size);
      if (content.missing.length > 0) expect(entry.condition).not.toBe("whole");
    }
    for (const damage of volume.damages) {
      expect(damage.blocks.length).toBeLessThanOrEqual(64);
      expect(damage.files.length).toBeLessThanOrEqual(64);
      for (const block of damage.blocks) expect(block >= 0 && block < blocks).toBe(true);
      for (const path of damage.files) expect(paths.has(path)).toBe(true);
      expect(damage.sentence).toMatch(/^\S.*[.]$/);
      expect(damage.sentence).not.toMatch(/undefined|NaN|\bnull\b/);
    }
  };

  it("are opened without a crash", () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...options),
        fc.nat(),
        fc.integer({ min: 100000, max: 1100000 }),
        (option, seed, size) => {
          const image = new Uint8Array(size);
          let state = seed;
          for (let i = 0; i < size; i++) {
            state = (Math.imul(state, 1103515245) + 12345) >>> 0;
            image[i] = state >>> 20;
          }
          chainedBlock.recognise(image);
          if (size > (layoutOf(option.layout).headerBlock + 1) * BLOCK) walk(image, option);
        },
      ),
      { seed: 31, numRuns: 40 },
    );
  });

  it("that damage a good volume are told, read and never fatal", () => {
    const bases = LAYOUT_NAMES.map((layout) => {
      const bytes = Uint8Array.from({ length: 254 * 300 }, (_, i) => i * 7);
      return buildChainedBlock(
        [
          { path: "text", type: "file", bytes: bytes.subarray(0, 3000) },
          {
            path: "records",
            type: "file",
            bytes: bytes.subarray(0, 254 * 127 * 2),
            wishes: { kind: "records", recordLength: 127 },
          },
          { path: "open", type: "file", bytes: bytes.subarray(0, 3000), wishes: { open: true } },
          { path: "small", type: "file", bytes: bytes.subarray(0, 10), wishes: { kind: "program" } },
        ],
        { layout, name: "test", id: "a1" },
      );
    });
    const spot = fc.record({
      where: fc.constantFrom("system", "link", "index", "any"),
      at: fc.nat(),
      value: fc.integer({ min: 0, max: 255 }),
    });
    fc.assert(
      fc.property(fc.nat({ max: 3 }), fc.array(spot, { minLength: 1, maxLength: 12 }), (which, spots) => {
        const layout = layoutOf(LAYOUT_NAMES[which]!);
        const image = bases[which]!.slice();
        const own = chainedBlock.open(image, { layout: layout.name, errorBytes: false }).entries[1]!.ownBlocks;
        const system = [layout.headerBlock, layout.directoryBlock, ...layout.mapBlocks.map((kept) => kept.block)];
        for (const { where, at, value } of spots) {
          if (where === "any") image[at % image.length] = value;
          else if (where === "link") image[(at % layout.blocks) * BLOCK + (at & 1)] = value % 160;
          else {
            const list = where === "system" ? system : own;
            image[list[at % list.length]! * BLOCK + ((at >> 4) % BLOCK)] = value;
          }
        }
        chainedBlock.recognise(image);
        walk(image, { layout: layout.name, errorBytes: false });
      }),
      { seed: 32, numRuns: 250 },
    );
  });

  it("hold together where every entry of a full directory claims one long chain", () => {
    const layout = layoutOf("77-track-two-sided");
    const image = buildChainedBlock(
      Array.from({ length: 224 }, (_, i) => ({ path: `f${i}`, type: "file" as const, bytes: new Uint8Array(0) })),
      { layout: "77-track-two-sided", name: "test", id: "a1" },
    );
    // One chain over the whole of the first side's outer tracks, entered by every slot.
    const track = (block: number): [number, number] => {
      const place = layout.map.place(block);
      return [place.track + 1, place.sector];
    };
    const last = 37 * 29 - 1;
    for (let block = 0; block < last; block++) image.set(track(block + 1), block * BLOCK);
    for (let block = layout.headerBlock + 1; block < layout.headerBlock + 29; block++)
      for (let slot = 0; slot < 8; slot++) image.set([1, 0], block * BLOCK + 2 + slot * 32 + 1);
    walk(image, { layout: "77-track-two-sided", errorBytes: false });
  });
});
