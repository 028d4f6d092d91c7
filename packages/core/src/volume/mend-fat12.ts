import { buildFat12 } from "./fat12/build.ts";
import { type Fat12Options, type Layout, layoutFor, sectorOf, standardFormat } from "./fat12/layout.ts";
import { ATTRIBUTE } from "./fat12/names.ts";
import { chooseFat, open } from "./fat12/open.ts";
import { BAD, FREE, fatBytes, LAST, writeFat } from "./fat12/table.ts";
import { isFolder, needed, type Slot, type Trace } from "./fat12/trace.ts";
import { counted, type Edit, freeBlocks, type Mender, u16le, u32le } from "./mend-types.ts";

/** Offsets in a directory entry. */
const START = 26;
const SIZE = 28;

const fatWrites = (layout: Layout, bytes: Uint8Array): Edit["writes"] =>
  Array.from({ length: layout.fats }, (_, copy) => [
    (layout.reserved + copy * layout.sectorsPerFat) * layout.sectorSize,
    bytes,
  ]);

/** Entries of the FAT packed for its sectors; its head as the media byte asks for it. */
function packed(layout: Layout, fat: Uint16Array): Uint8Array {
  const entries = fat.slice();
  entries[0] = 0xf00 | layout.media;
  entries[1] = 0xfff;
  const bytes = new Uint8Array(Math.ceil((entries.length * 3) / 2));
  writeFat(entries, bytes);
  return bytes.subarray(0, layout.sectorsPerFat * layout.sectorSize);
}

/** All copies become the one that fits the directories best, and begin with the media byte. */
function tables(image: Uint8Array, options: Fat12Options): Edit[] {
  const layout = layoutFor(image, options);
  const { fat, differ } = chooseFat(image, layout);
  const bytes = packed(layout, fat);
  const wrong = Array.from({ length: layout.fats }, (_, copy) => fatBytes(image, layout, copy)).some((copy) =>
    copy.subarray(0, bytes.length).some((byte, i) => byte !== bytes[i]),
  );
  if (!wrong) return [];
  return [
    {
      code: differ.length > 0 ? "fat-copies-differ" : "fat-head",
      sentence:
        differ.length > 0
          ? `Every copy of the FAT was made the one that fits the directories; they differed in ${counted(differ.length, "sector")}.`
          : "The media byte and ones were written at the start of the FATs.",
      files: [],
      writes: fatWrites(layout, bytes),
    },
  ];
}

/** Clusters by slot, after crossed ones were parted: new clusters with copies for those that came later. */
function part(
  layout: Layout,
  found: Trace,
  fat: Uint16Array,
): { chains: number[][]; copies: [from: number, to: number][]; parted: Set<number> } | undefined {
  const { slots } = found;
  const live = (slot: Slot): boolean => !slot.deleted;
  if (slots.some((slot) => live(slot) && slot.end === "tangle")) return undefined;
  // A folder keeps its clusters, as its entries must not be there twice; else the first who claimed keeps them.
  const keeper = new Int32Array(fat.length).fill(-1);
  const claim = (wanted: boolean): void =>
    slots.forEach((slot, index) => {
      if (live(slot) && isFolder(slot) === wanted)
        for (const cluster of slot.clusters) if (keeper[cluster] === -1) keeper[cluster] = index;
    });
  claim(true);
  claim(false);
  const take = freeBlocks(
    fat.length,
    (cluster) => cluster >= 2 && fat[cluster] === FREE && keeper[cluster] === -1,
    slots.filter((slot) => slot.deleted).map((slot) => slot.clusters),
  );
  const copies: [number, number][] = [];
  const parted = new Set<number>();
  const chains: number[][] = [];
  for (const [index, slot] of slots.entries()) {
    if (!live(slot)) {
      chains.push([]);
      continue;
    }
    const most = isFolder(slot) ? slot.clusters.length : needed(layout, slot);
    const chain: number[] = [];
    for (const cluster of slot.clusters.slice(0, most)) {
      if (keeper[cluster] === index) {
        chain.push(cluster);
        continue;
      }
      if (isFolder(slot)) return undefined;
      const own = take();
      if (own === undefined) return undefined;
      copies.push([cluster, own]);
      parted.add(index);
      chain.push(own);
    }
    chains.push(chain);
  }
  return { chains, copies, parted };
}

