import { FILL, isBlank } from "./directory.ts";
import { skewTable, type TrackOrder, turnsOf } from "./layout.ts";
import { RECORD } from "./parameters.ts";
import type { Shape } from "./shapes.ts";
import { BLANK, DIRECTORY, type Reading, recordsOf } from "./survey.ts";
import { thin, USED, type Wanted } from "./wanted.ts";

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

const MOST_TRACKS = 24;
/** One join of so many is looked at first; steps that are then so far behind are given up. */
const SHARE = 4;
const HOPELESS = 25;

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
  const first: { judgement: SkewJudgement; sector: (logical: number) => number }[] = [];
  let best = Number.NEGATIVE_INFINITY;
  for (let step = 1; step < shape.sectors; step++) {
    const sector = sectorPlaces(shape, step);
    const judgement = judgeDirectory(records, reading, shape, sector, step);
    judgeBlanks(wanted, mixed, shape, sector, judgement);
    judgeEnds(image, wanted, shape, sector, judgement);
    judgeJoins(image, wanted, shape, sector, judgement, (i) => i % SHARE === 0);
    best = Math.max(best, judgement.score);
    first.push({ judgement, sector });
  }
  const near = first.filter(({ judgement }) => judgement.score > best - HOPELESS);
  for (const { judgement, sector } of near) judgeJoins(image, wanted, shape, sector, judgement, (i) => i % SHARE !== 0);
  return near.map(({ judgement }) => judgement).sort((a, b) => b.score - a.score);
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
  const crossing = crossingJoins(wanted, shape.trackBytes / unit);
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

/** Joins from one track to another: between blocks, and within a block that lies on two. */
function crossingJoins({ blockJoins, blocks, use, unit, reading }: Wanted, perTrack: number): number[] {
  const crossing: number[] = [];
  for (let i = 0; i < blockJoins.length; i += 2) {
    const [from, to] = [blockJoins[i]!, blockJoins[i + 1]!];
    if (Math.floor(from / perTrack) !== Math.floor(to / perTrack)) crossing.push(from, to);
  }
  const perBlock = reading.blockSize / unit;
  for (const block of blocks) {
    const first = block * perBlock;
    const border = Math.ceil((first + 1) / perTrack) * perTrack;
    for (let at = border; at < first + perBlock; at += perTrack) if (use[at] === USED) crossing.push(at - 1, at);
  }
  return crossing;
}

/** Sum of the joins' scores under an order of sectors. */
function crossingScore(
  image: Uint8Array,
  wanted: Wanted,
  joins: Int32Array,
  shape: Shape,
  sector: (logical: number) => number,
): number {
  const { habits, unit } = wanted;
  const place = unitPlaces(wanted, shape, sector);
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

/** Place in the image of a unit under an order of sectors. */
function unitPlaces(wanted: Wanted, shape: Shape, sector: (logical: number) => number): (unit: number) => number {
  const { unit, reading } = wanted;
  const { at } = reading.survey;
  const { size } = shape;
  const perSector = size / unit;
  if (perSector === 1) return (logical) => at + sector(logical) * size;
  return (logical) => {
    const rest = logical % perSector;
    return at + sector((logical - rest) / perSector) * size + rest * unit;
  };
}

/** How the chosen joins read on. */
function judgeJoins(
  image: Uint8Array,
  wanted: Wanted,
  shape: Shape,
  sector: (logical: number) => number,
  judgement: SkewJudgement,
  chosen: (index: number) => boolean,
): void {
  const { joins, habits, unit } = wanted;
  const place = unitPlaces(wanted, shape, sector);
  for (let i = 0; i < joins.length; i += 2) {
    if (!chosen(i >> 1)) continue;
    const end = place(joins[i]!) + unit;
    const to = place(joins[i + 1]!);
    if (end > image.length || to + 1 >= image.length) continue;
    const score = habits.join(image, end, to);
    judgement.score += score;
    judgement.joins++;
    if (score > 0) judgement.goodJoins++;
  }
}

/** A text's last record ends with the end-of-text character. */
function judgeEnds(
  image: Uint8Array,
  wanted: Wanted,
  shape: Shape,
  sector: (logical: number) => number,
  judgement: SkewJudgement,
): void {
  const { ends } = wanted;
  const place = unitPlaces(wanted, shape, sector);
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
