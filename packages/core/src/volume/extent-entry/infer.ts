import type { Candidate } from "../types.ts";
import { FILL } from "./directory.ts";
import { type ExtentEntryOptions, layoutInWords, makeOptions, ORDER_WORDS } from "./layout.ts";
import { ENTRY } from "./parameters.ts";
import { type Shape, shapesFor } from "./shapes.ts";
import { judgeOrders, judgeSkews, type SkewJudgement } from "./skews.ts";
import { DIRECTORY, OTHER, type Reading, readingsOf, type Survey, surveyAt } from "./survey.ts";
import { wantedOf } from "./wanted.ts";

/**
 * Finds the parameter block of a volume that doesn't carry one. The size of the image gives the shapes of disk that
 * may be; a directory at the start of a track gives the reserved tracks; its record counts and block numbers give the
 * block size and the width of the numbers; the lowest number gives the directory; what the files then look like gives
 * the skew. Each step keeps only what is near the best.
 */

/** Reserved tracks looked at, on each side. */
const MOST_RESERVED = 6;
const MOST_READINGS = 4;
const MOST_CANDIDATES = 6;
/** How far behind the best a reading may be and still have its skews judged. */
const NEAR = 8;
const LATE_START = 15;
const FILL_WORD = 0xe5e5e5e5 | 0;
/** Below this share of fitting entries it isn't a directory. */
const FEWEST_FITTING = 0.4;
const SCORE = { empty: 0.12, deletedOnly: 0.3, least: 0.5, most: 0.97 } as const;

interface Place {
  shape: Shape;
  reserved: number;
}

interface Judged {
  place: Place;
  reading: Reading;
  skew: SkewJudgement;
  /** The best skew of another step. */
  next: SkewJudgement | undefined;
  total: number;
}

/** The starts of tracks where a directory may begin, each with the shapes that have a track there. */
function startsOf(shapes: readonly Shape[]): Map<number, Place[]> {
  const starts = new Map<number, Place[]>();
  for (const shape of shapes)
    for (let reserved = 0; reserved <= MOST_RESERVED * shape.geometry.sides; reserved++) {
      if (reserved === 0 && shape.firstTrackBytes !== shape.trackBytes) continue;
      const at = reserved === 0 ? 0 : shape.firstTrackBytes + (reserved - 1) * shape.trackBytes;
      const places = starts.get(at);
      if (places) places.push({ shape, reserved });
      else starts.set(at, [{ shape, reserved }]);
    }
  return starts;
}

/** Whether the image starts as a FAT12 disk: a boot sector's numbers (ECMA-107, clause 9), or a FAT at its usual place. */
function looksLikeFat(image: Uint8Array): boolean {
  const size = image[11]! | (image[12]! << 8);
  const copies = image[16]!;
  const perCluster = image[13]!;
  const numbers =
    (size === 128 || size === 256 || size === 512 || size === 1024) &&
    (copies === 1 || copies === 2) &&
    image[21]! >= 0xf0 &&
    perCluster > 0 &&
    (perCluster & (perCluster - 1)) === 0;
  if (numbers) return true;
  // A whole sector of FF is a stretch of empty memory, no FAT.
  const fat = image[512]! >= 0xf8 && image[513] === 0xff && image[514] === 0xff;
  return fat && image.subarray(515, 528).some((byte) => byte !== 0xff && byte !== FILL);
}

/** Whether sector 0 states the size of the image as a segment-list volume does: sectors of 256 bytes in three bytes. */
const looksLikeSegmentList = (image: Uint8Array): boolean =>
  ((image[0]! << 16) | (image[1]! << 8) | image[2]!) * 256 === image.length;

