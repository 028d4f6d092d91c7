import { FormatError, InputError } from "../errors/index.ts";
import { FORMATS } from "./formats.ts";
import { mendChainedBlock } from "./mend-chained-block.ts";
import { mendExtentEntry } from "./mend-extent-entry.ts";
import { mendFat12 } from "./mend-fat12.ts";
import { mendSegmentList } from "./mend-segment-list.ts";
import type { Edit, Mender } from "./mend-types.ts";
import { fitting, noVolume, recogniseAll, type VolumeWish } from "./open-best.ts";
import type { Candidate, Damage, Entry, Volume } from "./types.ts";

const MENDERS: readonly Mender[] = [mendFat12, mendSegmentList, mendChainedBlock, mendExtentEntry] as readonly Mender[];

export type Change = Pick<Edit, "code" | "sentence" | "files"> & {
  /** True where content that was gone already is no longer claimed. */
  loss: boolean;
};

export interface Mended {
  image: Uint8Array;
  kind: Volume["kind"];
  format: string;
  changes: readonly Change[];
  /** Repairs that were not made, because something readable would have been lost by them. */
  refused: readonly Change[];
  before: readonly Damage[];
  /** What is still wrong: it cannot be mended without knowing more than the image says. */
  left: readonly Damage[];
}

/** Repairs bring others to light; this many times over is enough for all that were met. */
const MOST_ROUNDS = 4;
/** Repairs of one step tried one by one, where together they would lose something. */
const MOST_SINGLE = 64;

/** Openings of one image in all, so that one damaged beyond sense does not take minutes. */
const MOST_TRIES = 300;

/** What can be read of each live entry. */
interface Holding {
  path: string;
  type: Entry["type"];
  bytes: Uint8Array;
  missing: readonly { offset: number; length: number }[];
}

/** Content of all files together, in sizes of the image: crossed files count each time, but not without end. */
const MOST_CONTENT = 8;

function holdings(volume: Volume, imageBytes: number): Map<string, Holding> {
  const out = new Map<string, Holding>();
  let left = MOST_CONTENT * imageBytes;
  for (const entry of volume.entries) {
    if (entry.deleted) continue;
    const content = entry.type === "file" ? volume.read(entry) : { bytes: new Uint8Array(0), missing: [] };
    left -= content.bytes.length;
    if (left < 0)
      throw new InputError(
        "tangled",
        `The files of this image claim it more than ${MOST_CONTENT} times over, so no repair of it can be trusted; copy out what is wanted with \`rouse extract\`.`,
      );
    out.set(entry.path, { path: entry.path, type: entry.type, bytes: content.bytes, missing: content.missing });
  }
  return out;
}

/** True where every byte that could be read before can be read after, under the same path. */
function keepsAll(before: ReadonlyMap<string, Holding>, after: ReadonlyMap<string, Holding>): boolean {
  for (const old of before.values()) {
    const now = after.get(old.path);
    if (!now || now.type !== old.type) return false;
    const gone = new Uint8Array(old.bytes.length);
    for (const { offset, length } of old.missing) gone.fill(1, offset, offset + length);
    const goneNow = new Uint8Array(now.bytes.length);
    for (const { offset, length } of now.missing) goneNow.fill(1, offset, offset + length);
    for (let i = 0; i < old.bytes.length; i++)
      if (gone[i] === 0 && (i >= now.bytes.length || goneNow[i] === 1 || now.bytes[i] !== old.bytes[i])) return false;
  }
  return true;
}

function written(image: Uint8Array, edits: readonly Edit[]): Uint8Array {
  const out = image.slice();
  for (const { writes } of edits)
    for (const [offset, bytes] of writes)
      for (let i = 0; i < bytes.length; i++) if (offset + i < out.length) out[offset + i] = bytes[i]!;
  return out;
}

const changeOf = ({ code, sentence, files, loss }: Edit): Change => ({ code, sentence, files, loss: loss === true });

const sameBytes = (a: Uint8Array, b: Uint8Array): boolean => {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
};

/**
 * Mends an image into a new one; `image` itself is not touched. A repair after which anything readable could no longer be
 * read, under its own path, is not made. Throws an `InputError` where nothing speaks for a volume.
 */
export function mendImage(image: Uint8Array, wish: VolumeWish = {}): Mended {
  const all = recogniseAll(image);
  for (const candidate of fitting(all, wish)) {
    const format = FORMATS.find(({ kind }) => kind === candidate.kind)!;
    try {
      format.open(image, candidate.options);
    } catch (error) {
      if (error instanceof FormatError) continue;
      throw error;
    }
    return mendAs(image, candidate);
  }
  throw noVolume(image, all, wish);
}

function mendAs(image: Uint8Array, { kind, format, options }: Candidate): Mended {
  const reader = FORMATS.find((each) => each.kind === kind)!;
  const { steps } = MENDERS.find((each) => each.kind === kind)!;
  const first = reader.open(image, options);
  const had = holdings(first, image.length);
  let current = image;
  const changes: Change[] = [];
  const refused = new Map<string, Change>();
  let tries = MOST_TRIES;
  const attempt = (edits: readonly Edit[]): boolean => {
    const tried = written(current, edits);
    if (sameBytes(tried, current)) return true;
    if (tries-- <= 0 || !keepsAll(had, holdings(reader.open(tried, options), image.length))) return false;
    current = tried;
    changes.push(...edits.map(changeOf));
    return true;
  };
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const before = current;
    for (const step of steps) {
      const edits = step(current, options);
      if (edits.length === 0 || attempt(edits)) continue;
      for (const edit of edits.slice(0, MOST_SINGLE)) if (!attempt([edit])) refused.set(edit.sentence, changeOf(edit));
    }
    if (current === before) break;
  }
  return {
    image: current === image ? image.slice() : current,
    kind,
    format,
    changes,
    refused: [...refused.values()].filter((each) => !changes.some(({ sentence }) => sentence === each.sentence)),
    before: first.damages,
    left: reader.open(current, options).damages,
  };
}
