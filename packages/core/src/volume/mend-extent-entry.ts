import { classify, FILL } from "./extent-entry/directory.ts";
import { type Extent, type Found, filled, readDirectory } from "./extent-entry/files.ts";
import { type ExtentEntryOptions, type Layout, layoutOf, placeOf } from "./extent-entry/layout.ts";
import { ENTRY, EXTENT_RECORDS } from "./extent-entry/parameters.ts";
import { counted, type Edit, freeBlocks, type Mender, u16le } from "./mend-types.ts";

const pathOf = ({ user, name }: Found): string => (user > 0 ? `user-${user}/${name}` : name);

const liveFiles = (image: Uint8Array, layout: Layout): { live: Found[]; deleted: Found[] } => {
  const { found } = readDirectory(image, layout);
  return { live: found.filter((each) => !each.deleted), deleted: found.filter((each) => each.deleted) };
};

const pointerBytes = (layout: Layout, at: number, place: number, block: number): [number, number[]] => [
  at + 16 + place * layout.pointerBytes,
  layout.pointerBytes === 1 ? [block] : u16le(block),
];

const inFiles = (layout: Layout, block: number): boolean => block >= layout.directoryBlocks && block < layout.blocks;

/** The stretch of the image of each sector of a block. */
const stretches = (layout: Layout, block: number): [from: number, to: number][] =>
  Array.from({ length: layout.sectorsPerBlock }, (_, i) => {
    const at = layout.startByte + placeOf(layout, block * layout.sectorsPerBlock + i) * layout.sectorSize;
    return [at, at + layout.sectorSize];
  });

/** A block that two files claim, or one twice, is copied for all but the first. */
function crossings(image: Uint8Array, options: ExtentEntryOptions): Edit[] {
  const layout = layoutOf(options);
  const { live, deleted } = liveFiles(image, layout);
  const owner = new Int32Array(layout.blocks).fill(-1);
  const wanted: { file: number; extent: Extent; place: number; block: number; other: number }[] = [];
  live.forEach((file, index) => {
    for (const extent of file.extents)
      extent.pointers.forEach((block, place) => {
        if (block === 0 || !inFiles(layout, block)) return;
        if (owner[block] === -1) owner[block] = index;
        else wanted.push({ file: index, extent, place, block, other: owner[block]! });
      });
    for (const each of [...file.doubles, ...file.far])
      for (const block of each.pointers) if (inFiles(layout, block) && owner[block] === -1) owner[block] = index;
  });
  const take = freeBlocks(
    layout.blocks,
    (block) => inFiles(layout, block) && owner[block] === -1,
    deleted.map((file) => file.extents.flatMap((extent) => extent.pointers)),
  );
  const edits: Edit[] = [];
  for (const { file, extent, place, block, other } of wanted) {
    const own = take();
    if (own === undefined) break;
    const to = stretches(layout, own);
    const path = pathOf(live[file]!);
    edits.push({
      code: "block-claimed-twice",
      sentence: `${path} got block ${own} of its own, with the bytes of block ${block} that ${other === file ? "it claims twice" : `it shared with ${pathOf(live[other]!)}`}; look which is right.`,
      files: [path],
      writes: [
        pointerBytes(layout, extent.at, place, own),
        ...stretches(layout, block).map(([from, end], i) => [to[i]![0], image.slice(from, end)] as const),
      ],
    });
  }
  return edits;
}

/** Entries that repeat another or are none at all become unused. */
function entries(image: Uint8Array, options: ExtentEntryOptions): Edit[] {
  const layout = layoutOf(options);
  const edits: Edit[] = [];
  for (const file of liveFiles(image, layout).live)
    for (const double of file.doubles) {
      const first = file.extents.find((each) => each.index === double.index);
      if (first?.records !== double.records || !first.pointers.every((block, i) => block === double.pointers[i]))
        continue;
      edits.push({
        code: "duplicate-extent",
        sentence: `A second entry of ${pathOf(file)} for the same blocks was marked unused.`,
        files: [pathOf(file)],
        writes: [[double.at, [FILL]]],
      });
    }
  const perSector = layout.sectorSize / ENTRY;
  for (let slot = 0; slot < layout.entries; slot++) {
    const within = slot % perSector;
    const logical = (slot - within) / perSector;
    if (logical >= layout.dataSectors) break;
    const at = layout.startByte + placeOf(layout, logical) * layout.sectorSize + within * ENTRY;
    if (at + ENTRY > image.length || classify(image, at) !== "unreadable") continue;
    edits.push({
      code: "unreadable-entry",
      sentence: `Directory entry ${slot}, which is neither a file nor unused, was marked unused; its file, if there was one, can only be found by its content.`,
      files: [],
      loss: true,
      writes: [[at, new Uint8Array(ENTRY).fill(FILL)]],
    });
  }
  return edits;
}

/** Block numbers that lead nowhere, and record counts beyond what the blocks hold. */
function counts(image: Uint8Array, options: ExtentEntryOptions): Edit[] {
  const layout = layoutOf(options);
  const { exm } = options.parameters;
  const edits: Edit[] = [];
  for (const file of liveFiles(image, layout).live)
    for (const extent of file.extents) {
      const path = pathOf(file);
      const rc = image[extent.at + 15]!;
      const last = filled(extent);
      const bad = extent.pointers.flatMap((block, place) => (block !== 0 && !inFiles(layout, block) ? [place] : []));
      // Only numbers at the end can go: one in the middle would become a hole that reads as if it were content.
      const tail = bad.filter((place) =>
        extent.pointers.slice(place, last).every((block) => block !== 0 && !inFiles(layout, block)),
      );
      if (tail.length > 0)
        edits.push({
          code: "pointer-past-end",
          sentence: `${counted(tail.length, "block number")} of ${path} that ${tail.length === 1 ? "leads" : "lead"} to no block for files ${tail.length === 1 ? "was" : "were"} cleared.`,
          files: [path],
          loss: true,
          writes: tail.map((place) => pointerBytes(layout, extent.at, place, 0)),
        });
      const held = last * layout.recordsPerBlock;
      if (tail.length === 0 && bad.length === 0 && Math.ceil(extent.content / layout.recordsPerBlock) > last) {
        const number = held === 0 ? 0 : Math.ceil(held / EXTENT_RECORDS) - 1;
        const raw = image[extent.at + 12]! | (image[extent.at + 14]! << 5);
        const base = raw - (raw & exm) + (number & exm);
        edits.push({
          code: "records-without-block",
          sentence: `The record count of ${path} was set to what its blocks hold.`,
          files: [path],
          loss: true,
          writes: [
            [extent.at + 12, [base & 31]],
            [extent.at + 14, [base >> 5]],
            [extent.at + 15, [held === 0 ? 0 : ((held - 1) % EXTENT_RECORDS) + 1]],
          ],
        });
      } else if (rc > EXTENT_RECORDS)
        edits.push({
          code: "record-count",
          sentence: `The record count of ${path} was set to 128, a full extent's.`,
          files: [path],
          writes: [[extent.at + 15, [EXTENT_RECORDS]]],
        });
    }
  return edits;
}

export const mendExtentEntry: Mender<ExtentEntryOptions> = {
  kind: "extent-entry",
  steps: [entries, crossings, counts],
};