/** Ways to read the image as an extent-entry volume, the likeliest first. */
export function recogniseExtentEntry(image: Uint8Array): Candidate<ExtentEntryOptions>[] {
  const shapes = shapesFor(image.length);
  if (shapes.length === 0 || looksLikeFat(image) || looksLikeSegmentList(image)) return [];
  const readings: { reading: Reading; places: readonly Place[] }[] = [];
  const lives = new Set<number>();
  for (const [at, places] of [...startsOf(shapes)].sort(([a], [b]) => a - b)) {
    if (at + 1024 > image.length) break;
    const survey = surveyAt(image, at);
    if (!isDirectory(survey)) continue;
    // Entries just before a start are those of a directory that began earlier.
    let before = 0;
    for (const entry of lives) if (entry < at) before++;
    for (const entry of survey.live) lives.add(entry);
    const disk = places[0]!.shape;
    const bytes = disk.bytes - at;
    for (const reading of readingsOf(image, survey, bytes)) {
      if (reading.matched < FEWEST_FITTING * reading.judged) continue;
      reading.score -= Math.min(40, 4 * before);
      // The first entries of a directory are used first, and keep their names when deleted.
      if (survey.records[0] !== DIRECTORY) reading.score -= LATE_START;
      readings.push({ reading, places });
    }
  }
  if (readings.length === 0) return emptyCandidates(image, shapes);
  readings.sort((a, b) => b.reading.score - a.reading.score);
  const best = readings[0]!.reading.score;
  const judged: Judged[] = [];
  for (const { reading, places } of readings.slice(0, MOST_READINGS)) {
    if (reading.score < best - NEAR) break;
    const seen = new Set<string>();
    const fitting = places.filter(({ shape }) => shape.size <= reading.blockSize);
    if (fitting.length === 0) continue;
    const wanted = wantedOf(image, reading, Math.min(...fitting.map(({ shape }) => shape.size)));
    fitting.forEach((place, rank) => {
      const { sectors, size } = place.shape;
      if (seen.has(`${sectors} ${size}`)) return;
      seen.add(`${sectors} ${size}`);
      const skews = judgeSkews(image, wanted, place.shape);
      skews.push(...judgeOrders(image, wanted, place.shape, place.reserved, skews.slice(0, 2)));
      skews.sort((a, b) => b.score - a.score);
      skews.slice(0, 3).forEach((skew) => {
        const total = reading.score + skew.score - rank * 0.1;
        judged.push({ place, reading, skew, next: skews.find((each) => each.step !== skew.step), total });
      });
    });
  }
  return candidatesOf(image, judged);
}

/** At least one entry, and not one lone plausible record amid content. */
const isDirectory = (survey: Survey): boolean => {
  const entries = survey.live.length + survey.deleted.length;
  return entries > 0 && (survey.records[0] !== OTHER || survey.live.length >= 4) && survey.unreadable <= entries;
};

function candidatesOf(image: Uint8Array, judged: Judged[]): Candidate<ExtentEntryOptions>[] {
  judged.sort((a, b) => b.total - a.total);
  const best = judged[0];
  if (!best) return [];
  const seen = new Set<string>();
  const candidates: Candidate<ExtentEntryOptions>[] = [];
  for (const each of judged) {
    const { place, reading, skew } = each;
    const { shape } = place;
    // Without a skew, shapes with the same bytes behind the reserved tracks are the same volume.
    const order = skew.step === 1 ? "as they lie" : `${shape.sectors} ${shape.size} ${skew.step}`;
    const key = [
      reading.survey.at,
      reading.blockSize,
      reading.dsm,
      reading.exm,
      skew.directoryBlocks,
      order,
      skew.trackOrder,
    ].join();
    if (seen.has(key) || skew.directoryBlocks >= reading.dsm) continue;
    seen.add(key);
    const options = makeOptions(shape.geometry, {
      skew: skew.step,
      // Where one side follows the other, every second track of the image is behind the directory's start.
      reservedTracks: skew.trackOrder === "as the image" ? place.reserved : place.reserved / 2,
      blockSize: reading.blockSize,
      entries: (skew.directoryBlocks * reading.blockSize) / ENTRY,
      ...(skew.trackOrder === "as the image" ? { dsm: reading.dsm, exm: reading.exm } : {}),
      trackOrder: skew.trackOrder,
    });
    candidates.push({
      kind: "extent-entry",
      format: `${shape.words}, ${layoutInWords(options)}`,
      score: scoreOf(reading) * Math.exp((each.total - best.total) / 10),
      evidence: evidenceOf(image, each),
      options,
    });
    if (candidates.length === MOST_CANDIDATES) break;
  }
  return candidates;
}

/** From `least` for one entry towards `most` for many, less what doesn't fit. */
function scoreOf(reading: Reading): number {
  const fitting = reading.matched / reading.judged;
  if (reading.survey.live.length === 0) return SCORE.deletedOnly * fitting;
  const weight = 1 - Math.exp(-reading.matched / 4);
  return (SCORE.least + (SCORE.most - SCORE.least) * weight) * fitting;
}

const of = (part: number, whole: number): string => (part === whole ? `all ${whole}` : `${part} of ${whole}`);

