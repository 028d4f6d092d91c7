import type { Slot } from "./directory.ts";
import { type Disk, LINK } from "./disk.ts";

/** How a chain of blocks came to its end. */
export type Ending = "end" | "bad-link" | "loop" | "unreadable" | "system" | "claimed";

/** What a file is made of, as far as it could be followed. */
export interface FileData {
  slot: Slot;
  /** The block at each place of the data, in order; -1 where none can be reached. */
  positions: number[];
  /** Index blocks of a record file. */
  own: number[];
  ending: Ending;
  /** Second byte of the last block, or -1 where the chain does not end regularly. */
  lastValue: number;
}

/** State shared by all walks over one disk: blocks of the system, owners so far, and marks of who passed last. */
export interface Walk {
  disk: Disk;
  /** 1 for header, map and directory blocks. */
  system: Uint8Array;
  /** First file that claimed each block, or -1. */
  claims: Int32Array;
  marks: Int32Array;
  mark: number;
}

/**
 * Follows a chain from `first`, which the disk must have. A block that cannot be read is the last of the list. With
 * `free`, the walk stops before a block that a file has claimed.
 */
export function followChain(walk: Walk, first: number, free: boolean): { blocks: number[]; ending: Ending } {
  const { disk, system, claims, marks } = walk;
  const mark = ++walk.mark;
  const blocks: number[] = [];
  let at = first;
  for (;;) {
    if (system[at] === 1) return { blocks, ending: "system" };
    if (marks[at] === mark) return { blocks, ending: "loop" };
    if (free && claims[at]! >= 0) return { blocks, ending: "claimed" };
    marks[at] = mark;
    blocks.push(at);
    const link = disk.next[at]!;
    if (link === LINK.end) return { blocks, ending: "end" };
    if (link === LINK.bad) return { blocks, ending: "bad-link" };
    if (link === LINK.unreadable) return { blocks, ending: "unreadable" };
    at = link;
  }
}
