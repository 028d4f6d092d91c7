import type { Candidate } from "../types.ts";
import { dateBytes } from "./fields.ts";
import {
  blocksOf,
  findRoot,
  formatInWords,
  type Identification,
  isPowerOfTwo,
  isRoot,
  mapBytesFor,
  readIdentification,
  SECTOR,
  type SegmentListOptions,
  sectorName,
} from "./layout.ts";

/** Sector 0, a map and a root directory of a descriptor and a sector. */
const SMALLEST = 4 * SECTOR;

/** Below this nothing speaks for the image. */
const LEAST_SCORE = 0.4;

/** Sides are stated in one bit; where sector 0 is gone, one side is taken, as no block number depends on it. */
function usable(image: Uint8Array, stated: Identification, root: number): SegmentListOptions {
  const blocks = Math.floor(image.length / SECTOR);
  const clusterOf = (total: number): number => {
    if (isPowerOfTwo(stated.clusterSectors) && mapBytesFor(total, stated.clusterSectors) === stated.mapBytes)
      return stated.clusterSectors;
    for (let sectors = 1; sectors <= 0x8000; sectors *= 2)
      if (mapBytesFor(total, sectors) === stated.mapBytes) return sectors;
    return 0;
  };
  // A short image keeps its stated size; a size far beyond the image is not believed.
  const believed =
    stated.total === blocks || (stated.total > 0 && stated.total <= 4 * blocks && clusterOf(stated.total) > 0);
  const total = believed ? stated.total : blocks;
  const clusterSectors =
    clusterOf(total) || (isPowerOfTwo(stated.clusterSectors) ? Math.min(stated.clusterSectors, 0x8000) : 1);
  return {
    total,
    clusterSectors,
    root,
    sectorsPerTrack: stated.sectorsPerTrack || stated.sectorsPerTrackByte,
    sides: stated.twoSided ? 2 : 1,
  };
}

/** At most one way to read the image: sector 0 where it holds, mended from the root directory and the size where not. */
export function recognise(image: Uint8Array): Candidate<SegmentListOptions>[] {
  if (image.length < SMALLEST) return [];
  const stated = readIdentification(image);
  const statedRoot = isRoot(image, stated.root);
  const root = statedRoot ? stated.root : findRoot(image);
  const plausible = stated.total > 0 && isPowerOfTwo(stated.clusterSectors) && stated.root > 0;
  if (root === 0 && !(plausible && stated.root < blocksOf(image))) return [];

  const options = usable(image, stated, root || stated.root);
  const evidence: string[] = [];
  let score = 0;
  const says = (points: number, holds: boolean, sentence: string): void => {
    if (!holds) return;
    score += points;
    evidence.push(sentence);
  };
  const blocks = Math.floor(image.length / SECTOR);
  says(0.25, stated.total === blocks, `sector 0 states ${stated.total} sectors, and the image holds as many`);
  says(
    0.2,
    stated.total > 0 &&
      isPowerOfTwo(stated.clusterSectors) &&
      stated.mapBytes === mapBytesFor(stated.total, stated.clusterSectors),
    `its map of ${stated.mapBytes} bytes fits ${stated.total} sectors in clusters of ${stated.clusterSectors}`,
  );
  says(
    0.1,
    stated.sectorsPerTrack > 0 && (stated.sectorsPerTrack & 0xff) === stated.sectorsPerTrackByte,
    `both places for the sectors of a track say ${stated.sectorsPerTrack}`,
  );
  says(0.1, dateBytes(stated.created) !== undefined, `it was made on ${stated.created}`);
  says(0.35, statedRoot, `${sectorName(root)}, named as the root, is a directory that is its own parent`);
  says(
    0.4,
    !statedRoot && root > 0,
    `${sectorName(root)} describes a directory that is its own parent, though sector 0 does not name it`,
  );
  if (score < LEAST_SCORE) return [];
  return [
    {
      kind: "segment-list",
      format: formatInWords(options),
      score: Math.min(1, Math.round(score * 100) / 100),
      evidence,
      options,
    },
  ];
}