function evidenceOf(image: Uint8Array, { place, reading, skew, next }: Judged): string[] {
  const { shape, reserved } = place;
  const { survey } = reading;
  const entries = survey.live.length + survey.deleted.length;
  const block = reading.blockSize / 1024;
  const slots = (skew.directoryBlocks * reading.blockSize) / ENTRY;
  const evidence = [
    image.length === shape.bytes
      ? `The image has the size of this disk, ${shape.bytes} bytes.`
      : `The image has ${image.length} bytes, this disk ${shape.bytes}.`,
    `A directory starts behind ${reserved} reserved tracks, at byte ${survey.at}: ${survey.live.length} entries in use, ${survey.deleted.length} deleted, ${survey.unreadable} of ${entries + survey.unreadable} not plausible.`,
    `The record counts of ${of(reading.matched, reading.judged)} entries fit their block numbers with blocks of ${block} KiB and extent mask ${reading.exm}.`,
    reading.twice === 0 ? "No block is claimed twice." : `${reading.twice} block numbers are claimed twice.`,
    reading.outOfRange === 0
      ? `All block numbers in use lie between ${reading.lowest} and ${reading.highest}; the disk has blocks 0 to ${reading.dsm}, so a number takes ${reading.pointerBytes === 1 ? "one byte" : "two bytes"}.`
      : `${reading.outOfRange} entries have block numbers above ${reading.dsm}, the last one.`,
    skew.directoryBlocks < reading.directoryBlocks
      ? `The lowest block number is ${reading.lowest}, but only the first ${skew.directoryBlocks} blocks look like a directory: ${slots} entries.`
      : `The lowest block number, ${reading.lowest}, leaves ${skew.directoryBlocks} blocks for the directory: ${slots} entries.`,
  ];
  if (!reading.usual) evidence.push("The last block or the extent mask is not the usual one for this disk.");
  if (skew.joins > 0)
    evidence.push(
      `With ${skew.step === 1 ? "no skew" : `skew ${skew.step}`}, the files read on across ${of(skew.goodJoins, skew.joins)} joins of sectors${next ? `; with ${next.step === 1 ? "no skew" : `skew ${next.step}`} across ${next.goodJoins}` : ""}.`,
    );
  if (skew.trackOrder !== "as the image")
    evidence.push(
      `Tracks counted with ${ORDER_WORDS[skew.trackOrder]}, the joins from one track to the next read on better than side by side.`,
    );
  if (skew.misplaced > 0)
    evidence.push(`${skew.misplaced} sectors are blank within a file, or written where no file is.`);
  return evidence;
}

/** Bytes up to the last one that isn't fill. */
function writtenBytes(image: Uint8Array): number {
  let end = image.length;
  if (image[end - 1] !== FILL) return end;
  if (image.byteOffset % 4 === 0) {
    const words = new Int32Array(image.buffer, image.byteOffset, end >> 2);
    let word = words.length;
    while (word > 0 && words[word - 1] === FILL_WORD) word--;
    if (image.subarray(4 * words.length).every((byte) => byte === FILL)) end = 4 * word;
  }
  while (end > 0 && image[end - 1] === FILL) end--;
  return end;
}

/** A freshly formatted disk: fill from some track on to the end. Which parameters it had can only be guessed. */
function emptyCandidates(image: Uint8Array, shapes: readonly Shape[]): Candidate<ExtentEntryOptions>[] {
  const shape = shapes[0]!;
  const farthest = shape.firstTrackBytes + (MOST_RESERVED * shape.geometry.sides - 1) * shape.trackBytes;
  const written = writtenBytes(image);
  if (written > farthest || shape.bytes !== image.length) return [];
  const used =
    written <= shape.firstTrackBytes ? 1 : 1 + Math.ceil((written - shape.firstTrackBytes) / shape.trackBytes);
  const reserved = Math.max(2, written === 0 ? 0 : used);
  const blockSize = Math.max(shape.size, shape.bytes <= 256 * 1024 ? 1024 : 2048);
  const options = makeOptions(shape.geometry, {
    skew: shape.size === 128 && shape.sectors === 26 ? 6 : 1,
    reservedTracks: reserved,
    blockSize,
    entries: (blockSize * 2) / ENTRY,
  });
  return [
    {
      kind: "extent-entry",
      format: `${shape.words}, ${layoutInWords(options)}`,
      score: SCORE.empty,
      evidence: [
        `The image has the size of this disk, ${shape.bytes} bytes.`,
        written === 0
          ? "Every byte is E5, the fill of a freshly formatted disk: an empty volume, if it is one."
          : `From byte ${written} on every byte is E5, the fill of a freshly formatted disk: an empty volume, if it is one.`,
        "No entry tells block size, directory size or skew: these are the usual ones for such a disk.",
      ],
      options,
    },
  ];
}
