/**
 * A volume laid out by hand after the 8080/Z80 system manual, with none of our builder: directory entries as table 5-2
 * gives their bytes, sectors as the skeletal listing's translate table orders them.
 */

import { uniform } from "@rouse/core/geometry";
import { extentEntry, parseParameterBlock } from "@rouse/core/volume/extent-entry";
import { describe, expect, it } from "vitest";

const TRANSLATE = [1, 7, 13, 19, 25, 5, 11, 17, 23, 3, 9, 15, 21, 2, 8, 14, 20, 26, 6, 12, 18, 24, 4, 10, 16, 22];
const PARAMETERS = parseParameterBlock(
  Uint8Array.from("1A00030700F2003F00C00010000200".match(/../g)!, (pair) => Number.parseInt(pair, 16)),
);

const image = new Uint8Array(77 * 26 * 128).fill(0xe5);

/** Record `n` of block `block`: blocks of eight records count on through the tracks from track 2. */
function putRecord(block: number, n: number, bytes: Uint8Array): void {
  const record = block * 8 + n;
  const track = 2 + Math.floor(record / 26);
  image.set(bytes, (track * 26 + TRANSLATE[record % 26]! - 1) * 128);
}

const text = (characters: string): number[] => [...characters].map((each) => each.charCodeAt(0));
const entry = (
  user: number,
  name: string,
  [ex, s1, s2, rc]: [number, number, number, number],
  blocks: number[],
): number[] => [user, ...text(name), ex, s1, s2, rc, ...blocks, ...Array(16 - blocks.length).fill(0)];

const lines = (count: number): string =>
  Array.from({ length: count }, (_, n) => `Reading ${n + 1}: the head settles on track ${n % 77}.\r\n`).join("");

const letter = lines(30).slice(0, 1200);
const log = lines(600).slice(0, 20 * 1024);

/** A file need not lie in order. Block 2, the first behind the directory, is the first that a system gives out. */
const LETTER_BLOCKS = [10, 2];
const LOG_BLOCKS = [3, 4, 5, 6, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 30, 29, 28, 27];

function putFile(content: string, blocks: readonly number[]): void {
  const bytes = new Uint8Array(Math.ceil(content.length / 128) * 128).fill(0x1a);
  bytes.set(text(content));
  for (let at = 0; at < bytes.length; at += 128)
    putRecord(blocks[at >> 10]!, (at >> 7) % 8, bytes.subarray(at, at + 128));
}

putFile(letter, LETTER_BLOCKS);
putFile(log, LOG_BLOCKS);
putRecord(
  0,
  0,
  Uint8Array.from([
    // 1200 bytes are 10 records; 20 KiB a full extent of 128 and one of 32.
    ...entry(0, "LETTER  TXT", [0, 0, 0, 10], LETTER_BLOCKS),
    ...entry(1, "LOG     DAT", [0, 0, 0, 128], LOG_BLOCKS.slice(0, 16)),
    ...entry(0xe5, "GONE    TXT", [0, 0, 0, 5], [40]),
    ...entry(1, "LOG     DAT", [1, 0, 0, 32], LOG_BLOCKS.slice(16)),
  ]),
);
const options = { geometry: uniform(77, 1, 26, 128), skew: TRANSLATE.map((each) => each - 1), parameters: PARAMETERS };
const decode = (bytes: Uint8Array): string => String.fromCharCode(...bytes);

describe("a volume laid out by hand after the manual", () => {
  const volume = extentEntry.open(image, options);

  it("lists its files with record counts and users", () => {
    expect(volume.entries.map(({ path, size, deleted }) => [path, size, deleted])).toEqual([
      ["LETTER.TXT", 1280, false],
      ["user-1/LOG.DAT", 20_480, false],
      ["GONE.TXT", 640, true],
    ]);
    expect(volume.damages).toEqual([]);
  });

  it("gives back the text of both, over skew, blocks out of order and two extents", () => {
    const [first, second] = volume.entries;
    expect(decode(volume.read(first!).bytes)).toBe(letter + "\x1a".repeat(80));
    expect(decode(volume.read(second!).bytes)).toBe(log);
  });

  it("counts 22 of its 241 data blocks as used", () => {
    expect(volume.freeBlocks).toBe((241 - 22) * 8);
  });

  it("reads the attribute bits of t1 and t2", () => {
    // Source: table 5-2: bit 7 of t1 read-only, of t2 system.
    const marked = image.slice();
    const at = 2 * 26 * 128;
    marked[at + 9]! |= 0x80;
    marked[at + 10]! |= 0x80;
    const [first] = extentEntry.open(marked, options).entries;
    expect(first!.name).toBe("LETTER.TXT");
    expect(first!.details).toContainEqual(["Attributes", "read-only, system"]);
  });

  it("has its published parameter block inferred from the image alone", () => {
    const [best] = extentEntry.recognise(image);
    expect(best!.options).toEqual({ geometry: options.geometry, skew: 6, parameters: PARAMETERS });
  });
});
