import type { Ending, FileData, Walk } from "./chains.ts";
import type { Slot } from "./directory.ts";
import { byteAt, LINK } from "./disk.ts";
import { DATA } from "./layout.ts";
import { POINTER, type RecordIndex, readIndex } from "./record-index.ts";

/** A record file: its data as index and data chain give them together, and where the two disagree. */
export interface RecordFile extends FileData {
  index: RecordIndex;
  recordLength: number;
  /** Places in the data where index and chain name different blocks. */
  disagree: number[];
  /** Places reached only by the index, because the chain broke off before them. */
  chainBroken: number[];
  /** Places reached only by the chain: the index names no block there, or one that cannot be. */
  notIndexed: number[];
}

/** Reads the data of a record file: the index's pointers and the data chain side by side, each filling the other's gaps. */
export function readRecordFile(walk: Walk, slot: Slot): RecordFile {
  const { disk, system, marks } = walk;
  const index = readIndex(walk, slot.recordIndex, slot.recordLength);
  const recordLength = chooseLength(slot, index);
  const mark = ++walk.mark;
  for (const block of index.own) marks[block] = mark;
  const file: RecordFile = {
    slot,
    positions: [],
    own: index.own,
    ending: "bad-link",
    lastValue: -1,
    index,
    recordLength,
    disagree: [],
    chainBroken: [],
    notIndexed: [],
  };
  const usable = (block: number): boolean => block >= 0 && system[block] === 0 && marks[block] !== mark;
  let byChain: number = slot.first < 0 ? LINK.bad : slot.first;
  // Every block is taken once, so that places with a block are bounded by the disk; the others by the index's end.
  for (let place = 0; ; place++) {
    const byIndex = index.pointers[place] ?? POINTER.none;
    const chainGood = usable(byChain);
    const indexGood = usable(byIndex);
    let block = -1;
    if (chainGood && indexGood) {
      block = byIndex;
      if (byChain !== byIndex) {
        file.disagree.push(place);
        if (chainIsBetter(walk, byChain, byIndex, index.pointers[place + 1])) block = byChain;
      }
    } else if (indexGood) {
      file.chainBroken.push(place);
      block = byIndex;
    } else if (chainGood) {
      if (byIndex !== POINTER.hole && index.end > 0) file.notIndexed.push(place);
      block = byChain;
    } else if (place >= index.end) {
      file.ending = endingOf(walk, byChain, mark);
      break;
    }
    file.positions.push(block);
    if (block >= 0) {
      marks[block] = mark;
      byChain = disk.next[block]!;
    } else byChain = LINK.bad;
  }
  const last = file.positions[file.positions.length - 1] ?? -1;
  if (last >= 0 && disk.next[last] === LINK.end) {
    file.ending = "end";
    file.lastValue = byteAt(disk, last, 1);
  }
  return file;
}

/** Of two different blocks the one that leads on to what the index names next, or that no other file uses. */
function chainIsBetter(walk: Walk, chained: number, indexed: number, after: number | undefined): boolean {
  const onward = after !== undefined && after >= 0 ? after : LINK.end;
  const leads = (block: number): boolean => walk.disk.next[block] === onward;
  if (leads(chained) !== leads(indexed)) return leads(chained);
  return walk.claims[indexed]! >= 0 && walk.claims[chained]! < 0;
}

function endingOf(walk: Walk, link: number, mark: number): Ending {
  if (link === LINK.end) return "end";
  if (link === LINK.unreadable) return "unreadable";
  if (link < 0) return "bad-link";
  return walk.marks[link] === mark ? "loop" : "system";
}

/** The directory's record length, unless it cannot be and the index blocks have one that can. */
function chooseLength(slot: Slot, index: RecordIndex): number {
  const possible = (length: number): boolean => length >= 1 && length <= 254;
  if (possible(slot.recordLength)) return slot.recordLength;
  return index.lengths.find(possible) ?? 0;
}

/** First and last number (from 1) of the records that touch the given places of the data; stretches ascend. */
export function recordsAt(
  places: readonly number[],
  recordLength: number,
  count: number,
): [from: number, to: number][] {
  const stretches: [number, number][] = [];
  for (const place of places) {
    const from = Math.floor((place * DATA) / recordLength) + 1;
    const to = Math.min(count, Math.ceil(((place + 1) * DATA) / recordLength));
    const before = stretches[stretches.length - 1];
    if (before && from <= before[1] + 1) before[1] = Math.max(before[1], to);
    else if (from <= to) stretches.push([from, to]);
  }
  return stretches;
}
