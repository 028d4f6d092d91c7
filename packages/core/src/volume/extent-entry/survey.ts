import { classify } from "./directory.ts";
import { BLOCK_SIZES, ENTRY, fullExtentMask, MOST_DIRECTORY_BLOCKS, RECORD } from "./parameters.ts";

/** Looks for a directory at a place of an image whose parameter block isn't known, and judges block sizes by it. */

/** What a directory record of four entries can be. */
export const BLANK = 0;
export const DIRECTORY = 1;
export const OTHER = 2;

export interface Survey {
  at: number;
  /** Class of each record from `at` on, in image order: the skew isn't known yet. */
  records: Uint8Array;
  /** Where in the image the entries of `DIRECTORY` records are. */
  live: number[];
  deleted: number[];
  unreadable: number;
}

const WINDOW = 64 * 1024;
/** Without a directory record for so long, the directory is over. Longer than any track. */
const GAP_RECORDS = 100;

/** Class of the record at `from`, which must lie inside the image. One unreadable entry may be damage; two are not. */
function recordClass(image: Uint8Array, from: number): number {
  let unreadable = 0;
  let blank = 0;
  for (let entry = from; entry < from + RECORD; entry += ENTRY) {
    const kind = classify(image, entry);
    if (kind === "never used") blank++;
    else if (kind === "unreadable" && ++unreadable > 1) return OTHER;
  }
  return blank + unreadable === 4 ? BLANK : DIRECTORY;
}

export function surveyAt(image: Uint8Array, at: number): Survey {
  const most = Math.floor(Math.min(WINDOW, image.length - at) / RECORD);
  const records = new Uint8Array(Math.max(0, most));
  const survey: Survey = { at, records, live: [], deleted: [], unreadable: 0 };
  let last = 0;
  let n = 0;
  for (; n < most && n - last < GAP_RECORDS; n++) {
    const from = at + n * RECORD;
    const kind = recordClass(image, from);
    records[n] = kind;
    if (kind !== DIRECTORY) continue;
    last = n;
    for (let entry = from; entry < from + RECORD; entry += ENTRY) {
      const kind = classify(image, entry);
      if (kind === "file") survey.live.push(entry);
      else if (kind === "deleted") survey.deleted.push(entry);
      else if (kind === "unreadable") survey.unreadable++;
    }
  }
  survey.records = records.subarray(0, n);
  return survey;
}

/** Classes of the first `count` records, as far as the image goes. */
export function recordsOf(image: Uint8Array, survey: Survey, count: number): Uint8Array {
  const records = new Uint8Array(Math.min(count, Math.floor((image.length - survey.at) / RECORD)));
  records.set(survey.records.subarray(0, records.length));
  for (let n = survey.records.length; n < records.length; n++) records[n] = recordClass(image, survey.at + n * RECORD);
  return records;
}

/** One reading of the entries: block size, last block, extent mask. */
export interface Reading {
  survey: Survey;
  blockSize: number;
  dsm: number;
  exm: number;
  /** Whether `dsm` is what the disk could hold, and `exm` the full one. */
  usual: boolean;
  pointerBytes: 1 | 2;
  score: number;
  /** Entries whose record count fits their block numbers, of how many. */
  matched: number;
  judged: number;
  outOfRange: number;
  twice: number;
  lowest: number;
  highest: number;
  directoryBlocks: number;
}

/** Weight of each observation, near the logarithm of how much likelier it is under the right reading than a wrong one. */
const WEIGHT = {
  match: 1.2,
  tooMany: -1.5,
  tooFew: -2.5,
  hole: -1.5,
  outOfRange: -4,
  twice: -1,
  crowded: -6,
  unusual: -3,
};
const MOST_TWICE = 30;

/** Reads the entries with one block size. Entries judged are the live ones, or the deleted ones where none lives. */
function read(image: Uint8Array, survey: Survey, blockSize: number, dsm: number, exm: number, usual: boolean): Reading {
  const pointerBytes = dsm < 256 ? 1 : 2;
  const recordsPerBlock = blockSize / RECORD;
  const claims = new Uint8Array(dsm + 1);
  const result: Reading = {
    survey,
    blockSize,
    dsm,
    exm,
    usual,
    pointerBytes,
    score: usual ? 0 : WEIGHT.unusual,
    matched: 0,
    judged: 0,
    outOfRange: 0,
    twice: 0,
    lowest: dsm + 1,
    highest: 0,
    directoryBlocks: 0,
  };
  const judge = (at: number): void => {
    const records = (image[at + 12]! & exm) * 128 + image[at + 15]!;
    let last = 0;
    let zeros = 0;
    let out = 0;
    for (let i = 0, n = 1; i < 16; i += pointerBytes, n++) {
      const block = pointerBytes === 1 ? image[at + 16 + i]! : image[at + 16 + i]! | (image[at + 17 + i]! << 8);
      if (block === 0) {
        zeros++;
        continue;
      }
      last = n;
      if (block > dsm) {
        out++;
        continue;
      }
      if (claims[block]) result.twice++;
      claims[block] = 1;
      if (block < result.lowest) result.lowest = block;
      if (block > result.highest) result.highest = block;
    }
    const holes = zeros - (16 / pointerBytes - last);
    const need = Math.ceil(records / recordsPerBlock);
    result.judged++;
    if (out > 0) {
      result.outOfRange++;
      result.score += WEIGHT.outOfRange;
    }
    if (holes > 0) result.score += WEIGHT.hole;
    if (last === need && holes === 0 && out === 0) {
      result.matched++;
      result.score += last > 0 ? WEIGHT.match : 0;
    } else if (last > need) result.score += WEIGHT.tooMany;
    else if (last < need) result.score += WEIGHT.tooFew;
  };
  const judged = survey.live.length > 0 ? survey.live : survey.deleted;
  for (const at of judged) judge(at);
  result.score += Math.max(-MOST_TWICE, WEIGHT.twice * result.twice);
  // Deleted entries keep their block numbers: they too bound the directory, but prove little else.
  if (judged === survey.live)
    for (const at of survey.deleted)
      for (let i = 0; i < 16; i += pointerBytes) {
        const block = pointerBytes === 1 ? image[at + 16 + i]! : image[at + 16 + i]! | (image[at + 17 + i]! << 8);
        if (block > 0 && block < result.lowest) result.lowest = block;
      }
  result.directoryBlocks = Math.max(1, Math.min(MOST_DIRECTORY_BLOCKS, result.lowest, dsm));
  if (result.directoryBlocks * blockSize < survey.live.length * ENTRY) result.score += WEIGHT.crowded;
  return result;
}

/** All readings of the entries for a data area of `bytes` bytes, the best first. */
export function readingsOf(image: Uint8Array, survey: Survey, bytes: number): Reading[] {
  const readings: Reading[] = [];
  for (const blockSize of BLOCK_SIZES) {
    const full = Math.min(0xffff, Math.floor(bytes / blockSize) - 1);
    if (full < 2) continue;
    // Some disks stay at one-byte block numbers by leaving a few blocks unused.
    for (const dsm of full > 255 && full < 400 ? [full, 255] : [full]) {
      const mask = fullExtentMask(blockSize, dsm);
      if (mask === null) continue;
      // A mask of 0 is an older habit; the record counts alone tell, so that no other evidence is asked.
      const usual = read(image, survey, blockSize, dsm, mask, dsm === full);
      const older = mask > 0 && usual.matched < usual.judged ? read(image, survey, blockSize, dsm, 0, false) : usual;
      readings.push(older.score > usual.score ? older : usual);
    }
  }
  return readings.sort((a, b) => b.score - a.score);
}
