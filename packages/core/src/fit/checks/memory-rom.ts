import type { BenchRegion } from "../../bench/index.ts";
import { type MemoryMap, memoryMapOf } from "../../memory/index.ts";
import { formatNumber } from "../../quantity/index.ts";
import { type Check, imageFigure, type Outcome, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** Bytes from a region's first to the end of the chips that it is in. */
function roomFor(region: BenchRegion, map: MemoryMap): number {
  const seat = map.seatOf(region.name);
  const memory = region.chip?.memory;
  const chips = memory ? (memory.words * memory.bits * Math.max(1, region.places?.length ?? 1)) / 8 : 0;
  return Math.max(seat?.part.bytes ?? 0, chips) - (seat?.offset ?? 0);
}

const bytes = (count: number) => `${formatNumber(count, 16)} bytes`;

export const memoryRom: Check = {
  id: "memory-rom",
  link: "memory",
  title: "ROM images and their places",
  about:
    "A ROM image fills its region from the first byte on. One with fewer bytes is cut short, or belongs elsewhere; one with more goes on in the same chip, as far as that has room.",
  formula: "bytes of the region ≤ bytes of the image ≤ bytes of the chip from there on",
  sources: [RULES.arithmetic],
  run({ bench, roms = [] }) {
    const map = memoryMapOf(bench);
    return roms.flatMap((rom): Outcome[] => {
      const region = bench.computer?.regions.find((each) => each.name === rom.region);
      if (!region || !map) return [];
      const shared = { about: region.name, at: `${region.path}.file` };
      if (rom.problem !== undefined)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: rom.problem,
            remedy: "Put the ROM image where the bench file says, or correct the name.",
          },
        ];
      const size = region.to - region.from + 1;
      const room = roomFor(region, map);
      const known = {
        ...shared,
        figures: [
          imageFigure("size of the image", bytes(rom.size), rom.file),
          worked(`size of ${region.name}`, bytes(size)),
          worked("room in the chip from there on", bytes(room)),
        ],
        result: `${formatNumber(rom.size, 16)} of ${bytes(size)}`,
      };
      if (rom.size < size)
        return [
          {
            ...known,
            verdict: "stops",
            sentence: `${rom.file} has ${bytes(rom.size)}, and ${region.name} ${bytes(size)}: ${bytes(size - rom.size)} are missing.`,
            remedy: "Look for a complete copy, or correct the region's size.",
          },
        ];
      if (rom.size > room)
        return [
          {
            ...known,
            verdict: "tight",
            sentence: `${rom.file} has ${bytes(rom.size - room)} more than there is room for from the start of ${region.name}.`,
            remedy:
              "See whether it is the image of this chip, and begins at its start; correct the region's size or `offset`.",
          },
        ];
      return [
        {
          ...known,
          verdict: "runs",
          sentence:
            rom.size === size
              ? `${rom.file} has just the ${bytes(size)} of ${region.name}.`
              : `${rom.file} fills the ${bytes(size)} of ${region.name} and goes on in the same chip.`,
        },
      ];
    });
  },
};
