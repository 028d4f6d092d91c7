import { attributesOf, classify, datesOf, MOST_USER, nameOf } from "./directory.ts";
import { type Layout, placeOf } from "./layout.ts";
import { ENTRY, EXTENT_RECORDS, RECORD } from "./parameters.ts";

/** One directory entry of a file. */
export interface Extent {
  /** Where the entry is in the image. */
  at: number;
  /** Which stretch of the file it covers, in directory entries from the start of the file. */
  index: number;
  /** Records it counts, from the start of that stretch. */
  records: number;
  /** Records that are read: before the last entry of a file, all that its blocks hold. */
  content: number;
  /** All its block numbers, 0 where there is none. */
  pointers: readonly number[];
  /** Sector of the image that the entry is in. */
  sector: number;
}

/** A file as the directory tells it, before its blocks are looked at. */
export interface Found {
  user: number;
  deleted: boolean;
  nameBytes: Uint8Array;
  name: string;
  attributes: string[];
  dates: (readonly [label: string, value: string])[];
  /** Byte 13 of the first entry: free for the system's use, on some the bytes in the last record. */
  s1: number;
  /** In order of `index`, each once. */
  extents: Extent[];
  /** Further entries for a stretch that has one already. */
  doubles: Extent[];
  /** Entries that place records further into the file than a disk of this size makes likely. */
  far: Extent[];
}

export interface Directory {
  found: Found[];
  label: string;
  used: number;
  neverUsed: number;
  passwords: number;
  dated: boolean;
  /** Sectors of the image with an entry that can't be read, and how many such entries. */
  unreadable: number;
  unreadableSectors: number[];
  /** Entries that lie beyond the end of the image. */
  missing: number;
}

export const recordsOfEntry = (layout: Layout): number => (layout.parameters.exm + 1) * EXTENT_RECORDS;

/** Block numbers in use, the last one counted from 1. */
export const filled = (extent: Extent): number => {
  let last = extent.pointers.length;
  while (last > 0 && extent.pointers[last - 1] === 0) last--;
  return last;
};

/** The image's sector number for a sector of the data area. */
export const imageSector = (layout: Layout, logical: number): number => layout.startBlock + placeOf(layout, logical);

function pointersAt(image: Uint8Array, layout: Layout, at: number): number[] {
  const numbers: number[] = [];
  for (let i = 16; i < ENTRY; i += layout.pointerBytes)
    numbers.push(layout.pointerBytes === 1 ? image[at + i]! : image[at + i]! | (image[at + i + 1]! << 8));
  return numbers;
}

function extentAt(image: Uint8Array, layout: Layout, at: number, sector: number): Extent {
  const { exm } = layout.parameters;
  const extent = image[at + 14]! * 32 + image[at + 12]!;
  return {
    at,
    index: Math.floor(extent / (exm + 1)),
    records: (extent & exm) * EXTENT_RECORDS + image[at + 15]!,
    content: Math.min((extent & exm) * EXTENT_RECORDS + image[at + 15]!, recordsOfEntry(layout)),
    pointers: pointersAt(image, layout, at),
    sector,
  };
}

/** Reads the whole directory: each file with its entries put together, and what else the entries say. */
export function readDirectory(image: Uint8Array, layout: Layout): Directory {
  const directory: Directory = {
    found: [],
    label: "",
    used: 0,
    neverUsed: 0,
    passwords: 0,
    dated: false,
    unreadable: 0,
    unreadableSectors: [],
    missing: 0,
  };
  const byName = new Map<string, Found>();
  // Content can't grow out of proportion to the image, whatever extent number a damaged entry has.
  const farthest = (4 * image.length) / RECORD;
  const perSector = layout.sectorSize / ENTRY;
  const most = Math.min(layout.dataSectors, Math.ceil(image.length / layout.sectorSize));
  for (let slot = 0; slot < layout.entries; slot++) {
    const within = slot % perSector;
    const logical = (slot - within) / perSector;
    if (within === 0 && logical >= most) {
      directory.missing += layout.entries - slot;
      break;
    }
    const sector = imageSector(layout, logical);
    const at = layout.startByte + placeOf(layout, logical) * layout.sectorSize + within * ENTRY;
    if (at + ENTRY > image.length) {
      directory.missing++;
      continue;
    }
    const kind = classify(image, at);
    if (kind === "never used") {
      directory.neverUsed++;
      continue;
    }
    if (kind !== "deleted") directory.used++;
    if (kind === "password") directory.passwords++;
    else if (kind === "dates") directory.dated = true;
    else if (kind === "label") directory.label ||= nameOf(image.subarray(at + 1, at + 12));
    else if (kind === "unreadable") {
      directory.unreadable++;
      if (directory.unreadableSectors.at(-1) !== sector) directory.unreadableSectors.push(sector);
    } else addExtent(image, layout, byName, directory.found, extentAt(image, layout, at, sector), farthest);
  }
  for (const file of directory.found) {
    file.extents.sort((a, b) => a.index - b.index);
    for (const extent of file.extents.slice(0, -1)) {
      const held = Math.min(recordsOfEntry(layout), filled(extent) * layout.recordsPerBlock);
      extent.content = Math.max(extent.content, held);
    }
    // Attributes and dates are those of the first entry that the file has.
    const first = file.extents[0] ?? file.doubles[0] ?? file.far[0]!;
    file.nameBytes = image.slice(first.at + 1, first.at + 12);
    file.attributes = attributesOf(file.nameBytes);
    file.s1 = image[first.at + 13]!;
    const record = first.at - (first.at % RECORD);
    file.dates = datesOf(image, record, (first.at - record) / ENTRY);
  }
  return directory;
}

function addExtent(
  image: Uint8Array,
  layout: Layout,
  byName: Map<string, Found>,
  found: Found[],
  extent: Extent,
  farthest: number,
): void {
  const mark = image[extent.at]!;
  const deleted = mark > MOST_USER;
  const nameBytes = image.subarray(extent.at + 1, extent.at + 12);
  let key = String(mark);
  for (const byte of nameBytes) key += String.fromCharCode(byte & 0x7f);
  let file = byName.get(key);
  const taken = file?.extents.some((each) => each.index === extent.index) ?? false;
  // Two deleted files may well have had the same name; a live one can't.
  if (!file || (taken && deleted)) {
    const name = nameOf(nameBytes);
    const user = deleted ? -1 : mark;
    file = { user, deleted, nameBytes, name, attributes: [], dates: [], s1: 0, extents: [], doubles: [], far: [] };
    byName.set(key, file);
    found.push(file);
  }
  if (extent.index * recordsOfEntry(layout) + extent.records > farthest) file.far.push(extent);
  else if (taken) file.doubles.push(extent);
  else file.extents.push(extent);
}
