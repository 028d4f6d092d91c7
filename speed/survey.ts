import { createHash } from "node:crypto";
import { uniform } from "@rouse/core/geometry";
import {
  buildChainedBlock,
  buildExtentEntry,
  buildFat12,
  buildSegmentList,
  survey,
  type TreeEntry,
} from "@rouse/core/volume";
import { atMost, type Measured, medianMs } from "./types.ts";

const RUNS = 41;

/** Files of text and code that fill most of a disk; the same each time. */
function tree(bytes: number, name: (index: number) => string): TreeEntry[] {
  const files: TreeEntry[] = [];
  let state = 1;
  for (let left = bytes, index = 0; left > 0; index++) {
    const size = Math.min(left, 2000 + ((index * 7919) % 14_000));
    const content = Uint8Array.from({ length: size }, () => {
      state = (Math.imul(state, 1_103_515_245) + 12_345) >>> 0;
      return index % 2 ? 0x20 + ((state >>> 16) % 0x5f) : state >>> 24;
    });
    files.push({ path: name(index), type: "file", bytes: content });
    left -= size;
  }
  return files;
}

/** Full images of about 1.2 MB, one a kind. */
function images(): [string, Uint8Array][] {
  const short = (index: number) => `FILE${index}.DAT`;
  // 80 tracks, two sides, 15 sectors of 512 bytes; two reserved tracks, 2 KiB blocks: (160 − 2) × 15 × 512 ÷ 2,048 = 592.
  const parameters = { spt: 60, bsh: 4, blm: 15, exm: 0, dsm: 591, drm: 127, al0: 0xc0, al1: 0, cks: 32, off: 2 };
  return [
    ["FAT12", buildFat12(tree(1_150_000, short), { format: "1200K" })],
    [
      "extent-entry",
      buildExtentEntry(tree(1_050_000, short), { geometry: uniform(80, 2, 15, 512), skew: 1, parameters }),
    ],
    [
      "chained-block",
      buildChainedBlock(
        tree(1_000_000, (index) => `FILE ${index}`),
        { layout: "77-track-two-sided", name: "SPEED", id: "SP" },
      ),
    ],
    [
      "segment-list",
      buildSegmentList(
        tree(1_150_000, (index) => `file${index}`),
        { tracks: 80, sides: 2, sectors: 30 },
      ),
    ],
  ];
}

export async function run(): Promise<readonly Measured[]> {
  return images().map(([kind, image]) => {
    const hash = () => {
      createHash("sha256").update(image).digest();
    };
    const look = () => {
      survey(image);
    };
    medianMs(10, hash);
    medianMs(200, look);
    return atMost(
      `survey of a full ${kind} image (${(image.length / 1e6).toFixed(2)} MB) over SHA-256 of it`,
      medianMs(RUNS, look) / medianMs(RUNS, hash),
      3,
    );
  });
}
