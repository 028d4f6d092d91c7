import { InputError } from "../../errors/index.ts";
import type { Segment } from "./descriptor.ts";
import { MOST_SEGMENTS } from "./layout.ts";

/** Gives out clusters, the lowest that fit first, for the builder. */
export interface Allocator {
  reserve(sector: number, count: number): void;
  /**
   * A descriptor and `sectors` of room in at least `pieces` segments, from sector `start` on if there is room. Throws an
   * `InputError` where the disk is full.
   */
  lay(sectors: number, pieces: number, path: string, start: number): { descriptor: number; segments: Segment[] };
  free(descriptor: number, segments: readonly Segment[]): void;
  /** The allocation map: bit 7 of the first byte is cluster 0 (from memory), set is allocated; unused bits are set. */
  map(bytes: number): Uint8Array;
}

export function newAllocator(total: number, clusterSectors: number): Allocator {
  const clusters = Math.ceil(total / clusterSectors);
  const used = new Uint8Array(clusters);
  // A last cluster that the disk has only a part of is never given out.
  if (total % clusterSectors !== 0) used[clusters - 1] = 1;

  const mark = (sector: number, count: number, value: 0 | 1): void => {
    if (count > 0)
      used.fill(value, Math.floor(sector / clusterSectors), Math.floor((sector + count - 1) / clusterSectors) + 1);
  };

  /** First run of `want` free clusters at or after `from`; the longest run of all where there is none. */
  const findRun = (want: number, from: number): { first: number; length: number } => {
    let longest = { first: 0, length: 0 };
    for (const start of from > 0 ? [from, 0] : [0])
      for (let first = start; first < clusters; first++) {
        if (used[first]) continue;
        let length = 1;
        while (length < want && first + length < clusters && !used[first + length]) length++;
        if (length === want) return { first, length };
        if (length > longest.length) longest = { first, length };
        first += length;
      }
    return longest;
  };

  return {
    reserve: (sector, count) => mark(sector, count, 1),
    lay(sectors, pieces, path, first) {
      const segments: Segment[] = [];
      let descriptor = 0;
      let left = sectors;
      let from = Math.ceil(first / clusterSectors);
      // The descriptor takes the first sector of its cluster; the content goes on behind it.
      for (let lead = 1; lead === 1 || left > 0; lead = 0) {
        const share = Math.ceil(left / Math.max(1, pieces - segments.length));
        const run = findRun(Math.ceil((lead + share) / clusterSectors), from);
        const room = run.length * clusterSectors - lead;
        if (run.length === 0) throw new InputError("volume-full", `There is no room left on the volume for ${path}.`);
        const start = run.first * clusterSectors;
        if (lead === 1) descriptor = start;
        if (room > 0) segments.push({ lsn: start + lead, count: room });
        if (segments.length > MOST_SEGMENTS)
          throw new InputError("too-many-segments", `${path} would need more than ${MOST_SEGMENTS} segments.`);
        mark(start, run.length * clusterSectors, 1);
        left -= Math.min(left, room);
        from = run.first + run.length + (pieces > 1 ? 1 : 0);
      }
      return { descriptor, segments };
    },
    free(descriptor, segments) {
      mark(descriptor, 1, 0);
      for (const { lsn, count } of segments) mark(lsn, count, 0);
    },
    map(bytes) {
      const map = new Uint8Array(bytes).fill(0xff);
      for (let cluster = 0; cluster < clusters; cluster++)
        if (!used[cluster]) map[cluster >> 3]! &= ~(0x80 >> (cluster & 7));
      return map;
    },
  };
}
