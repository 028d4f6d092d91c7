import type { Geometry } from "../geometry/index.ts";

/** The kinds of volume, named by how they keep their files. */
export type VolumeKind = "fat12" | "extent-entry" | "chained-block" | "segment-list";

/** How much of the data can still be had. A wrong free count loses nothing and leaves it `whole`. */
export type Condition = "whole" | "readable with loss" | "lost";

/** One thing wrong with a volume: where, whose, how bad, and what a repair would do. */
export interface Damage {
  /** Stable, for programs: `crossed-chain`, `lost-block`. */
  code: string;
  /** What it costs the files named; `whole` for bookkeeping that loses no data. */
  condition: Condition;
  sentence: string;
  /** Blocks of the image, at most `MOST_BLOCKS_TOLD`; `blockCount` has the true number. */
  blocks: readonly number[];
  blockCount: number;
  /** Paths of the entries hit, at most `MOST_FILES_TOLD`. */
  files: readonly string[];
  repair: string;
}

export const MOST_BLOCKS_TOLD = 64;
export const MOST_FILES_TOLD = 64;

export interface Entry {
  /**
   * Readable and unique in the volume, parts joined by `/`. A slash, backslash or control character of the stored
   * name is shown as `%2F` and the like; the exact bytes are in `nameBytes`. A name met twice gets `~2`.
   */
  path: string;
  name: string;
  nameBytes: Uint8Array;
  type: "file" | "folder";
  /** In the words of this kind of volume: `sequential`, `program`, `records`, `archive`. */
  kind: string;
  /** Length of the content in bytes, as the volume states it. */
  size: number;
  /** Blocks of the image that hold the content, in order; bookkeeping blocks (descriptor, index) are in `ownBlocks`. */
  blocks: readonly number[];
  ownBlocks: readonly number[];
  /** Set where the entry is a random-access record file. */
  records?: { length: number; count: number };
  /** Label and value, in the order to show: attributes, dates, owner, user. */
  details: readonly (readonly [label: string, value: string])[];
  deleted: boolean;
  condition: Condition;
}

/** What `read` gives: as much as can be had, missing stretches filled with zero bytes and listed. */
export interface Content {
  bytes: Uint8Array;
  condition: Condition;
  /** Stretches that could not be read, in bytes from the start of the content. */
  missing: readonly { offset: number; length: number }[];
}

/** Owners of blocks that are no entry's. */
export const OWNER = { free: -1, system: -2, bad: -3, lost: -4, clash: -5 } as const;

export interface Volume {
  kind: VolumeKind;
  /** The layout in words: "zoned, 77 tracks, two sides". */
  format: string;
  label: string;
  geometry: Geometry;
  /** Blocks that the volume states as free; null where its map cannot be read. */
  freeBlocks: number | null;
  /** Label and value of what the volume says of itself, in the order to show. */
  facts: readonly (readonly [label: string, value: string])[];
  entries: readonly Entry[];
  /** For each block of the image the index of the entry that owns it, or one of `OWNER`. */
  owners: Int32Array;
  damages: readonly Damage[];
  condition: Condition;
  read(entry: Entry): Content;
}

/** A way an image could be read, with the evidence for it; `score` from 0 to 1. */
export interface Candidate<Options = unknown> {
  kind: VolumeKind;
  format: string;
  score: number;
  evidence: readonly string[];
  options: Options;
}

/** One kind of volume. Both functions take any bytes at all, change nothing, and use memory in proportion to the image. */
export interface VolumeFormat<Options = unknown> {
  kind: VolumeKind;
  /** Ways to read the image as this kind, the likeliest first; empty where nothing speaks for it. */
  recognise(image: Uint8Array): Candidate<Options>[];
  /** Opens an image. Throws `FormatError` only where it cannot be this kind at all; damage is told, not thrown. */
  open(image: Uint8Array, options: Options): Volume;
}

/** A file or folder to put on a volume that is built. */
export interface TreeEntry {
  path: string;
  type: "file" | "folder";
  bytes: Uint8Array;
  /** Kind-specific wishes: file kind, record length, attributes, dates; each builder documents its own. */
  wishes?: Readonly<Record<string, string | number | boolean>>;
}
