import { directoryBlocks } from "./chained-block/directory.ts";
import { byteAt, type Disk, LINK, openDisk, readable } from "./chained-block/disk.ts";
import { BLOCK, layoutOf, SLOT, trackOf } from "./chained-block/layout.ts";
import { entryOffset, mapLinkAfter, STATE } from "./chained-block/map.ts";
import type { ChainedBlockOptions } from "./chained-block/open.ts";
import { startReport } from "./chained-block/report.ts";
import { isRecordFile, reached, type Survey, survey as surveyDisk } from "./chained-block/survey.ts";
import { ownersOf } from "./chained-block/tell-blocks.ts";
import { counted, type Edit, freeBlocks, type Mender, u16le } from "./mend-types.ts";
import { OWNER } from "./types.ts";

const look = (image: Uint8Array, options: ChainedBlockOptions): Survey =>
  surveyDisk(openDisk(image, layoutOf(options.layout), options.errorBytes), options.lastByte, startReport());

/** Track and sector of a block, as a link names it. */
const placeOf = ({ layout }: Disk, block: number): number[] => {
  const track = trackOf(layout, block);
  return [track, block - layout.firstBlock[track]!];
};

const slotAt = ({ slot }: Survey["files"][number]): number => slot.block * BLOCK + 2 + slot.index * SLOT;

/** Format byte and link of the header, heads and links of the map blocks: they have fixed values. */
function fixed(image: Uint8Array, options: ChainedBlockOptions): Edit[] {
  const disk = openDisk(image, layoutOf(options.layout), options.errorBytes);
  const { layout } = disk;
  const edits: Edit[] = [];
  const header = layout.headerBlock;
  if (!layout.formatBytes.includes(byteAt(disk, header, 2)))
    edits.push({
      code: "format-byte",
      sentence: "The header's format byte was written anew.",
      files: [],
      writes: [[header * BLOCK + 2, [layout.formatBytes[0]!]]],
    });
  const after = layout.mapEntry === 4 ? layout.directoryBlock : layout.mapBlocks[0]!.block;
  if (disk.next[header] !== after)
    edits.push({
      code: "header-link",
      sentence: "The header's link was written anew.",
      files: [],
      writes: [[header * BLOCK, placeOf(disk, after)]],
    });
  if (layout.mapEntry === 5)
    layout.mapBlocks.forEach((kept, index) => {
      if (!readable(disk, kept.block)) return;
      const at = kept.block * BLOCK;
      const next = disk.next[kept.block];
      const last = index + 1 === layout.mapBlocks.length;
      if (next !== mapLinkAfter(layout, index) && !(last && next === LINK.end))
        edits.push({
          code: "map-link",
          sentence: `The link of the map block of tracks ${kept.from} to ${kept.to - 1} was written anew.`,
          files: [],
          writes: [[at, placeOf(disk, mapLinkAfter(layout, index))]],
        });
      if (byteAt(disk, kept.block, 4) !== kept.from || byteAt(disk, kept.block, 5) !== kept.to)
        edits.push({
          code: "map-range",
          sentence: `The map block of tracks ${kept.from} to ${kept.to - 1} says so again.`,
          files: [],
          writes: [[at + 4, [kept.from, kept.to]]],
        });
    });
  return edits;
}

/** The directory's blocks in one chain that ends. */
function directory(image: Uint8Array, options: ChainedBlockOptions): Edit[] {
  const disk = openDisk(image, layoutOf(options.layout), options.errorBytes);
  const report = startReport();
  const blocks = directoryBlocks(disk, report);
  if (report.damages.length === 0) return [];
  return [
    {
      code: "directory-chain",
      sentence: `The ${counted(blocks.length, "block")} of the directory were linked anew, those found by their looks included; look whether entries came back that were gone on purpose.`,
      files: [],
      loss: true,
      writes: blocks.map((block, i) => [
        block * BLOCK,
        blocks[i + 1] === undefined ? [0, 0xff] : placeOf(disk, blocks[i + 1]!),
      ]),
    },
  ];
}

/** Broken chains of plain files end at their last good block; where that was full, no byte of it is lost. */
function ends(image: Uint8Array, options: ChainedBlockOptions): Edit[] {
  const survey = look(image, options);
  const { disk } = survey;
  const edits: Edit[] = [];
  for (const file of survey.files) {
    const { slot, positions, ending } = file;
    if (slot.deleted || !slot.closed || isRecordFile(file) || ending === "end") continue;
    const good = positions.findIndex((block) => !reached(disk, block));
    const count = good < 0 ? positions.length : good;
    if (count === 0 || positions.slice(count).some((block) => reached(disk, block))) continue;
    const last = positions[count - 1]!;
    edits.push({
      code: "chain-end",
      sentence: `The chain of “${slot.path}” was ended at its last readable block, the ${count}${count % 10 === 1 && count % 100 !== 11 ? "st" : count % 10 === 2 && count % 100 !== 12 ? "nd" : count % 10 === 3 && count % 100 !== 13 ? "rd" : "th"}.`,
      files: [slot.path],
      loss: true,
      writes: [[last * BLOCK, [0, 0xff]]],
    });
  }
  return edits;
}

