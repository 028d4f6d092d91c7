import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { uniform } from "../../geometry/index.ts";
import type { TreeEntry } from "../types.ts";
import { buildExtentEntry } from "./build.ts";
import { extentEntry } from "./index.ts";
import { type ExtentEntryOptions, layoutOf, makeOptions, placeOf } from "./layout.ts";
import { BLOCK_SIZES } from "./parameters.ts";
import { SHAPES } from "./shapes.ts";

/** A small generator of our own, so that a seed gives the same volumes for ever. */
function dice(seed: number): (below: number) => number {
  let state = seed >>> 0 || 1;
  return (below) => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state % below;
  };
}

const WORDS =
  "the disk of a drive turns and head reads track sector after sector while operator waits for line to come back with next record which holds name and number of each part kept in store at museum open day begins when lamp is lit".split(
    " ",
  );

type Writer = (roll: (below: number) => number, length: number) => Uint8Array;

const prose: Writer = (roll, length) => {
  let text = "";
  let column = 0;
  while (text.length < length) {
    const word = WORDS[roll(WORDS.length)]!;
    column += word.length + 1;
    if (column > 64) {
      text += "\r\n";
      column = word.length;
    }
    text += roll(12) === 0 ? `${word}, ` : `${word} `;
  }
  return Uint8Array.from(text.slice(0, length), (character) => character.charCodeAt(0));
};

/** Like a program for an 8-bit processor: few operation codes, jumps to near addresses, messages between. */
const program: Writer = (roll, length) => {
  const out: number[] = [];
  const codes = [0x21, 0xcd, 0x3e, 0xc3, 0x7e, 0x23, 0xfe, 0xca, 0xc9, 0xe5, 0xd1, 0x11];
  while (out.length < length) {
    if (roll(40) === 0) for (const byte of prose(roll, 30)) out.push(byte);
    const code = codes[Math.min(roll(codes.length), roll(codes.length))]!;
    out.push(code);
    if ([0x21, 0xcd, 0xc3, 0xca, 0x11].includes(code)) out.push(roll(256), 1 + roll(12));
    else if (code === 0x3e || code === 0xfe) out.push(roll(128));
  }
  return Uint8Array.from(out.slice(0, length));
};

const table: Writer = (roll, length) => {
  let text = "";
  for (let n = 1000; text.length < length; n += 1 + roll(5))
    text += `${n}   ${WORDS[roll(WORDS.length)]!.toUpperCase().padEnd(12)}${String(roll(9000)).padStart(6)}.${roll(10)}0\r\n`;
  return Uint8Array.from(text.slice(0, length), (character) => character.charCodeAt(0));
};

const packed: Writer = (roll, length) => Uint8Array.from({ length }, () => roll(256));

interface Sample {
  options: ExtentEntryOptions;
  image: Uint8Array;
  tree: TreeEntry[];
  told: string;
}

/**
 * What years of use do to a disk: the blocks of files lie in no order (`scatter`), and free blocks hold what deleted
 * files left (`stale`). Works on the built image through the layout.
 */
function age(image: Uint8Array, options: ExtentEntryOptions, roll: (below: number) => number): void {
  const layout = layoutOf(options);
  const at = (block: number, sector: number): number =>
    layout.startByte + placeOf(layout, block * layout.sectorsPerBlock + sector) * layout.sectorSize;
  const move = new Map<number, number>();
  const scatter = roll(2) === 0;
  const stale = roll(3) === 0;
  const used = new Set<number>();
  const slots = Array.from({ length: layout.entries }, (_, slot) => {
    const byte = slot * 32;
    return at(0, Math.floor(byte / layout.sectorSize)) + (byte % layout.sectorSize);
  }).filter((slot) => image[slot + 1] !== 0xe5);
  const eachPointer = (change: (block: number) => number): void => {
    for (const slot of slots)
      for (let i = 16; i < 32; i += layout.pointerBytes) {
        const block = layout.pointerBytes === 1 ? image[slot + i]! : image[slot + i]! | (image[slot + i + 1]! << 8);
        if (block === 0) continue;
        const now = change(block);
        image[slot + i] = now & 0xff;
        if (layout.pointerBytes === 2) image[slot + i + 1] = now >> 8;
      }
  };
  eachPointer((block) => {
    used.add(block);
    return block;
  });
  if (stale) {
    const left = prose(roll, 6000);
    for (let block = layout.directoryBlocks; block < layout.blocks; block++)
      if (!used.has(block) && roll(3) > 0)
        for (let i = 0; i < layout.sectorsPerBlock; i++) {
          const from = roll(left.length - layout.sectorSize);
          image.set(left.subarray(from, from + layout.sectorSize), at(block, i));
        }
  }
  if (!scatter) return;
  const before = image.slice();
  const from = [...used].filter((block) => block !== layout.directoryBlocks && roll(3) === 0);
  const to = from.slice();
  for (let i = to.length - 1; i > 0; i--) {
    const j = roll(i + 1);
    [to[i], to[j]] = [to[j]!, to[i]!];
  }
  from.forEach((block, i) => {
    move.set(block, to[i]!);
    for (let j = 0; j < layout.sectorsPerBlock; j++)
      image.set(before.subarray(at(block, j), at(block, j) + layout.sectorSize), at(to[i]!, j));
  });
  eachPointer((block) => move.get(block) ?? block);
}