/** Chains of live files and folders written anew: each ends where its content does, none crosses another, nothing is lost in use. */
function chains(image: Uint8Array, options: Fat12Options): Edit[] {
  const layout = layoutFor(image, options);
  const { fat, found } = chooseFat(image, layout);
  const parts = part(layout, found, fat);
  if (!parts) return [];
  const { entries } = open(image, options);
  const fresh = new Uint16Array(fat.length);
  for (let cluster = 2; cluster < fat.length; cluster++) if (fat[cluster] === BAD) fresh[cluster] = BAD;
  const writes: [number, ArrayLike<number>][] = [];
  const cut: string[] = [];
  const longer: string[] = [];
  const ended: string[] = [];
  let losses = false;
  for (const [index, slot] of found.slots.entries()) {
    if (slot.deleted) continue;
    const chain = parts.chains[index]!;
    const path = entries[index]!.path;
    chain.forEach((cluster, i) => {
      fresh[cluster] = chain[i + 1] ?? 0xfff;
    });
    if (isFolder(slot) && chain.length === 0) continue;
    if ((chain[0] ?? 0) !== slot.start) writes.push([slot.at + START, u16le(chain[0] ?? 0)]);
    if (isFolder(slot)) {
      if (slot.end !== "last") ended.push(path);
      continue;
    }
    const holds = chain.length * layout.clusterBytes;
    if (holds < slot.size) {
      writes.push([slot.at + SIZE, u32le(holds)]);
      cut.push(`${path} (${holds} of ${slot.size} bytes)`);
      losses = true;
    } else if (slot.clusters.length > needed(layout, slot) || slot.end === "overrun") longer.push(path);
    else if (slot.end !== "last" && (slot.end !== "none" || slot.size > 0)) ended.push(path);
  }
  for (const [from, to] of parts.copies) {
    const at = sectorOf(layout, from) * layout.sectorSize;
    writes.push([sectorOf(layout, to) * layout.sectorSize, image.slice(at, at + layout.clusterBytes)]);
  }
  const same = fresh.every(
    (value, cluster) => cluster < 2 || value === fat[cluster] || (value === 0xfff && fat[cluster]! >= LAST),
  );
  if (same && writes.length === 0) return [];
  const parted = [...parts.parted].map((index) => entries[index]!.path);
  const crossers = [...parts.parted].flatMap((index) => {
    const other = entries[found.slots[index]!.crossedWith];
    return other ? [other.path] : [];
  });
  const said = [
    ...(parted.length > 0
      ? [
          `${parted.join(", ")} got ${counted(parts.copies.length, "cluster")} of ${parted.length === 1 ? "its" : "their"} own, with the bytes of those shared with ${[...new Set(crossers)].join(", ") || "another"}; look which is right`,
        ]
      : []),
    ...(cut.length > 0 ? [`cut to what can be read: ${cut.join(", ")}`] : []),
    ...(longer.length > 0 ? [`chains ended where the size says: ${longer.join(", ")}`] : []),
    ...(ended.length > 0 ? [`chains ended: ${ended.join(", ")}`] : []),
    ...(found.lost.length > 0
      ? [`${counted(found.lost.length, "lost cluster")} freed, their bytes left as they are`]
      : []),
  ];
  return [
    {
      code: "chains",
      sentence: `The FAT was written anew from the directories${said.length > 0 ? `: ${said.join("; ")}` : ""}.`,
      files: [...new Set([...parted, ...cut.map((each) => each.replace(/ \(.*/, "")), ...longer, ...ended])],
      loss: losses,
      writes: [...fatWrites(layout, packed(layout, fresh)), ...writes],
    },
  ];
}

function dotEntry(name: "." | "..", cluster: number): Uint8Array {
  const bytes = new Uint8Array(32);
  bytes.fill(0x20, 0, 11);
  bytes.set(name === "." ? [0x2e] : [0x2e, 0x2e]);
  bytes[11] = ATTRIBUTE.folder;
  bytes.set(u16le(cluster), START);
  return bytes;
}

/** `.` and `..` of folders, entries that are none, pieces of long names that belong to none, and sizes of folders. */
function directories(image: Uint8Array, options: Fat12Options): Edit[] {
  const layout = layoutFor(image, options);
  const { found } = chooseFat(image, layout);
  const { entries } = open(image, options);
  const edits: Edit[] = [];
  found.slots.forEach((slot, index) => {
    const cluster = slot.clusters[0];
    if (slot.deleted || !slot.blank || cluster === undefined) return;
    // The empty slots behind the two become deleted ones: an unused one would end the folder before its later sectors.
    const at = sectorOf(layout, cluster) * layout.sectorSize;
    const parent = slot.folder < 0 ? 0 : found.slots[slot.folder]!.start;
    const writes: [number, ArrayLike<number>][] = [
      [at, dotEntry(".", cluster)],
      [at + 32, dotEntry("..", parent)],
    ];
    for (let i = 64; i < layout.sectorSize; i += 32) if (image[at + i] === 0) writes.push([at + i, [0xe5]]);
    edits.push({
      code: "blank-folder",
      sentence: `The first sector of the folder ${entries[index]!.path}, which held nothing, got its entries . and .. again; what else was in it is gone.`,
      files: [entries[index]!.path],
      loss: true,
      writes,
    });
  });
  for (const { folder, name, expected } of found.dots) {
    const { clusters, blank } = found.slots[folder]!;
    const [cluster] = clusters;
    if (cluster === undefined || blank) continue;
    const at = sectorOf(layout, cluster) * layout.sectorSize + (name === "." ? 0 : 32);
    const path = entries[folder]!.path;
    edits.push({
      code: "dot-entry",
      sentence: `The entry ${name} of ${path} was written anew.`,
      files: [path],
      writes: [[at, dotEntry(name, expected)]],
    });
  }
  for (const [code, offsets, what] of [
    ["rubbish", found.rubbish, "entry that holds no sense"],
    ["misplaced-entry", found.misplaced, "entry out of its place"],
    ["orphan-long-name", found.orphans, "piece of a long name that belongs to no entry"],
  ] as const)
    for (const at of offsets)
      edits.push({
        code,
        sentence: `An ${what} was marked as deleted, in sector ${Math.floor(at / layout.sectorSize)}.`.replace(
          "An piece",
          "A piece",
        ),
        files: [],
        writes: [[at, [0xe5]]],
      });
  found.slots.forEach((slot, index) => {
    if (slot.deleted || !isFolder(slot)) return;
    if (image.subarray(slot.at + SIZE, slot.at + SIZE + 4).some((byte) => byte !== 0))
      edits.push({
        code: "folder-size",
        sentence: `The size of the folder ${entries[index]!.path} was set to 0.`,
        files: [entries[index]!.path],
        writes: [[slot.at + SIZE, [0, 0, 0, 0]]],
      });
  });
  return edits;
}

/** Numbers of the descriptor (ECMA-107 clause 9): those from the size of a sector to the sectors before the volume. */
const NUMBERS = { from: 0x0b, to: 0x24 } as const;

/** The descriptor, where the disk's format is to have one. A sector that holds a program keeps everything but the numbers. */
function descriptor(image: Uint8Array, options: Fat12Options): Edit[] {
  const format = standardFormat(options);
  const volume = open(image, options);
  if (!format || !volume.damages.some((each) => each.code === "no-descriptor")) return [];
  const label = /^[A-Z0-9 ]{1,11}$/.test(volume.label) ? { label: volume.label } : {};
  const sector = buildFat12([], { format: format.name, serial: 0, ...label }).subarray(0, options.sectorSize);
  const empty = image.subarray(0x24, options.sectorSize - 2).every((byte) => byte === image[0x24]);
  const [from, to] = empty ? [0, options.sectorSize] : [NUMBERS.from, NUMBERS.to];
  return [
    {
      code: "no-descriptor",
      sentence: `The descriptor of the format ${format.name} was written into sector 0${empty ? "" : ", around what else is there"}.`,
      files: [],
      writes: [[from, sector.slice(from, to)]],
    },
  ];
}

export const mendFat12: Mender<Fat12Options> = { kind: "fat12", steps: [descriptor, tables, chains, directories] };
