import { Habits } from "./continuity.ts";
import { isBlank } from "./directory.ts";
import { RECORD } from "./parameters.ts";
import type { Reading } from "./survey.ts";

const MOST_JOINS = 256;
const MOST_SAMPLES = 192;
export const USED = 1;
const SLACK = 2;

/**
 * What a reading says of the disk in logical order, whatever the skew. It is cut in units of the smallest sector that
 * may be, so that shapes with larger sectors are judged by the same joins.
 */
export interface Wanted {
  reading: Reading;
  /** Bytes of a unit. */
  unit: number;
  /** Joins to look at, as pairs of units. */
  joins: Int32Array;
  /** Joins from a block of a file to its next, and the blocks of files with content. */
  blockJoins: readonly number[];
  blocks: readonly number[];
  /** Use of each unit by files. */
  use: Uint8Array;
  /** Last records of files: unit and byte within, of the last byte. */
  ends: Int32Array;
  habits: Habits;
}

export function wantedOf(image: Uint8Array, reading: Reading, unit: number): Wanted {
  const { survey, blockSize, exm, dsm, pointerBytes } = reading;
  const unitsPerBlock = blockSize / unit;
  const recordsPerUnit = unit / RECORD;
  const recordsPerBlock = blockSize / RECORD;
  const use = new Uint8Array((dsm + 1) * unitsPerBlock);
  const joins: number[] = [];
  const blockJoins: number[] = [];
  const ends: number[] = [];
  const blocks: number[] = [];
  const files = survey.live.length > 0 ? survey.live : survey.deleted;
  let total = 0;
  for (const at of files) total += (image[at + 12]! & exm) * 128 + image[at + 15]!;
  // One join of so many is kept; the wobble keeps the stride from falling in step with the sectors of a track.
  const stride = Math.max(1, total / recordsPerUnit / MOST_JOINS);
  let seen = 0;
  let next = 0;
  for (const at of files) {
    let records = (image[at + 12]! & exm) * 128 + image[at + 15]!;
    let before = -1;
    for (let i = 16; i < 32 && records > 0; i += pointerBytes) {
      const block = pointerBytes === 1 ? image[at + i]! : image[at + i]! | (image[at + i + 1]! << 8);
      if (block < reading.directoryBlocks || block > dsm) {
        before = -1;
        records -= recordsPerBlock;
        continue;
      }
      blocks.push(block);
      const here = Math.min(records, recordsPerBlock);
      const units = Math.ceil(here / recordsPerUnit);
      const first = block * unitsPerBlock;
      if (before >= 0) blockJoins.push(before, first);
      for (let j = 0; j < unitsPerBlock; j++) use[first + j] = j < units ? USED : SLACK;
      const start = before >= 0 ? 0 : 1;
      for (let j = Math.max(start, start + Math.ceil(next - seen)); j < units; ) {
        joins.push(j === 0 ? before : first + j - 1, first + j);
        next = seen + (j - start) + stride + (joins.length % 3) * (stride > 3 ? 1 : 0);
        j = start + Math.ceil(next - seen);
      }
      seen += units - start;
      // A unit that the records fill in part joins on all the same; its end doesn't.
      before = here === recordsPerBlock ? first + unitsPerBlock - 1 : -1;
      records -= recordsPerBlock;
      if (records <= 0) {
        const last = here - 1;
        ends.push(first + Math.floor(last / recordsPerUnit), ((last % recordsPerUnit) + 1) * RECORD - 1);
      }
    }
  }
  const habits = habitsOf(image, reading, blocks);
  return { reading, unit, joins: thin(joins), blockJoins, blocks, use, ends: thin(ends), habits };
}

/** At most `MOST_JOINS` of the pairs, spread over all of them. */
export function thin(pairs: number[]): Int32Array {
  const count = pairs.length / 2;
  if (count <= MOST_JOINS) return Int32Array.from(pairs);
  const kept = new Int32Array(2 * MOST_JOINS);
  for (let i = 0; i < MOST_JOINS; i++) {
    // The small wobble keeps the stride from falling in step with the sectors of a track.
    const from = Math.min(count - 1, Math.floor((i * count) / MOST_JOINS) + (i % 3));
    kept[2 * i] = pairs[2 * from]!;
    kept[2 * i + 1] = pairs[2 * from + 1]!;
  }
  return kept;
}

/** Habits of the files' bytes. A block's own place is near enough: skew moves sectors about within a track only. */
function habitsOf(image: Uint8Array, reading: Reading, blocks: readonly number[]): Habits {
  const habits = new Habits();
  const perBlock = reading.blockSize / RECORD;
  const chunks = blocks.length * perBlock;
  const step = Math.max(1, chunks / MOST_SAMPLES);
  for (let i = 0; i < chunks; i += step) {
    const chunk = Math.floor(i);
    const from =
      reading.survey.at + blocks[Math.floor(chunk / perBlock)]! * reading.blockSize + (chunk % perBlock) * RECORD;
    if (from + RECORD <= image.length && !isBlank(image, from, from + RECORD)) habits.learn(image, from, from + RECORD);
  }
  return habits;
}
