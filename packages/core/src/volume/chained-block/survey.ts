import { type FileData, followChain, type Walk } from "./chains.ts";
import { directoryBlocks, readSlots, type Slot, TYPE } from "./directory.ts";
import { type Disk, type LastByte, LINK, lastBlockBytes, readable } from "./disk.ts";
import { type LastByteReading, settleLastByte } from "./last-byte.ts";
import { DATA } from "./layout.ts";
import { type AllocationMap, readMap } from "./map.ts";
import { type RecordFile, readRecordFile } from "./record-file.ts";
import type { Report } from "./report.ts";

/** Everything found on a disk, before it is put in words. */
export interface Survey {
  disk: Disk;
  map: AllocationMap;
  slots: readonly Slot[];
  /** In the order of the slots. */
  files: readonly (FileData | RecordFile)[];
  walk: Walk;
  lastByte: LastByteReading;
  crossings: readonly Crossing[];
}

/** Blocks that two files claim: which claimed first, which came later. */
interface Crossing {
  first: number;
  later: number;
  blocks: number[];
}

export const isRecordFile = (file: FileData | RecordFile): file is RecordFile => "index" in file;

/** Follows every file of a disk: closed files first, for what they hold counts most; then open ones; then scratched ones. */
export function survey(disk: Disk, asked: LastByte | undefined, report: Report): Survey {
  const { layout } = disk;
  const map = readMap(disk, report);
  const directory = directoryBlocks(disk, report);
  const slots = readSlots(disk, directory);
  const walk: Walk = {
    disk,
    system: new Uint8Array(layout.blocks),
    claims: new Int32Array(layout.blocks).fill(-1),
    marks: new Int32Array(layout.blocks),
    mark: 0,
  };
  walk.system[layout.headerBlock] = 1;
  for (const { block } of layout.mapBlocks) walk.system[block] = 1;
  for (const block of directory) walk.system[block] = 1;

  const files = new Array<FileData | RecordFile>(slots.length);
  const crossings = new Map<number, Crossing>();
  const claim = (blocks: readonly number[], owner: number): void => {
    let crossing: Crossing | undefined;
    for (const block of blocks) {
      if (block < 0) continue;
      const first = walk.claims[block]!;
      if (first < 0) walk.claims[block] = owner;
      if (first < 0 || first === owner) continue;
      if (crossing?.first !== first) {
        const pair = first * slots.length + owner;
        crossing = crossings.get(pair) ?? { first, later: owner, blocks: [] };
        crossings.set(pair, crossing);
      }
      crossing.blocks.push(block);
    }
  };
  const order = slots.map((_, i) => i).sort((a, b) => turn(slots[a]!) - turn(slots[b]!) || a - b);
  for (const i of order) {
    const slot = slots[i]!;
    const file = follow(walk, slot);
    files[i] = file;
    if (slot.deleted) continue;
    claim(file.positions, i);
    claim(file.own, i);
  }
  return { disk, map, slots, files, walk, crossings: [...crossings.values()], lastByte: settleLastByte(files, asked) };
}

/** Sequential files before record files, so that a record file in doubt can see which blocks are another's. */
const turn = (slot: Slot): number => (slot.deleted ? 4 : (slot.closed ? 0 : 2) + (slot.type === TYPE.records ? 1 : 0));

function follow(walk: Walk, slot: Slot): FileData | RecordFile {
  if (slot.type === TYPE.records) return pad(walk, readRecordFile(walk, slot));
  if (slot.first < 0) {
    const ending = slot.firstAbsent && slot.statedBlocks === 0 ? "end" : "bad-link";
    return pad(walk, { slot, positions: [], own: [], ending, lastValue: -1 });
  }
  const { blocks, ending } = followChain(walk, slot.first, slot.deleted || !slot.closed);
  const lastValue = ending === "end" ? walk.disk.image[blocks[blocks.length - 1]! * (DATA + 2) + 1]! : -1;
  return pad(walk, { slot, positions: blocks, own: [], ending, lastValue });
}

/** Where a chain broke off, the places that the directory's count says are missing follow as -1. */
function pad<File extends FileData>(walk: Walk, file: File): File {
  if (file.ending === "end") return file;
  const stated = Math.min(file.slot.statedBlocks, walk.disk.layout.blocks) - file.own.length;
  while (file.positions.length < stated) file.positions.push(-1);
  return file;
}

/** Whether the bytes at a place of a file can be had. */
export const reached = (disk: Disk, block: number): boolean => block >= 0 && readable(disk, block);

/** Length of a file's data in bytes. */
export function sizeOf(disk: Disk, file: FileData, reading: LastByte): number {
  const { positions } = file;
  if (positions.length === 0) return 0;
  return (positions.length - 1) * DATA + bytesOfLast(disk, file, reading);
}

const bytesOfLast = (disk: Disk, file: FileData, reading: LastByte): number => {
  const last = file.positions[file.positions.length - 1]!;
  return last >= 0 && disk.next[last] === LINK.end && file.lastValue >= 0
    ? lastBlockBytes(file.lastValue, reading)
    : DATA;
};
