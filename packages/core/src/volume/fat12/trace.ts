import { type Layout, sectorOf } from "./layout.ts";
import { ATTRIBUTE, LONG_NAME, nameSum } from "./names.ts";
import { BAD, FREE, LAST } from "./table.ts";

/**
 * Walks the directories and chains of a volume and notes what it meets, in numbers only; `tell.ts` makes sentences of it.
 * Every loop is bounded by the count of clusters, and the lists kept by a few times that count, whatever the image says.
 */

/** How a chain ended: well, at a value it must not hold, or (`overrun`) past the file's size in clusters of another. */
type End = "last" | "none" | "free" | "bad" | "outside" | "loop" | "tangle" | "overrun";

export interface Slot {
  /** Offset of the 32-byte entry in the image. */
  at: number;
  /** The slot of the folder it is in; -1 for the root. */
  folder: number;
  depth: number;
  attributes: number;
  deleted: boolean;
  start: number;
  size: number;
  /** Offsets of the entries with its long name. */
  pieces: readonly number[];
  clusters: number[];
  end: End;
  /** The value at which the chain ended. */
  stop: number;
  /** Clusters of the chain that were another's already, the first of them, and whose it was. */
  crossed: number;
  crossedAt: number;
  crossedWith: number;
  /** Another chain runs into this one. */
  shared: boolean;
  /** A folder whose first sector holds nothing, not even `.` and `..`. */
  blank: boolean;
  /** Clusters read though the FAT calls them free, because the chain breaks there. */
  rescued: number;
}

interface DotFault {
  folder: number;
  /** Block in which the entry is or should be. */
  sector: number;
  name: "." | "..";
  found: number | undefined;
  expected: number;
}

export interface Trace {
  slots: Slot[];
  /** For each cluster number the slot that owns it, or -1. */
  owner: Int32Array;
  /** 1 for each cluster that two chains claim. */
  clash: Uint8Array;
  lost: number[];
  /** Offset of the volume label's entry, or -1. */
  labelAt: number;
  dots: DotFault[];
  /** Offsets of entries with pieces of a long name that belong to none. */
  orphans: number[];
  /** Offsets of entries that hold no sense. */
  rubbish: number[];
  /** Offsets of `.` and `..` where they do not belong, and of labels beside the first. */
  misplaced: number[];
  /** Slots of folders deeper than any path could name. */
  tooDeep: number[];
  /** Clusters and entries amiss: the measure by which one copy of the FAT is better than another. */
  amiss: number;
}

/** Folders inside folders that a path of 66 characters can name; common practice, no source. */
export const DEEPEST = 32;

export const isFolder = (slot: Slot): boolean => (slot.attributes & ATTRIBUTE.folder) !== 0;

/** Clusters that the stated size of a file takes. */
export const needed = (layout: Layout, slot: Slot): number => Math.ceil(slot.size / layout.clusterBytes);

const filled = (image: Uint8Array, at: number): boolean => {
  const fill = image[at + 1]!;
  if (fill !== 0xf6 && fill !== 0xe5 && fill !== 0) return false;
  for (let i = 2; i < 32; i++) if (image[at + i] !== fill) return false;
  return true;
};

const isDot = (image: Uint8Array, at: number): "." | ".." | undefined => {
  if (image[at] !== 0x2e) return undefined;
  for (let i = 2; i < 11; i++) if (image[at + i] !== 0x20) return undefined;
  return image[at + 1] === 0x2e ? ".." : image[at + 1] === 0x20 ? "." : undefined;
};

export const word = (image: Uint8Array, at: number): number => image[at]! | (image[at + 1]! << 8);

const long = (image: Uint8Array, at: number): number => (word(image, at) | (word(image, at + 2) << 16)) >>> 0;

/** Signs that the 32 bytes at `at` are no entry; two of them are enough, one alone may be a damaged bit. */
export function strikes(image: Uint8Array, at: number, highestCluster: number, volumeBytes: number): number {
  let count = (image[at + 11]! & 0xc0) !== 0 ? 1 : 0;
  for (let i = 0; i < 11; i++)
    if (image[at + i]! < 0x20 && !(i === 0 && image[at] === 0x05)) {
      count++;
      break;
    }
  const start = word(image, at + 26);
  if (start === 1 || start > highestCluster) count++;
  if (long(image, at + 28) > volumeBytes) count++;
  return count;
}

const ownsPieces = (image: Uint8Array, at: number, pieces: readonly number[]): boolean => {
  const sum = nameSum(image, at);
  return (image[pieces[0]!]! & 0x40) !== 0 && pieces.every((piece) => image[piece + 13] === sum);
};

