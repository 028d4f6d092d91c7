import { Habits } from "./continuity.ts";
import { FILL, isBlank } from "./directory.ts";
import { skewTable, type TrackOrder, turnsOf } from "./layout.ts";
import { RECORD } from "./parameters.ts";
import type { Shape } from "./shapes.ts";
import { BLANK, DIRECTORY, type Reading, recordsOf } from "./survey.ts";

/** Judges in which order the sectors of a track follow each other, by what the files then look like. */

export interface SkewJudgement {
  step: number;
  trackOrder: TrackOrder;
  score: number;
  directoryBlocks: number;
  /** Joins between sectors of files that were looked at, and those where the content reads on. */
  joins: number;
  goodJoins: number;
  /** Sectors, in tracks with both, that are blank though a file claims them, or written though none does. */
  misplaced: number;
}

const MOST_JOINS = 256;
const MOST_SAMPLES = 256;
const MOST_TRACKS = 24;
const USED = 1;
const SLACK = 2;

const WEIGHT = {
  /** Directory record that isn't one, an unused record before a used one, a used record outside. */
  notDirectory: -4,
  outOfOrder: -1,
  outside: -4,
  shrunk: -6,
  blankInFile: -2,
  writtenInFree: -0.5,
  endOfText: 1.5,
} as const;
const MOST_AGAINST = -40;
const END_OF_TEXT = 0x1a;

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
  /** All of them, before they were thinned out. */
  allJoins: readonly number[];
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
  const ends: number[] = [];
  const blocks: number[] = [];
  const files = survey.live.length > 0 ? survey.live : survey.deleted;
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
      // A unit that the records fill in part joins on all the same; its end doesn't.
      const filled = Math.floor(here / recordsPerUnit);
      if (before >= 0) joins.push(before, first);
      for (let j = 0; j < unitsPerBlock; j++) {
        use[first + j] = j < units ? USED : SLACK;
        if (j > 0 && j < units) joins.push(first + j - 1, first + j);
      }
      before = filled === unitsPerBlock ? first + unitsPerBlock - 1 : -1;
      records -= recordsPerBlock;
      if (records <= 0) {
        const last = here - 1;
        ends.push(first + Math.floor(last / recordsPerUnit), ((last % recordsPerUnit) + 1) * RECORD - 1);
      }
    }
  }
  return {
    reading,
    unit,
    joins: thin(joins),
    allJoins: joins,
    use,
    ends: thin(ends),
    habits: habitsOf(image, reading, blocks),
  };
}

