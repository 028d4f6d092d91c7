import { hex } from "../../bytes/index.ts";
import type { Walk } from "./chains.ts";
import { byteAt, LINK, pointerAt, readable } from "./disk.ts";
import { GROUP_BLOCKS, RECORD_LIMITS, where } from "./layout.ts";

/**
 * The index of a random-access record file: groups of six index blocks with 120 pointers each (UG41 p. 90); on the
 * larger kinds an upper index in front that points to up to 126 groups (UG81 p. 122). From memory: the last block of
 * a group links on to the first of the next, and each index block's own place stands in its table of the group.
 */

/** What the index says of a place in the data where it names no block. */
export const POINTER = { bad: -1, none: -2, hole: -3 } as const;

interface IndexProblem {
  code: string;
  sentence: string;
  blocks: number[];
  repair: string;
}

export interface RecordIndex {
  /** Index blocks that were used, the upper index first. */
  own: number[];
  /** By place in the data: a block, or one of `POINTER`. */
  pointers: number[];
  /** One more than the last place for which the index names a block, or tries to. */
  end: number;
  /** Record length byte of each index block used. */
  lengths: number[];
  /** Byte 2 of the upper index, or -1 without one. */
  marker: number;
  /** Second byte of the very last index block and the pointers that it holds; -1 where it does not end regularly. */
  lastValue: number;
  lastPointers: number;
  problems: IndexProblem[];
}

/** The markers of an upper index: the guide prints FF, practice (from memory) is FE; both are taken. */
const UPPER_MARKERS: readonly number[] = [0xfe, 0xff];
export const POINTERS_AT = 16;
const TABLE_AT = 4;
const GROUPS_AT = 3;
const REBUILD = "Build the index anew from the data chain.";

export function readIndex(walk: Walk, first: number, recordLength: number): RecordIndex {
  const { disk } = walk;
  const { layout } = disk;
  const problems: IndexProblem[] = [];
  const index: RecordIndex = {
    own: [],
    pointers: [],
    end: 0,
    lengths: [],
    marker: -1,
    lastValue: -1,
    lastPointers: 0,
    problems,
  };
  const problem = (code: string, sentence: string, blocks: number[], repair = REBUILD): void => {
    problems.push({ code, sentence, blocks, repair });
  };
  if (first < 0 || walk.system[first] === 1 || !readable(disk, first)) {
    problem("no-index", "its index cannot be found", first < 0 ? [] : [first]);
    return index;
  }
  let starts = [first];
  // A block of nothing but FF bears the marker too, and leads nowhere.
  const leads = pointerAt(disk, first, 0, POINTER.none) >= 0 || pointerAt(disk, first, GROUPS_AT, POINTER.none) >= 0;
  if (leads && UPPER_MARKERS.includes(byteAt(disk, first, 2))) {
    index.marker = byteAt(disk, first, 2);
    index.own.push(first);
    starts = readUpper(walk, first, problem);
  }
  let before: number = POINTER.none;
  starts.forEach((start, group) => {
    const last = group === starts.length - 1;
    const found = readGroup(
      walk,
      { start, before, group, recordLength, next: last ? LINK.end : starts[group + 1]! },
      index,
      problem,
    );
    const tail = found[RECORD_LIMITS.indexBlocks - 1];
    before = tail === undefined ? POINTER.none : disk.next[tail]!;
  });
  for (let i = index.pointers.length - 1; i >= 0; i--)
    if (index.pointers[i]! >= 0 || index.pointers[i] === POINTER.bad) {
      index.end = i + 1;
      break;
    }
  // A place left empty before the last one is as bad as a pointer out of range.
  for (let i = 0; i < index.end; i++) if (index.pointers[i] === POINTER.none) index.pointers[i] = POINTER.bad;
  if (layout.mapEntry === 4 && index.marker >= 0)
    problem(
      "upper-index",
      "it has an upper index, which the 35-track kinds do not have",
      [first],
      "None is needed to read it; a drive of this kind may refuse it.",
    );
  return index;
}

/** First index block of each group. */
function readUpper(
  walk: Walk,
  block: number,
  problem: (code: string, sentence: string, blocks: number[]) => void,
): number[] {
  const { disk } = walk;
  const starts: number[] = [];
  // More groups than the disk has blocks for cannot be right.
  const most = Math.min(RECORD_LIMITS.groups, Math.ceil(disk.layout.blocks / GROUP_BLOCKS));
  for (let group = 0; group < RECORD_LIMITS.groups; group++) {
    const start = pointerAt(disk, block, GROUPS_AT + 2 * group, POINTER.none);
    if (start === POINTER.none) continue;
    if (group >= most || group > starts.length) {
      problem("upper-index", `its upper index names a group ${group}, which cannot be`, [block]);
      break;
    }
    starts.push(start);
  }
  const own = pointerAt(disk, block, 0, POINTER.none);
  if (starts[0] !== own)
    problem("upper-index", "its upper index links to another block than its own first group", [block]);
  if ((starts[0] ?? POINTER.none) < 0 && own >= 0) starts[0] = own;
  return starts;
}