export function trace(image: Uint8Array, layout: Layout, fat: Uint16Array): Trace {
  const highest = layout.clusters + 1;
  const volumeBytes = layout.sectors * layout.sectorSize;
  const owner = new Int32Array(highest + 1).fill(-1);
  const clash = new Uint8Array(highest + 1);
  const seen = new Int32Array(highest + 1).fill(-1);
  const listed = new Uint8Array(highest + 1);
  const out: Trace = {
    slots: [],
    owner,
    clash,
    lost: [],
    labelAt: -1,
    dots: [],
    orphans: [],
    rubbish: [],
    misplaced: [],
    tooDeep: [],
    amiss: 0,
  };
  const { slots } = out;
  let spare = 4 * layout.clusters;

  /** True where a chain cannot go on at `cluster`; notes how it ended. */
  const stopped = (slot: Slot, index: number, cluster: number): boolean => {
    slot.stop = cluster;
    if (cluster >= LAST && slot.clusters.length > 0) slot.end = "last";
    else if (cluster === BAD) slot.end = "bad";
    else if (cluster < 2 || cluster > highest) slot.end = "outside";
    else if (fat[cluster] === FREE) slot.end = "free";
    else if (fat[cluster] === BAD) slot.end = "bad";
    else if (seen[cluster] === index) slot.end = "loop";
    else return false;
    return true;
  };

  const take = (slot: Slot, index: number, cluster: number): number => {
    seen[cluster] = index;
    if (owner[cluster] === -1) owner[cluster] = index;
    slot.clusters.push(cluster);
    return fat[cluster]!;
  };

  /** Follows a chain to its end, a file's no further than its size; what is beyond that is left to `goOn`. */
  const follow = (slot: Slot, index: number): void => {
    const most = isFolder(slot) ? Number.POSITIVE_INFINITY : needed(layout, slot);
    let cluster = slot.start;
    while (cluster !== 0 && !stopped(slot, index, cluster)) {
      if (slot.clusters.length >= most) {
        slot.end = "overrun";
        return;
      }
      const other = owner[cluster]!;
      if (other >= 0) {
        clash[cluster] = 1;
        slots[other]!.shared = true;
        if (slot.crossed++ === 0) {
          slot.crossedAt = cluster;
          slot.crossedWith = other;
        }
        if (spare-- <= 0) {
          slot.end = "tangle";
          return;
        }
      }
      cluster = take(slot, index, cluster);
    }
  };

  /** Gives a file the clusters past its size, up to the first that another claims. */
  const goOn = (slot: Slot, index: number): void => {
    let cluster = slot.stop;
    while (!stopped(slot, index, cluster)) {
      if (owner[cluster] !== -1) {
        slot.end = owner[cluster] === index ? "loop" : "overrun";
        return;
      }
      cluster = take(slot, index, cluster);
    }
  };

  const offsetOf = (cluster: number): number => sectorOf(layout, cluster) * layout.sectorSize;

  const checkDots = (index: number, slot: Slot): void => {
    const first = slot.clusters[0]!;
    const parent = slot.folder < 0 ? 0 : slots[slot.folder]!.start;
    for (const [name, at, expected] of [
      [".", offsetOf(first), first],
      ["..", offsetOf(first) + 32, parent],
    ] as const) {
      const good = at + 32 <= image.length && isDot(image, at) === name && (image[at + 11]! & ATTRIBUTE.folder) !== 0;
      const found = good ? word(image, at + 26) : undefined;
      if (found !== expected)
        out.dots.push({ folder: index, sector: Math.floor(at / layout.sectorSize), name, found, expected });
    }
  };

  const enter = (index: number, slot: Slot): void => {
    if (slot.depth > DEEPEST) {
      out.tooDeep.push(index);
      return;
    }
    const first = slot.clusters[0] ?? slot.stop;
    const reachable = first >= 2 && first <= highest && offsetOf(first) + 32 <= image.length;
    const looksRight =
      reachable && isDot(image, offsetOf(first)) === "." && word(image, offsetOf(first) + 26) === first;
    // A break at a free cluster: the cluster itself may still hold entries.
    if (slot.end === "free" && slot.stop >= 2 && owner[slot.stop] === -1 && (slot.clusters.length > 0 || looksRight)) {
      owner[slot.stop] = index;
      slot.clusters.push(slot.stop);
      slot.rescued = 1;
    }
    if (slot.clusters.length === 0 || (clash[first] === 1 && !looksRight)) return;
    if (listed[first] === 1) return;
    checkDots(index, slot);
    const stretches: [number, number][] = [];
    for (const cluster of slot.clusters) {
      if (listed[cluster] === 1) continue;
      listed[cluster] = 1;
      stretches.push([offsetOf(cluster), offsetOf(cluster) + layout.clusterBytes]);
    }
    list(index, slot.depth + 1, stretches);
  };

  const list = (folder: number, depth: number, stretches: readonly (readonly [number, number])[]): void => {
    let pieces: number[] = [];
    let order = 0;
    const drop = (): void => {
      if (pieces.length > 0) {
        out.orphans.push(...pieces);
        pieces = [];
      }
    };
    for (const [from, to] of stretches)
      for (let at = from; at + 32 <= to && at + 32 <= image.length; at += 32) {
        const lead = image[at]!;
        if (lead === 0) {
          drop();
          // Where `.` should be, it is no end but a blank sector; later sectors may still hold entries.
          if (folder < 0 || at !== stretches[0]![0]) return;
          slots[folder]!.blank = true;
          at += layout.sectorSize - 32;
          continue;
        }
        const attributes = image[at + 11]!;
        const deleted = lead === 0xe5;
        const isPiece = (attributes & 0x3f) === LONG_NAME;
        if (isPiece && !deleted) {
          const number = lead & 0x1f;
          if (lead & 0x40) drop();
          if ((lead & 0x40) === 0 && number !== order - 1) drop();
          order = number;
          pieces.push(at);
          continue;
        }
        const own = !deleted && order === 1 && ownsPieces(image, at, pieces) ? pieces : [];
        if (own.length === 0) drop();
        pieces = [];
        order = 0;
        if (deleted && (isPiece || filled(image, at))) continue;
        const dot = isDot(image, at);
        if (dot) {
          if (folder < 0 || at !== stretches[0]![0] + (dot === "." ? 0 : 32)) out.misplaced.push(at);
          continue;
        }
        if (strikes(image, at, highest, volumeBytes) > 1) {
          if (!deleted) out.rubbish.push(at);
          continue;
        }
        // A label has no content; an entry that has some is a file whose attributes are damaged.
        const empty = word(image, at + 26) === 0 && long(image, at + 28) === 0;
        if (empty && (attributes & (ATTRIBUTE.label | ATTRIBUTE.folder)) === ATTRIBUTE.label) {
          if (deleted) continue;
          if (folder < 0 && out.labelAt < 0) out.labelAt = at;
          else out.misplaced.push(at);
          continue;
        }
        const slot: Slot = {
          at,
          folder,
          depth,
          attributes,
          deleted,
          start: word(image, at + 26),
          size: attributes & ATTRIBUTE.folder ? 0 : long(image, at + 28),
          pieces: own,
          clusters: [],
          end: "none",
          stop: 0,
          crossed: 0,
          crossedAt: 0,
          crossedWith: -1,
          shared: false,
          blank: false,
          rescued: 0,
        };
        const index = slots.push(slot) - 1;
        if (deleted) continue;
        follow(slot, index);
        if (isFolder(slot)) enter(index, slot);
      }
    drop();
  };

  const rootAt = layout.rootStart * layout.sectorSize;
  list(-1, 1, [[rootAt, rootAt + layout.rootEntries * 32]]);

  slots.forEach((slot, index) => {
    if (slot.end === "overrun") goOn(slot, index);
  });
  for (const slot of slots)
    if (!slot.deleted) {
      if (slot.end !== "last" && (slot.end !== "none" || slot.size > 0 || isFolder(slot))) out.amiss++;
      if (!isFolder(slot))
        out.amiss += Math.min(layout.clusters, Math.abs(needed(layout, slot) - slot.clusters.length));
      out.amiss += slot.crossed;
    }
  for (let cluster = 2; cluster <= highest; cluster++)
    if (fat[cluster] !== FREE && fat[cluster] !== BAD && owner[cluster] === -1) out.lost.push(cluster);
  out.amiss += out.lost.length + out.dots.length + out.rubbish.length + out.misplaced.length;
  rescue(layout, fat, out, spare);
  return out;
}

/** Adds to broken and to deleted files the free clusters that follow where their content would lie if it is contiguous. */
function rescue(layout: Layout, fat: Uint16Array, out: Trace, allowance: number): void {
  let spare = Math.max(0, allowance);
  const extend = (slot: Slot, index: number, from: number, claim: boolean): void => {
    const most = needed(layout, slot);
    for (let cluster = from; slot.clusters.length < most && cluster < fat.length; cluster++) {
      if (cluster < 2 || fat[cluster] !== FREE || out.owner[cluster] !== -1 || spare-- <= 0) return;
      if (claim) out.owner[cluster] = index;
      slot.clusters.push(cluster);
      slot.rescued++;
    }
  };
  out.slots.forEach((slot, index) => {
    if (!slot.deleted && !isFolder(slot) && slot.end === "free") extend(slot, index, slot.stop, true);
  });
  out.slots.forEach((slot, index) => {
    if (!slot.deleted) return;
    if (isFolder(slot)) {
      if (fat[slot.start] === FREE && out.owner[slot.start] === -1 && slot.start >= 2) slot.clusters.push(slot.start);
    } else extend(slot, index, slot.start, false);
  });
}