/** At most `MOST_JOINS` of the pairs, spread over all of them. */
function thin(pairs: number[]): Int32Array {
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

/** Whether samples of a stretch are all fill: near enough for evidence, and quick on an empty disk. */
function looksBlank(image: Uint8Array, from: number, to: number): boolean {
  if (image[to - 1] !== FILL) return false;
  for (let at = from; at < to; at += 13) if (image[at] !== FILL) return false;
  return true;
}

/** Tracks with both blank and written sectors, as the blankness of their sectors in image order. */
function mixedTracks(image: Uint8Array, start: number, shape: Shape, sectors: number): Map<number, Uint8Array> {
  const mixed = new Map<number, Uint8Array>();
  for (let first = 0; first + shape.sectors <= sectors && mixed.size < MOST_TRACKS; first += shape.sectors) {
    const blank = new Uint8Array(shape.sectors);
    let count = 0;
    for (let i = 0; i < shape.sectors; i++) {
      const from = start + (first + i) * shape.size;
      if (from + shape.size > image.length) break;
      if (looksBlank(image, from, from + shape.size)) {
        blank[i] = 1;
        count++;
      }
    }
    if (count > 0 && count < shape.sectors) mixed.set(first, blank);
  }
  return mixed;
}

/** What is commonly met: no skew, and 6 on the 8-inch single-density disk. Common practice, no source. */
function prior(step: number, shape: Shape): number {
  if (step === 1) return 0;
  if (step === 6 && shape.sectors === 26) return shape.size === RECORD ? 1.5 : 0;
  return step <= 6 ? -1 : -2.5;
}

/** Judges every skew step for a reading on a shape of disk; the best first. */
export function judgeSkews(image: Uint8Array, wanted: Wanted, shape: Shape): SkewJudgement[] {
  const { reading, use, unit } = wanted;
  const { at } = reading.survey;
  const mixed = mixedTracks(image, at, shape, (use.length * unit) / shape.size);
  const records = reachedRecords(image, reading, shape);
  const judgements: SkewJudgement[] = [];
  for (let step = 1; step < shape.sectors; step++) {
    const sector = sectorPlaces(shape, step);
    const judgement = judgeDirectory(records, reading, shape, sector, step);
    judgeContent(image, wanted, shape, sector, judgement);
    judgeBlanks(wanted, mixed, shape, sector, judgement);
    judgements.push(judgement);
  }
  return judgements.sort((a, b) => b.score - a.score);
}

/** Weight against the less usual orders of tracks; a chance gain is below it. */
const UNUSUAL_ORDER = -6;
/** For a join to blank sectors: the file isn't there. */
const JOIN_TO_BLANK = -1;

/**
 * Judges the orders in which one side follows the other, with the steps that are the best side by side. Most joins are
 * within a track and don't tell: only those from one track to another are compared. `reserved` is the number of tracks
 * of the image before the directory.
 */
export function judgeOrders(
  image: Uint8Array,
  wanted: Wanted,
  shape: Shape,
  reserved: number,
  best: readonly SkewJudgement[],
): SkewJudgement[] {
  if (shape.geometry.sides === 1 || reserved % 2 !== 0 || shape.firstTrackBytes !== shape.trackBytes) return [];
  const { reading, unit } = wanted;
  const perTrack = shape.trackBytes / unit;
  const crossing: number[] = [];
  for (let i = 0; i < wanted.allJoins.length; i += 2) {
    const [from, to] = [wanted.allJoins[i]!, wanted.allJoins[i + 1]!];
    if (Math.floor(from / perTrack) !== Math.floor(to / perTrack)) crossing.push(from, to);
  }
  const joins = thin(crossing);
  const records = reachedRecords(image, reading, shape);
  const found: SkewJudgement[] = [];
  for (const plain of best) {
    const side = sectorPlaces(shape, plain.step);
    const before =
      crossingScore(image, wanted, joins, shape, side) +
      judgeDirectory(records, reading, shape, side, plain.step).score;
    for (const trackOrder of ["side 1 after side 0", "there and back"] as const) {
      const turnOf = turnsOf(shape.geometry, trackOrder);
      const first = reserved / 2;
      const length = 2 * shape.geometry.tracks - first;
      const turns = Int32Array.from({ length }, (_, track) => turnOf(first + track) - reserved);
      const sector = sectorPlaces(shape, plain.step, turns);
      const judgement = judgeDirectory(records, reading, shape, sector, plain.step);
      const crossed = crossingScore(image, wanted, joins, shape, sector);
      const gain = crossed + judgement.score - before + UNUSUAL_ORDER;
      if (gain <= 0 || crossed <= 0) continue;
      const { joins: count, goodJoins, misplaced } = plain;
      found.push({ ...judgement, trackOrder, score: plain.score + gain, joins: count, goodJoins, misplaced });
    }
  }
  return found;
}

/** Sum of the joins' scores under an order of sectors. */
function crossingScore(
  image: Uint8Array,
  { habits, unit, reading }: Wanted,
  joins: Int32Array,
  shape: Shape,
  sector: (logical: number) => number,
): number {
  const perSector = shape.size / unit;
  const place = (at: number): number =>
    reading.survey.at + sector(Math.floor(at / perSector)) * shape.size + (at % perSector) * unit;
  let sum = 0;
  for (let i = 0; i < joins.length; i += 2) {
    const end = place(joins[i]!) + unit;
    const to = place(joins[i + 1]!);
    if (end > image.length || to + unit > image.length || isBlank(image, to, to + unit)) sum += JOIN_TO_BLANK;
    else sum += habits.join(image, end, to);
  }
  return sum;
}

/** Classes of records as far as the directory may go, to the end of its last track on both sides. */
function reachedRecords(image: Uint8Array, reading: Reading, shape: Shape): Uint8Array {
  const tracks = Math.ceil((reading.directoryBlocks * reading.blockSize) / shape.trackBytes) * shape.geometry.sides;
  const reach = (tracks * shape.trackBytes) / RECORD;
  return recordsOf(image, reading.survey, Math.max(reading.survey.records.length, reach));
}

/** Where sectors lie: `sector` gives the place of a logical sector behind the directory's start, in image order. */
function sectorPlaces(shape: Shape, step: number, turns?: Int32Array): (logical: number) => number {
  const table = skewTable(shape.sectors, step);
  const { sectors } = shape;
  if (!turns) return (logical) => logical - (logical % sectors) + table[logical % sectors]!;
  return (logical) => (turns[Math.floor(logical / sectors)] ?? 0) * sectors + table[logical % sectors]!;
}

/** The directory's records must all be such, the used ones first, and none may lie outside. */
function judgeDirectory(
  records: Uint8Array,
  reading: Reading,
  shape: Shape,
  place: (sector: number) => number,
  step: number,
): SkewJudgement {
  const perSector = shape.size / RECORD;
  const perBlock = reading.blockSize / RECORD;
  const logical = (record: number): number => place(Math.floor(record / perSector)) * perSector + (record % perSector);
  let firstWrong = -1;
  let lastUsed = 0;
  let used = 0;
  let blankBefore = 0;
  let outOfOrder = 0;
  let wrong = 0;
  for (let record = 0; record < reading.directoryBlocks * perBlock; record++) {
    const kind = records[logical(record)] ?? BLANK;
    if (kind === DIRECTORY) {
      used++;
      lastUsed = record;
      if (blankBefore > 0) outOfOrder++;
    } else if (kind === BLANK) blankBefore++;
    else {
      wrong++;
      if (firstWrong < 0) firstWrong = record;
    }
  }
  let all = 0;
  for (const kind of records) if (kind === DIRECTORY) all++;
  // The lowest block number may be above the directory where the first file is gone.
  const shorter = Math.floor(firstWrong / perBlock);
  const shrinks = shorter > Math.floor(lastUsed / perBlock);
  const against = shrinks ? Math.max(WEIGHT.shrunk, WEIGHT.notDirectory * wrong) : WEIGHT.notDirectory * wrong;
  const score = against + WEIGHT.outOfOrder * outOfOrder + WEIGHT.outside * (all - used);
  return {
    step,
    trackOrder: "as the image",
    score: Math.max(MOST_AGAINST, score) + prior(step, shape),
    directoryBlocks: shrinks ? shorter : reading.directoryBlocks,
    joins: 0,
    goodJoins: 0,
    misplaced: 0,
  };
}

function judgeContent(
  image: Uint8Array,
  wanted: Wanted,
  shape: Shape,
  sector: (logical: number) => number,
  judgement: SkewJudgement,
): void {
  const { joins, ends, habits, unit } = wanted;
  const start = wanted.reading.survey.at;
  const { size } = shape;
  const perSector = size / unit;
  const place = (at: number): number => {
    const rest = at % perSector;
    return start + sector((at - rest) / perSector) * size + rest * unit;
  };
  for (let i = 0; i < joins.length; i += 2) {
    const end = place(joins[i]!) + unit;
    const to = place(joins[i + 1]!);
    if (end > image.length || to + 1 >= image.length) continue;
    const score = habits.join(image, end, to);
    judgement.score += score;
    judgement.joins++;
    if (score > 0) judgement.goodJoins++;
  }
  for (let i = 0; i < ends.length; i += 2)
    if (image[place(ends[i]!) + ends[i + 1]!] === END_OF_TEXT) judgement.score += WEIGHT.endOfText;
}

function judgeBlanks(
  wanted: Wanted,
  mixed: ReadonlyMap<number, Uint8Array>,
  shape: Shape,
  sector: (logical: number) => number,
  judgement: SkewJudgement,
): void {
  const { use, unit, reading } = wanted;
  const directory = (reading.directoryBlocks * reading.blockSize) / shape.size;
  const perSector = shape.size / unit;
  let against = 0;
  for (let first = 0; first * perSector < use.length; first += shape.sectors) {
    const track = sector(first);
    const start = track - (((track % shape.sectors) + shape.sectors) % shape.sectors);
    const blank = mixed.get(start);
    if (!blank) continue;
    for (let logical = Math.max(first, directory); logical < first + shape.sectors; logical++) {
      const here = use[logical * perSector] ?? 0;
      const isBlankHere = blank[sector(logical) - start] === 1;
      if (here === USED && isBlankHere) against += WEIGHT.blankInFile * perSector;
      else if (here === 0 && !isBlankHere) against += WEIGHT.writtenInFree * perSector;
      else continue;
      judgement.misplaced++;
    }
  }
  judgement.score += Math.max(MOST_AGAINST, against);
}
