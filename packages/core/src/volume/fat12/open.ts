import { hex, plainText } from "../../bytes/index.ts";
import { mapBlocks } from "../../geometry/index.ts";
import { type Condition, type Content, type Entry, MOST_BLOCKS_TOLD, type Volume } from "../types.ts";
import { Damages, worse } from "./damages.ts";
import { type Fat12Options, geometryOf, type Layout, layOut, layoutFor, readDescriptor } from "./layout.ts";
import { formatInWords, sameAreas } from "./recognise.ts";
import { BAD, differingSectors, FREE, fatBytes, readFat, usedBytes } from "./table.ts";
import { entriesOf, labelOf, ownersOf, tellTrace } from "./tell.ts";
import { type Trace, trace } from "./trace.ts";

/** Differing sectors that are weighed one by one (no standard FAT has more); beyond that one copy is taken whole. */
const MOST_WEIGHED = 12;

interface ChosenFat {
  fat: Uint16Array;
  found: Trace;
  /** Sectors in which the copies differ, and those of them read from the second copy. */
  differ: number[];
  second: number[];
}

/** Reads the FAT, from the copy that fits the directories better wherever the two differ. */
export function chooseFat(image: Uint8Array, layout: Layout): ChosenFat {
  const bytes = fatBytes(image, layout, 0);
  let fat = readFat(bytes, layout);
  let found = trace(image, layout, fat);
  if (layout.fats === 1) return { fat, found, differ: [], second: [] };
  const other = fatBytes(image, layout, 1);
  const differ = differingSectors(bytes, other, layout.sectorSize);
  if (differ.length === 0) return { fat, found, differ, second: [] };

  let second: number[] = [];
  const attempt = (sectors: number[]): void => {
    if (found.amiss === 0) return;
    const mixed = bytes.slice();
    for (const sector of sectors) {
      const at = sector * layout.sectorSize;
      mixed.set(other.subarray(at, at + layout.sectorSize), at);
    }
    const tried = readFat(mixed, layout);
    const met = trace(image, layout, tried);
    if (met.amiss < found.amiss) [fat, found, second] = [tried, met, sectors];
  };
  attempt(differ);
  if (differ.length > 1 && differ.length <= MOST_WEIGHED)
    for (const sector of differ)
      attempt(second.includes(sector) ? second.filter((each) => each !== sector) : [...second, sector]);
  return { fat, found, differ, second };
}

/** What the files lose where the image ends before the volume does. */
function tellEnd(image: Uint8Array, layout: Layout, entries: readonly Entry[], damages: Damages): void {
  const bytes = layout.sectors * layout.sectorSize;
  if (image.length >= bytes) return;
  const from = Math.floor(image.length / layout.sectorSize);
  const cut = entries.filter(
    ({ deleted, condition, blocks }) => !deleted && condition !== "whole" && blocks.some((block) => block >= from),
  );
  damages.add(
    "short-image",
    cut.reduce<Condition>((worst, { condition }) => worse(worst, condition), "whole"),
    `The image ends after ${image.length} bytes, where the volume has ${bytes}; ${cut.length === 0 ? "no file lies there" : `${cut.length} of the files and folders reach past that`}.`,
    Array.from({ length: Math.min(MOST_BLOCKS_TOLD, layout.sectors - from) }, (_, index) => from + index),
    cut.map(({ path }) => path),
    "Read the disk again; what lies past the end cannot be had from this image.",
    layout.sectors - from,
  );
}

/** Damage of the areas before the files. */
function tellAreas(image: Uint8Array, layout: Layout, chosen: ChosenFat, damages: Damages): void {
  const { differ, second } = chosen;
  const fatSector = (copy: number, sector: number): number => layout.reserved + copy * layout.sectorsPerFat + sector;
  if (differ.length > 0)
    damages.add(
      "fat-copies-differ",
      "whole",
      `The two copies of the FAT differ in ${differ.length} of their sectors; ${
        second.length === 0
          ? "the first copy fits the directories no worse, and was used"
          : second.length === differ.length
            ? "the second copy fits the directories better there, and was used"
            : `the second copy was used in ${second.length} of them, where it fits the directories better`
      }.`,
      differ.flatMap((sector) => [fatSector(0, sector), fatSector(1, sector)]),
      [],
      "Write the copy that was used over the other.",
    );
  if (layout.sectorsPerFat * layout.sectorSize < usedBytes(layout))
    damages.add(
      "fat-too-small",
      "whole",
      `The FAT is too small to number ${layout.clusters} clusters; those past its end are read as free.`,
      [0],
      [],
      "Correct the count of sectors or of sectors a FAT in the descriptor.",
    );
  const head = fatBytes(image, layout, second.includes(0) ? 1 : 0);
  if (head[0] !== layout.media || ((head[1] ?? 0) & 0x0f) !== 0x0f || (chosen.fat[1] ?? 0) < 0xff8)
    damages.add(
      "fat-head",
      "whole",
      `The FAT begins with ${[0, 1, 2].map((i) => hex(head[i] ?? 0, 2)).join(" ")}, where the media byte ${hex(layout.media, 2)} asks for ${hex(layout.media, 2)} FF FF.`,
      [fatSector(second.includes(0) ? 1 : 0, 0)],
      [],
      "Write the media byte and ones at the start of both FATs.",
    );
  if (layout.by === "media byte") {
    const stated = readDescriptor(image);
    const usable = stated !== undefined && typeof layOut(stated) !== "string";
    const began = stated?.sectorSize === layout.sectorSize && stated.sectors === layout.sectors;
    if (usable ? !sameAreas(stated, layout) : began || needsDescriptor(layout))
      damages.add(
        "no-descriptor",
        "whole",
        `Sector 0 holds ${usable ? "a descriptor that does not fit what is on the disk" : "no usable descriptor"}; the layout follows from media byte and length.`,
        [0],
        [],
        "Write the descriptor of this format into sector 0.",
      );
  }
}

