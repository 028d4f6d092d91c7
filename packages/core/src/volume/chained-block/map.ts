import { byteAt, type Disk, LINK, readable } from "./disk.ts";
import { BLOCK, type Layout, type MapBlock } from "./layout.ts";
import { counted, inWords, type Report } from "./report.ts";

/** What the allocation map says of a block. */
export const STATE = { used: 0, free: 1, unknown: 2 } as const;

export interface AllocationMap {
  /** One of `STATE` for each block. */
  states: Uint8Array;
  /** Sum of the free counts outside the directory's track; null where a map block cannot be read. */
  free: number | null;
  /** The same counted from the bit maps. */
  freeBits: number;
}

/** Offset in the image of a track's entry in the map: its free count, then its bit map from sector 0 in bit 0. */
export const entryOffset = (layout: Layout, kept: MapBlock, track: number): number =>
  kept.block * BLOCK + kept.at + (track - kept.from) * layout.mapEntry;

/** Where a map block's link leads on an undamaged volume of the 77-track kinds (from memory). */
export const mapLinkAfter = (layout: Layout, index: number): number =>
  layout.mapBlocks[index + 1]?.block ?? layout.directoryBlock;

/** Reads the allocation map and tells where its counts and bits do not agree. */
export function readMap(disk: Disk, report: Report): AllocationMap {
  const { image, layout } = disk;
  const states = new Uint8Array(layout.blocks).fill(STATE.unknown);
  let free = 0;
  let freeBits = 0;
  let whole = true;
  const wrongCounts: { track: number; stated: number; found: number }[] = [];
  const extraBits: number[] = [];
  const bitBytes = layout.mapEntry - 1;
  layout.mapBlocks.forEach((kept, index) => {
    if (!readable(disk, kept.block)) {
      whole = false;
      report.add({
        code: "map-unreadable",
        condition: "whole",
        sentence: `The allocation map of tracks ${kept.from} to ${kept.to - 1} cannot be read.`,
        blocks: [kept.block],
        repair: "Build the map anew from the blocks that the directory's files use.",
      });
      return;
    }
    for (let track = kept.from; track < kept.to; track++) {
      const at = entryOffset(layout, kept, track);
      const stated = image[at]!;
      const sectors = layout.sectors[track]!;
      const first = layout.firstBlock[track]!;
      let found = 0;
      for (let byte = 0; byte < bitBytes; byte++) {
        const bits = image[at + 1 + byte]!;
        for (let bit = 0, sector = byte * 8; bit < 8; bit++, sector++) {
          const value = (bits >> bit) & 1;
          if (sector < sectors) {
            states[first + sector] = value;
            found += value;
          } else if (value === 1 && extraBits[extraBits.length - 1] !== track) extraBits.push(track);
        }
      }
      if (stated !== found) wrongCounts.push({ track, stated, found });
      if (track !== layout.directoryTrack) {
        free += stated;
        freeBits += found;
      }
    }
    if (layout.mapEntry === 5) checkMapHead(disk, kept, index, report);
  });
  if (wrongCounts.length > 0) {
    const { track, stated, found } = wrongCounts[0]!;
    const rest = wrongCounts.length > 1 ? `, and ${counted(wrongCounts.length - 1, "more track")} likewise` : "";
    report.add({
      code: "map-count",
      condition: "whole",
      sentence: `The map counts ${counted(stated, "free block")} on track ${track}, where its bits show ${found}${rest}.`,
      blocks: mapBlocksOf(
        layout,
        wrongCounts.map((each) => each.track),
      ),
      repair: "Set each track's free count to the number of its free bits.",
    });
  }
  if (extraBits.length > 0)
    report.add({
      code: "map-bits",
      condition: "whole",
      sentence: `The map shows free sectors that do not exist, on ${extraBits.length === 1 ? "track" : "tracks"} ${inWords(extraBits.map((track) => [track, track]))}.`,
      blocks: mapBlocksOf(layout, extraBits),
      repair: "Clear the bits past the last sector of each track.",
    });
  return { states, free: whole ? free : null, freeBits };
}

const mapBlocksOf = (layout: Layout, tracks: readonly number[]): number[] =>
  layout.mapBlocks
    .filter((kept) => tracks.some((track) => track >= kept.from && track < kept.to))
    .map((kept) => kept.block);

/** The 77-track kinds chain their map blocks and write the tracks that each keeps. */
function checkMapHead(disk: Disk, kept: MapBlock, index: number, report: Report): void {
  const from = byteAt(disk, kept.block, 4);
  const to = byteAt(disk, kept.block, 5);
  if (from !== kept.from || to !== kept.to)
    report.add({
      code: "map-range",
      condition: "whole",
      sentence: `The map block of tracks ${kept.from} to ${kept.to - 1} says that it keeps tracks ${from} to ${to - 1}.`,
      blocks: [kept.block],
      repair: `Set its bytes 4 and 5 to ${kept.from} and ${kept.to}.`,
    });
  const last = index + 1 === disk.layout.mapBlocks.length;
  const next = disk.next[kept.block];
  // That the last one links on to the directory is from memory, so an end is taken as well.
  if (next !== mapLinkAfter(disk.layout, index) && !(last && next === LINK.end))
    report.add({
      code: "map-link",
      condition: "whole",
      sentence: `The map block of tracks ${kept.from} to ${kept.to - 1} does not link to ${last ? "the directory" : "the next map block"}.`,
      blocks: [kept.block],
      repair: "Write the link anew; the map was read from its fixed places.",
    });
}