/** A random volume with five or more files of 4 KiB or more, or null where the dice ask for what can't be. */
function sample(seed: number): Sample | null {
  const roll = dice(seed * 2654435761 + 12345);
  for (let i = 0; i < 8; i++) roll(2);
  const shape = SHAPES[roll(SHAPES.length)]!;
  const blockSize = BLOCK_SIZES[roll(4)]!;
  const reserved = roll(4);
  if (blockSize < shape.size || (reserved === 0 && shape.trackBytes !== shape.firstTrackBytes)) return null;
  const room = shape.bytes - reserved * shape.trackBytes;
  const directoryBlocks = 1 + roll(4);
  if (room / blockSize < directoryBlocks + 12 || (blockSize === 1024 && room > 256 * 1024)) return null;
  const skew = roll(3) === 0 ? 1 : 1 + roll(Math.min(7, shape.sectors - 1));
  const options = makeOptions(shape.geometry, {
    skew,
    reservedTracks: reserved,
    blockSize,
    entries: (directoryBlocks * blockSize) / 32,
  });
  const layout = layoutOf(options);
  const perEntry = (options.parameters.exm + 1) * 16384;
  let blocks = layout.blocks - layout.directoryBlocks;
  let entries = layout.entries;
  const wanted = 5 + roll(30);
  const tree: TreeEntry[] = [];
  for (let n = 0; tree.length < wanted && n < 100; n++) {
    const kind = roll(10);
    const write = kind < 4 ? prose : kind < 7 ? program : kind < 9 ? table : packed;
    const length = 4096 + roll(roll(6) === 0 ? 60_000 : 14_000);
    blocks -= Math.ceil(length / blockSize);
    entries -= Math.ceil(length / perEntry);
    if (blocks < 0 || entries < 0) break;
    const user = roll(5) === 0 ? roll(16) : 0;
    const deleted = roll(8) === 0;
    const name = `${deleted ? "OLD" : "FILE"}${n}.${["TXT", "COM", "DAT"][kind % 3]}`;
    tree.push({
      path: user > 0 ? `user-${user}/${name}` : name,
      type: "file",
      bytes: write(roll, length),
      wishes: { deleted, readOnly: roll(9) === 0 },
    });
  }
  if (tree.filter((each) => !each.wishes?.["deleted"]).length < 5) return null;
  const system = roll(2) === 0 ? program(roll, layout.startByte) : new Uint8Array(0);
  const image = buildExtentEntry(tree, options, system);
  age(image, options, roll);
  return {
    options,
    image,
    tree,
    told: `${seed}: ${shape.words} ${shape.geometry.tracks}x${shape.geometry.sides}x${shape.sectors}x${shape.size}, skew ${skew}, reserved ${reserved}, ${blockSize} bytes a block, ${directoryBlocks} directory blocks, ${tree.length} files`,
  };
}

/** What makes two sets of options the same volume: each record of a block at the same byte. */
function meaning(options: ExtentEntryOptions): string {
  const layout = layoutOf(options);
  const records: number[] = [];
  for (let record = 0; record < 800; record++) {
    const sector = Math.floor((record * 128) / layout.sectorSize);
    records.push(placeOf(layout, sector) * layout.sectorSize + ((record * 128) % layout.sectorSize));
  }
  const { bsh, exm, dsm, drm, al0, al1 } = options.parameters;
  return JSON.stringify([layout.startByte, bsh, exm, dsm, drm, al0, al1, records]);
}