/** The formats of 160 to 360 K were in use before there was a descriptor, and the 8-inch ones never had to have it. */
const needsDescriptor = (layout: Layout): boolean => layout.sectorSize === 512 && layout.sectors > 720;

function factsOf(
  image: Uint8Array,
  layout: Layout,
  chosen: ChosenFat,
  free: number,
  guessed: boolean,
): [string, string][] {
  const { fat, found } = chosen;
  let bad = 0;
  for (let cluster = 2; cluster < fat.length; cluster++) if (fat[cluster] === BAD) bad++;
  const facts: [string, string][] = [
    ["Layout found by", layout.by],
    ["Media byte", hex(layout.media, 2)],
    ["Sectors", `${layout.sectors} of ${layout.sectorSize} bytes`],
    [
      "Clusters",
      `${layout.clusters} of ${layout.sectorsPerCluster} ${layout.sectorsPerCluster === 1 ? "sector" : "sectors"}`,
    ],
    ["Free clusters", String(free)],
    ["Bad clusters", String(bad)],
    ["FATs", `${layout.fats} of ${layout.sectorsPerFat} ${layout.sectorsPerFat === 1 ? "sector" : "sectors"}`],
    [
      "Root directory",
      `room for ${layout.rootEntries} entries, ${found.slots.filter((slot) => slot.folder < 0 && !slot.deleted).length} in use`,
    ],
  ];
  if (guessed) facts.push(["Tracks and sides", "not stated; drawn with 9 sectors a track"]);
  if (layout.by === "descriptor") {
    const system = plainText(image.subarray(3, 11)).trimEnd();
    if (system) facts.push(["Written by", system]);
    if (image[0x26] === 0x29)
      facts.push([
        "Serial number",
        [0x2a, 0x29, 0x28, 0x27]
          .map((at) => hex(image[at]!, 2))
          .join("")
          .replace(/^.{4}/, "$&-"),
      ]);
  }
  const past = Math.floor(image.length / layout.sectorSize) - layout.sectors;
  if (past > 0) facts.push(["Past the volume's end", `${past} sectors`]);
  return facts;
}

/** As much of an entry as the image holds; zero bytes where it holds nothing. */
function readEntry(image: Uint8Array, layout: Layout, entry: Entry): Content {
  const { sectorSize } = layout;
  // A stated size can be absurd; no file is larger than all clusters.
  const size = Math.min(entry.size, layout.clusters * layout.clusterBytes);
  const bytes = new Uint8Array(size);
  const missing: { offset: number; length: number }[] = [];
  const miss = (offset: number, length: number): void => {
    if (length === 0) return;
    const last = missing[missing.length - 1];
    if (last && last.offset + last.length === offset) last.length += length;
    else missing.push({ offset, length });
  };
  const { blocks } = entry;
  let at = 0;
  for (let i = 0; i < blocks.length && at < size; ) {
    let next = i + 1;
    while (next < blocks.length && blocks[next] === blocks[next - 1]! + 1) next++;
    const want = Math.min((next - i) * sectorSize, size - at);
    const from = blocks[i]! * sectorSize;
    const have = Math.max(0, Math.min(want, image.length - from));
    if (have > 0) bytes.set(image.subarray(from, from + have), at);
    miss(at + have, want - have);
    at += want;
    i = next;
  }
  miss(at, size - at);
  const nothing = size > 0 && missing.reduce((sum, each) => sum + each.length, 0) === size;
  const condition: Condition = nothing
    ? "lost"
    : missing.length > 0
      ? worse(entry.condition, "readable with loss")
      : entry.condition;
  return { bytes, condition, missing };
}

/** Opens an image with the layout that `options` give. Throws `FormatError` only where it cannot be a FAT12 volume. */
export function open(image: Uint8Array, options: Fat12Options): Volume {
  const layout = layoutFor(image, options);
  const chosen = chooseFat(image, layout);
  const damages = new Damages();
  tellAreas(image, layout, chosen, damages);
  const entries = entriesOf(image, layout, chosen.found, damages);
  tellEnd(image, layout, entries, damages);
  tellTrace(image, layout, chosen.found, entries, damages);
  let free = 0;
  for (let cluster = 2; cluster < chosen.fat.length; cluster++) if (chosen.fat[cluster] === FREE) free++;
  const { geometry, guessed } = geometryOf(layout, image.length);
  const told = damages.list();
  const live = entries.filter((entry) => !entry.deleted);
  const loss = told.some((damage) => damage.condition !== "whole") || live.some((entry) => entry.condition !== "whole");
  const allLost = live.length > 0 && live.every((entry) => entry.condition === "lost");
  return {
    kind: "fat12",
    format: formatInWords(layout),
    label: labelOf(image, chosen.found, layout.by === "descriptor"),
    geometry,
    freeBlocks: free * layout.sectorsPerCluster,
    facts: factsOf(image, layout, chosen, free, guessed),
    entries,
    owners: ownersOf(layout, chosen.found, chosen.fat, mapBlocks(geometry).blocks),
    damages: told,
    condition: allLost ? "lost" : loss ? "readable with loss" : "whole",
    read: (entry) => readEntry(image, layout, entry),
  };
}
