import type { Geometry } from "../geometry/index.ts";
import { escapePart } from "./address.ts";
import { fitting, type Opened, openFirst, recogniseAll, type VolumeWish } from "./open-best.ts";
import type { Candidate, Condition, Damage, Entry, Volume, VolumeKind } from "./types.ts";

/** What an image holds and whether it is whole, as plain data that can be written as JSON. */

export interface Survey {
  /** Bytes of the image. */
  size: number;
  /** Ways to read it, the best first. */
  candidates: SurveyedCandidate[];
  /** The best of them, opened; null where nothing speaks for the image. */
  volume: SurveyedVolume | null;
}

export type SurveyedCandidate = Omit<Candidate, "options">;

export interface SurveyedVolume {
  kind: VolumeKind;
  format: string;
  label: string;
  geometry: Geometry;
  facts: readonly (readonly [label: string, value: string])[];
  condition: Condition;
  blocks: number;
  /** Blocks that the volume states as free; null where its map cannot be read. */
  freeBlocks: number | null;
  counts: SurveyedCounts;
  entries: SurveyedEntry[];
  damages: readonly Damage[];
  /** Volumes found inside files of this one. */
  nested: NestedVolume[];
}

/** Entries by kind; deleted ones are counted only as such. `hurt` are the files not wholly readable. */
export interface SurveyedCounts {
  files: number;
  folders: number;
  records: number;
  deleted: number;
  hurt: number;
}

export type SurveyedEntry = Pick<
  Entry,
  "path" | "type" | "kind" | "size" | "condition" | "deleted" | "details" | "records"
> & {
  /** Number of blocks that hold the content. */
  blocks: number;
};

export interface NestedVolume {
  /** What follows the image in an address: `path:` and, deeper, `path:inner path:`. */
  address: string;
  /** Bytes of the file that is a volume. */
  size: number;
  /** How strongly the content speaks for its kind, from 0 to 1. */
  score: number;
  volume: SurveyedVolume;
}

/** A volume in a file in a file in a file in a file of the image. */
const DEEPEST = 4;
/** Content of at least this score is taken for a volume of its own. */
const GOOD_SCORE = 0.6;
/** No disk of any of the kinds was smaller than 64 KiB (common practice, no source). */
const SMALLEST_NESTED = 0x10000;
/** Nested content looked at, over all depths, in sizes of the image; and the most volumes told. */
const MOST_NESTED_BYTES = 4;
const MOST_NESTED = 64;

/** The size of whole sectors, or of whole 256-byte blocks with one error byte each. */
const couldBeVolume = (size: number): boolean => size >= SMALLEST_NESTED && (size % 128 === 0 || size % 257 === 0);

/** Surveys an image: what it could be, and of the likeliest all that it holds. Takes any bytes and changes none. */
export const survey = (image: Uint8Array, wish: VolumeWish = {}): Survey => surveyAndOpen(image, wish).survey;

/** The same, with the volume itself for those who go on to read its files. */
export function surveyAndOpen(image: Uint8Array, wish: VolumeWish = {}): { survey: Survey; volume: Volume | null } {
  const candidates = fitting(recogniseAll(image), wish);
  const opened = openFirst(image, candidates);
  const search: Search = { bytesLeft: MOST_NESTED_BYTES * image.length, found: 0, seen: [image] };
  return {
    survey: {
      size: image.length,
      candidates: candidates.map(({ kind, format, score, evidence }) => ({ kind, format, score, evidence })),
      volume: opened ? surveyOpened(opened, "", DEEPEST, search) : null,
    },
    volume: opened?.volume ?? null,
  };
}

interface Search {
  bytesLeft: number;
  found: number;
  /** Contents already surveyed: a file that holds the image it lies in ends here. */
  seen: Uint8Array[];
}

function surveyOpened({ volume }: Opened, address: string, depth: number, search: Search): SurveyedVolume {
  const { kind, format, label, geometry, facts, condition, freeBlocks, damages, owners } = volume;
  const counts: SurveyedCounts = { files: 0, folders: 0, records: 0, deleted: 0, hurt: 0 };
  const nested: NestedVolume[] = [];
  const entries = volume.entries.map((entry): SurveyedEntry => {
    count(counts, entry);
    const inner = depth > 0 ? volumeIn(volume, entry, search) : undefined;
    if (inner) {
      const own = `${address}${escapePart(entry.path)}:`;
      nested.push({
        address: own,
        size: entry.size,
        score: inner.candidate.score,
        volume: surveyOpened(inner, own, depth - 1, search),
      });
    }
    return {
      path: entry.path,
      type: entry.type,
      kind: entry.kind,
      size: entry.size,
      condition: entry.condition,
      deleted: entry.deleted,
      details: entry.details,
      ...(entry.records ? { records: entry.records } : {}),
      blocks: entry.blocks.length,
    };
  });
  return {
    kind,
    format,
    label,
    geometry,
    facts,
    condition,
    blocks: owners.length,
    freeBlocks,
    counts,
    entries,
    damages,
    nested,
  };
}

function count(counts: SurveyedCounts, entry: Entry): void {
  if (entry.deleted) {
    counts.deleted++;
    return;
  }
  if (entry.type === "folder") counts.folders++;
  else counts.files++;
  if (entry.records) counts.records++;
  if (entry.condition !== "whole") counts.hurt++;
}

/** The volume that the content of a file is, where it speaks well for one that was not surveyed yet. */
function volumeIn(volume: Opened["volume"], entry: Entry, search: Search): Opened | undefined {
  if (entry.type !== "file" || entry.deleted || entry.condition === "lost" || !couldBeVolume(entry.size))
    return undefined;
  if (entry.size > search.bytesLeft || search.found >= MOST_NESTED) return undefined;
  search.bytesLeft -= entry.size;
  const { bytes } = volume.read(entry);
  const good = recogniseAll(bytes).filter(({ score }) => score >= GOOD_SCORE);
  if (good.length === 0 || search.seen.some((each) => sameBytes(each, bytes))) return undefined;
  const opened = openFirst(bytes, good);
  if (!opened) return undefined;
  search.found++;
  search.seen.push(bytes);
  return opened;
}

const sameBytes = (a: Uint8Array, b: Uint8Array): boolean => {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
};