function same(a: Uint8Array, b: Uint8Array): boolean {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return a.length === b.length;
}

const differences = (a: ExtentEntryOptions, b: ExtentEntryOptions): string =>
  Object.entries(a.parameters)
    .filter(([name, value]) => value !== b.parameters[name as keyof typeof b.parameters])
    .map(([name, value]) => `${name} ${value} for ${b.parameters[name as keyof typeof b.parameters]}`)
    .join(", ");

const SAMPLES = 120;

describe("recogniseExtentEntry", () => {
  it(`finds all parameters of at least 95 of 100 random volumes with five files of 4 KiB or more`, () => {
    const wrong: string[] = [];
    let built = 0;
    for (let seed = 1; built < SAMPLES; seed++) {
      const made = sample(seed);
      if (!made) continue;
      built++;
      const best = extentEntry.recognise(made.image)[0];
      if (!best || meaning(best.options) !== meaning(made.options))
        wrong.push(
          `${made.told} -> ${best ? `${best.format} (${best.score}) ${differences(best.options, made.options)}` : "nothing"}`,
        );
    }
    console.log(
      `Parameters found at the first answer: ${built - wrong.length} of ${built} volumes.\n${wrong.join("\n")}`,
    );
    expect(wrong.length / built).toBeLessThanOrEqual(0.05);
  });

  it("gives options that open the volume with the files that were put there", () => {
    let built = 0;
    for (let seed = 1000; built < 12; seed++) {
      const made = sample(seed);
      if (!made) continue;
      const best = extentEntry.recognise(made.image)[0]!;
      if (meaning(best.options) !== meaning(made.options)) continue;
      built++;
      const volume = extentEntry.open(made.image, best.options);
      for (const { path, bytes, wishes } of made.tree) {
        const name = path.split("/").at(-1)!;
        const entry = volume.entries.find((each) => (wishes?.["deleted"] ? each.name === name : each.path === path))!;
        expect(same(volume.read(entry).bytes.subarray(0, bytes.length), bytes), path).toBe(true);
      }
    }
  });

  it("finds the directory's size, too, where the file in the lowest block is gone and its entry used again", () => {
    let right = 0;
    let built = 0;
    for (let seed = 3000; built < 20; seed++) {
      const made = sample(seed);
      if (!made || made.tree.length < 7) continue;
      built++;
      const layout = layoutOf(made.options);
      const volume = extentEntry.open(made.image, made.options);
      const lowest = layout.startBlock + placeOf(layout, layout.directoryBlocks * layout.sectorsPerBlock);
      const owner = volume.entries.find((each) => [...each.blocks, ...each.ownBlocks].includes(lowest));
      // All of the directory's records are in its first blocks: rub out the entries by name.
      const end = layout.startByte + layout.directoryBlocks * layout.blockSize + layout.sectors * layout.sectorSize;
      for (let at = layout.startByte; owner && at < end; at += 32)
        if (owner.nameBytes.every((byte, i) => made.image[at + 1 + i] === byte)) made.image.fill(0xe5, at, at + 32);
      const best = extentEntry.recognise(made.image)[0];
      if (best && meaning(best.options) === meaning(made.options)) right++;
    }
    expect(right).toBeGreaterThanOrEqual(18);
  });

  it("finds that one side follows the other, where the image has them side by side", () => {
    let right = 0;
    let built = 0;
    for (let seed = 1; built < 12; seed++) {
      const roll = dice(seed * 977);
      const geometry = [uniform(40, 2, 10, 512), uniform(80, 2, 9, 512), uniform(40, 2, 16, 256)][seed % 3]!;
      const trackOrder = (["side 1 after side 0", "there and back"] as const)[roll(2)]!;
      const wishes = { skew: 1 + roll(4), reservedTracks: 1 + roll(3), blockSize: 2048, entries: 128 };
      const options = makeOptions(geometry, { ...wishes, trackOrder });
      const tree = Array.from({ length: 14 }, (_, n): TreeEntry => {
        return { path: `T${n}.TXT`, type: "file", bytes: prose(roll, 8000 + roll(9000)) };
      });
      built++;
      const best = extentEntry.recognise(buildExtentEntry(tree, options))[0];
      if (best && meaning(best.options) === meaning(options)) right++;
    }
    expect(right).toBeGreaterThanOrEqual(10);
  });

  it("ranks its answers, says why, and keeps the score between 0 and 1", () => {
    const made = sample(1)!;
    const answers = extentEntry.recognise(made.image);
    expect(answers.length).toBeGreaterThan(1);
    for (const [i, { score, evidence }] of answers.entries()) {
      expect(score).toBeGreaterThan(0);
      expect(score).toBeLessThanOrEqual(i === 0 ? 1 : answers[i - 1]!.score);
      expect(evidence.length).toBeGreaterThan(4);
    }
    expect(answers[0]!.score).toBeGreaterThan(0.8);
    expect(answers[0]!.evidence.join(" ")).toMatch(/No block is claimed twice.*read on across/);
  });

  it("gives a freshly formatted disk a low score, with the usual parameters of its size", () => {
    const [answer, ...more] = extentEntry.recognise(new Uint8Array(256_256).fill(0xe5));
    expect(more).toEqual([]);
    expect(answer!.score).toBeLessThan(0.2);
    expect(answer!.options.parameters).toMatchObject({ off: 2, bsh: 3, drm: 63, dsm: 242 });
    expect(extentEntry.open(new Uint8Array(256_256).fill(0xe5), answer!.options).condition).toBe("whole");
  });

  it("still finds the volume when the image lost its last tracks", () => {
    let found = 0;
    let built = 0;
    for (let seed = 2000; built < 12; seed++) {
      const made = sample(seed);
      if (!made || made.image.length > 700_000) continue;
      built++;
      const cut = made.image.subarray(0, made.image.length - 3 * 1024 - 128);
      const best = extentEntry.recognise(cut)[0];
      if (best && layoutOf(best.options).startByte === layoutOf(made.options).startByte) found++;
    }
    expect(found).toBeGreaterThanOrEqual(11);
  });

  it("claims no image of another kind", () => {
    const fat = new Uint8Array(1_474_560);
    fat.set([0xeb, 0x3c, 0x90]);
    fat.set([0x00, 0x02, 0x01, 0x01, 0x00, 0x02, 0xe0, 0x00, 0x40, 0x0b, 0xf0, 0x09, 0x00], 11);
    // A root directory whose first files are all deleted looks much like ours.
    for (let at = 9216; at < 9216 + 7168; at += 32) fat.set([0xe5, ...prose(dice(3), 10)], at);
    expect(extentEntry.recognise(fat)).toEqual([]);
    const early = new Uint8Array(163_840).fill(0xe5);
    early.set([0xfe, 0xff, 0xff, 0x03, 0x40, 0x00], 512);
    expect(extentEntry.recognise(early)).toEqual([]);
    for (const size of [174_848, 533_248, 1_066_496]) {
      expect(extentEntry.recognise(new Uint8Array(size).fill(0xe5))).toEqual([]);
      expect(extentEntry.recognise(new Uint8Array(size))).toEqual([]);
    }
    const segments = new Uint8Array(161_280).fill(0xe5);
    segments.set([0x00, 0x02, 0x76, 0x12, 0x00, 0x4f, 0x00, 0x01]);
    expect(extentEntry.recognise(segments)).toEqual([]);
    expect(extentEntry.recognise(new Uint8Array(0))).toEqual([]);
    expect(extentEntry.recognise(prose(dice(5), 368_640))).toEqual([]);
  });

  it("says nothing of random bytes of any size", () => {
    fc.assert(
      fc.property(fc.nat(400_000), fc.nat(), (size, seed) => {
        expect(extentEntry.recognise(packed(dice(seed), size))).toEqual([]);
      }),
      { numRuns: 12, seed: 11 },
    );
  });

  it("knows the standard shape and others apart by the files when sizes agree", () => {
    // 512,512 bytes: one side of 26 sectors of 256 bytes, or two of 26 of 128.
    const options = makeOptions(uniform(77, 2, 26, 128), { skew: 6, reservedTracks: 2, blockSize: 2048, entries: 128 });
    const roll = dice(77);
    const tree: TreeEntry[] = [1, 2, 3, 4, 5, 6].map((n) => ({
      path: `TEXT${n}.TXT`,
      type: "file",
      bytes: prose(roll, 9000),
    }));
    const best = extentEntry.recognise(buildExtentEntry(tree, options))[0]!;
    expect(best.options.geometry).toEqual(options.geometry);
    expect(best.options.skew).toBe(6);
  });
});
