import { FormatError, InputError } from "../errors/index.ts";
import { formatNumber } from "../quantity/index.ts";
import { FORMATS } from "./formats.ts";
import type { Candidate, Volume, VolumeKind } from "./types.ts";

/** What the person says an image is, where they know better than the evidence. */
export interface VolumeWish {
  kind?: VolumeKind;
  /** One of the candidates' layouts in words. */
  format?: string;
}

export interface Opened {
  volume: Volume;
  candidate: Candidate;
}

/** Ways to read the image over all kinds, the best first. */
export const recogniseAll = (image: Uint8Array): Candidate[] =>
  FORMATS.flatMap((format) => format.recognise(image)).sort((a, b) => b.score - a.score);

/** Opens the best of `candidates` that opens; undefined where none does. */
export function openFirst(image: Uint8Array, candidates: readonly Candidate[]): Opened | undefined {
  for (const candidate of candidates) {
    const format = FORMATS.find(({ kind }) => kind === candidate.kind)!;
    try {
      return { volume: format.open(image, candidate.options), candidate };
    } catch (error) {
      if (!(error instanceof FormatError)) throw error;
    }
  }
  return undefined;
}

/** The candidates that agree with a wish. */
export const fitting = (candidates: readonly Candidate[], wish: VolumeWish): Candidate[] =>
  candidates.filter(({ kind, format }) => kind === (wish.kind ?? kind) && format === (wish.format ?? format));

/** Opens an image as what it most likely is. Throws an `InputError` where nothing (or not the wish) speaks for it. */
export function openBest(image: Uint8Array, wish: VolumeWish = {}): Opened {
  const all = recogniseAll(image);
  const opened = openFirst(image, fitting(all, wish));
  if (!opened) throw noVolume(image, all, wish);
  return opened;
}

/** What to say of an image that nothing (or not the wish) speaks for. */
export function noVolume(image: Uint8Array, candidates: readonly Candidate[], wish: VolumeWish): InputError {
  if (image.length === 0) return new InputError("no-volume", "This image is empty: it has 0 bytes.");
  const other = candidates[0] ? ` It could be ${inWords(candidates[0])}.` : "";
  const kind = wish.kind ? KIND_NAMES[wish.kind] : undefined;
  const wished = kind ? `${/^[aeiou]/i.test(kind) ? "an" : "a"} ${kind}` : "a volume of a kind that Rouse knows";
  return new InputError(
    "no-volume",
    `Nothing in these ${formatNumber(image.length, 16)} bytes speaks for ${wished}.${other}`,
  );
}

/** Kinds of volume in words. */
export const KIND_NAMES: Readonly<Record<VolumeKind, string>> = {
  fat12: "FAT12 volume",
  "extent-entry": "extent-entry volume",
  "chained-block": "chained-block volume",
  "segment-list": "segment-list volume",
};

const inWords = ({ kind, format }: Candidate): string =>
  `a ${KIND_NAMES[kind]} (${format})`.replace("a extent", "an extent");