/** Of two plain files that run into each other, one gets copies of the shared blocks. */
function crossings(image: Uint8Array, options: ChainedBlockOptions): Edit[] {
  const survey = look(image, options);
  const { disk, files } = survey;
  if (survey.crossings.length === 0) return [];
  const owners = ownersOf(survey);
  const take = freeBlocks(
    owners.length,
    (block) => owners[block] === OWNER.free && block < disk.present && !isOnDirectoryTrack(disk, block),
    files.filter((file) => file.slot.deleted).map((file) => file.positions),
  );
  const moved = new Set<number>();
  const edits: Edit[] = [];
  for (const { first, later, blocks } of survey.crossings) {
    const which = isRecordFile(files[later]!) ? (isRecordFile(files[first]!) ? undefined : first) : later;
    if (which === undefined || moved.has(which)) continue;
    const file = files[which]!;
    const { positions, slot } = file;
    const from = positions.findIndex((block) => blocks.includes(block));
    if (from < 0 || file.ending !== "end" || !slot.closed || positions.some((block) => !reached(disk, block))) continue;
    const tail = positions.slice(from);
    const own = tail.map(() => take());
    if (own.some((block) => block === undefined)) continue;
    moved.add(which);
    const fresh = own as number[];
    const to = placeOf(disk, fresh[0]!);
    edits.push({
      code: "crossed-chain",
      sentence: `“${slot.path}” got ${counted(fresh.length, "block")} of its own, with copies of those shared with “${files[which === first ? later : first]!.slot.path}”; look which is right.`,
      files: [slot.path],
      writes: [
        ...tail.map((block, i) => {
          const copy = image.slice(block * BLOCK, (block + 1) * BLOCK);
          const next = fresh[i + 1];
          if (next !== undefined) copy.set(placeOf(disk, next));
          return [fresh[i]! * BLOCK, copy] as const;
        }),
        from === 0 ? [slotAt(file) + 1, to] : [positions[from - 1]! * BLOCK, to],
      ],
    });
  }
  return edits;
}

const isOnDirectoryTrack = ({ layout }: Disk, block: number): boolean =>
  trackOf(layout, block) === layout.directoryTrack;

/** Block counts in the directory. */
function counts(image: Uint8Array, options: ChainedBlockOptions): Edit[] {
  const survey = look(image, options);
  const crossed = new Set(survey.crossings.flatMap(({ first, later }) => [first, later]));
  const edits: Edit[] = [];
  survey.files.forEach((file, i) => {
    const { slot, positions, own, ending } = file;
    const found = positions.length + own.length;
    if (slot.deleted || !slot.closed || ending !== "end" || crossed.has(i) || slot.statedBlocks === found) return;
    edits.push({
      code: "block-count",
      sentence: `The block count of “${slot.path}” was set to ${found}.`,
      files: [slot.path],
      writes: [[slotAt(file) + 28, u16le(found)]],
    });
  });
  return edits;
}

/** The allocation map, from what directory and files use. Lost blocks are freed where they hold one byte value behind their link. */
function map(image: Uint8Array, options: ChainedBlockOptions): Edit[] {
  const survey = look(image, options);
  const { disk, map: old } = survey;
  const { layout } = disk;
  const owners = ownersOf(survey);
  const open = new Set(
    survey.files.filter((file) => !file.slot.deleted && !file.slot.closed).flatMap((file) => file.positions),
  );
  let freed = 0;
  const isFree = (block: number): boolean => {
    const owner = owners[block]!;
    if (owner === OWNER.free) return true;
    if (owner === OWNER.bad) return old.states[block] === STATE.free;
    if (owner !== OWNER.lost || open.has(block)) return false;
    const at = block * BLOCK;
    for (let i = 3; i < BLOCK; i++) if (image[at + i] !== image[at + 2]) return false;
    freed++;
    return true;
  };
  const writes: [number, number[]][] = [];
  for (const kept of layout.mapBlocks) {
    if (kept.block >= disk.present) continue;
    for (let track = kept.from; track < kept.to; track++) {
      const at = entryOffset(layout, kept, track);
      const entry = new Array<number>(layout.mapEntry).fill(0);
      for (let sector = 0; sector < layout.sectors[track]!; sector++)
        if (isFree(layout.firstBlock[track]! + sector)) {
          entry[0]!++;
          entry[1 + (sector >> 3)]! |= 1 << (sector & 7);
        }
      if (entry.some((byte, i) => image[at + i] !== byte)) writes.push([at, entry]);
    }
  }
  if (writes.length === 0) return [];
  return [
    {
      code: "map",
      sentence: `The allocation map of ${counted(writes.length, "track")} was written anew from what the files use${freed > 0 ? `; ${counted(freed, "block")} that no file uses and that hold nothing were freed` : ""}.`,
      files: [],
      writes,
    },
  ];
}

export const mendChainedBlock: Mender<ChainedBlockOptions> = {
  kind: "chained-block",
  steps: [fixed, directory, ends, crossings, counts, map],
};