interface GroupAsk {
  start: number;
  /** Where the group before links to, a second way in. */
  before: number;
  group: number;
  recordLength: number;
  /** First block of the next group, or `LINK.end`. */
  next: number;
}

/** Finds the index blocks of a group by every pointer to them, adds their pointers, and tells what disagrees. */
function readGroup(
  walk: Walk,
  ask: GroupAsk,
  index: RecordIndex,
  problem: (code: string, sentence: string, blocks: number[]) => void,
): (number | undefined)[] {
  const { disk } = walk;
  const { layout } = disk;
  const size = RECORD_LIMITS.indexBlocks;
  const table = (block: number, number: number): number => pointerAt(disk, block, TABLE_AT + 2 * number, POINTER.none);
  const marks = (block: number, number: number): number =>
    (byteAt(disk, block, 2) === number ? 1 : 0) +
    (byteAt(disk, block, 3) === ask.recordLength ? 1 : 0) +
    (table(block, number) === block ? 1 : 0);
  const ways: number[][] = Array.from({ length: size }, () => []);
  ways[0]!.push(ask.start);
  if (ask.before >= 0) ways[0]!.push(ask.before);
  const found: (number | undefined)[] = new Array(size).fill(undefined);
  for (let number = 0; number < size; number++) {
    if (found[number] !== undefined) continue;
    const block = ways[number]!.find(
      (each) =>
        each >= 0 &&
        walk.system[each] === 0 &&
        readable(disk, each) &&
        !found.includes(each) &&
        marks(each, number) >= 2,
    );
    if (block === undefined) continue;
    found[number] = block;
    for (let other = 0; other < size; other++) ways[other]!.push(table(block, other));
    const link = disk.next[block]!;
    if (number + 1 < size) ways[number + 1]!.push(link === LINK.end ? POINTER.none : link);
    // A block found late may know of earlier ones.
    number = -1;
  }
  // One wrong table entry must not add an index block: most of the ways to it have to name one.
  const named = ways.map((list) => list.filter((each) => each >= 0).length > list.filter((each) => each < 0).length);
  let count = 0;
  for (let number = 0; number < size; number++) if (found[number] !== undefined || named[number]) count = number + 1;
  const base = ask.group * GROUP_BLOCKS;
  for (let number = 0; number < count; number++) {
    const block = found[number];
    const from = base + number * RECORD_LIMITS.pointers;
    const title = `index block ${number}${index.marker >= 0 ? ` of group ${ask.group}` : ""}`;
    while (index.pointers.length < from) index.pointers.push(POINTER.hole);
    if (block === undefined) {
      for (let k = 0; k < RECORD_LIMITS.pointers; k++) index.pointers[from + k] = POINTER.hole;
      const hit = ways[number]!.filter((each) => each >= 0);
      problem("index-block", `its ${title} cannot be used`, [...new Set(hit)]);
      continue;
    }
    index.own.push(block);
    index.lengths.push(byteAt(disk, block, 3));
    let held = 0;
    for (let k = 0; k < RECORD_LIMITS.pointers; k++) {
      const pointer = pointerAt(disk, block, POINTERS_AT + 2 * k, POINTER.none);
      index.pointers[from + k] = pointer;
      if (pointer !== POINTER.none) held = k + 1;
    }
    if (byteAt(disk, block, 2) !== number)
      problem(
        "index-number",
        `its ${title}, at ${where(layout, block)}, says that it is number $${hex(byteAt(disk, block, 2), 2)}`,
        [block],
      );
    const others = found.findIndex(
      (each, other) => !(each === undefined && named[other]) && (each ?? POINTER.none) !== table(block, other),
    );
    if (others >= 0) problem("index-table", `the table in its ${title} is wrong about index block ${others}`, [block]);
    const next = found[number + 1];
    const link = disk.next[block]!;
    const ends = number + 1 >= count;
    if (next !== undefined ? link !== next : ends && link !== LINK.end && link !== ask.next)
      problem("index-link", `its ${title} does not link to the next one`, [block]);
    if (ends && link === LINK.end && ask.next === LINK.end) {
      index.lastValue = byteAt(disk, block, 1);
      index.lastPointers = held;
    }
  }
  return found;
}
