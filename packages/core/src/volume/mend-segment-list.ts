import { counted, type Edit, freeBlocks, type Mender, u16be, u24be } from "./mend-types.ts";
import { readDescriptor } from "./segment-list/descriptor.ts";
import { DIRECTORY_BIT } from "./segment-list/fields.ts";
import {
  contradictions,
  DIRECTORY_SLOT,
  MAP_SECTOR,
  MOST_SEGMENTS,
  mapBytesFor,
  NAME_BYTES,
  readIdentification,
  SECTOR,
  type SegmentListOptions,
} from "./segment-list/layout.ts";
import { open } from "./segment-list/open.ts";
import { type Entry, OWNER, type Volume } from "./types.ts";

/** LSN of an entry's descriptor: the first of its own blocks. */
const descriptorOf = (entry: Entry): number | undefined => entry.ownBlocks[0];

const live = (volume: Volume): Entry[] => volume.entries.filter((entry) => !entry.deleted);

/** Sectors that no entry holds but the volume itself: identification, map, the root's descriptor and content. */
function bookkeeping(image: Uint8Array, options: SegmentListOptions): Set<number> {
  const sectors = new Set<number>();
  const map = Math.ceil(mapBytesFor(options.total, options.clusterSectors) / SECTOR);
  for (let sector = 0; sector < MAP_SECTOR + map; sector++) sectors.add(sector);
  const root = readDescriptor(image, options.root);
  if (!root) return sectors;
  sectors.add(root.lsn);
  for (const { lsn, count } of root.segments)
    for (let sector = lsn; sector < Math.min(lsn + count, options.total); sector++) sectors.add(sector);
  return sectors;
}

/** What sector 0 says is made to fit the rest. */
function identification(image: Uint8Array, options: SegmentListOptions): Edit[] {
  const wrong = contradictions(readIdentification(image), options);
  if (wrong.length === 0) return [];
  return [
    {
      code: "identification",
      sentence: `Sector 0 was made to fit the rest of the volume: ${wrong.join("; ")}.`,
      files: [],
      writes: [
        [0x00, u24be(options.total)],
        [0x03, [options.sectorsPerTrack & 0xff]],
        [0x04, u16be(mapBytesFor(options.total, options.clusterSectors))],
        [0x06, u16be(options.clusterSectors)],
        [0x08, u24be(options.root)],
        [0x11, u16be(options.sectorsPerTrack)],
      ],
    },
  ];
}

/** A file that shares sectors with another, or with the volume's own records, is copied to free sectors. */
function crossings(image: Uint8Array, options: SegmentListOptions): Edit[] {
  const volume = open(image, options);
  const holders = new Map<number, number>();
  for (const sector of bookkeeping(image, options)) holders.set(sector, -1);
  const entries = live(volume);
  // Descriptors can't be moved, as directories lead to them: they come first.
  const seen = new Set<number>();
  const own = entries.filter((entry) => {
    const lsn = descriptorOf(entry);
    if (lsn === undefined || seen.has(lsn)) return false;
    seen.add(lsn);
    if (!holders.has(lsn)) holders.set(lsn, -1);
    return true;
  });
  const moving: { entry: Entry; shared: number; other: string }[] = [];
  own.forEach((entry, index) => {
    const sectors = [...entry.blocks, ...entry.ownBlocks.slice(1)];
    const shared = sectors.filter((sector, i) => holders.has(sector) || sectors.indexOf(sector) !== i);
    if (shared.length === 0) {
      for (const sector of sectors) holders.set(sector, index);
      return;
    }
    const other = own[holders.get(shared[0]!) ?? -1]?.path ?? "the volume's own records";
    moving.push({ entry, shared: shared.length, other });
  });
  if (moving.length === 0) return [];
  const { clusterSectors } = options;
  const clusters = Math.floor(options.total / clusterSectors);
  const take = freeBlocks(
    clusters,
    (cluster) => {
      for (let sector = cluster * clusterSectors; sector < (cluster + 1) * clusterSectors; sector++)
        if (sector * SECTOR + SECTOR > image.length || volume.owners[sector] !== OWNER.free) return false;
      return true;
    },
    volume.entries
      .filter((entry) => entry.deleted)
      .map((entry) => entry.blocks.map((sector) => Math.floor(sector / clusterSectors))),
  );
  const edits: Edit[] = [];
  const map = image.slice(MAP_SECTOR * SECTOR, MAP_SECTOR * SECTOR + mapBytesFor(options.total, clusterSectors));
  for (const { entry, shared, other } of moving) {
    const lsn = descriptorOf(entry)!;
    const want = Math.ceil(entry.blocks.length / clusterSectors);
    const given: number[] = [];
    for (let i = 0; i < want; i++) {
      const cluster = take();
      if (cluster === undefined) break;
      given.push(cluster);
    }
    if (given.length < want) continue;
    given.sort((a, b) => a - b);
    const segments: { lsn: number; count: number }[] = [];
    for (const cluster of given) {
      const last = segments.at(-1);
      if (last && last.lsn + last.count === cluster * clusterSectors) last.count += clusterSectors;
      else segments.push({ lsn: cluster * clusterSectors, count: clusterSectors });
    }
    if (segments.length > MOST_SEGMENTS) continue;
    const sectors = segments.flatMap(({ lsn: from, count }) => Array.from({ length: count }, (_, i) => from + i));
    const list = new Uint8Array(5 * MOST_SEGMENTS);
    for (const [slot, { lsn: from, count }] of segments.entries())
      list.set([...u24be(from), ...u16be(count)], 5 * slot);
    for (const cluster of given) map[cluster >> 3]! |= 0x80 >> (cluster & 7);
    edits.push({
      code: "shared-sector",
      sentence: `${entry.path} got ${counted(sectors.length, "sector")} of its own, with a copy of its bytes; it shared ${shared} with ${other}; look which is right.`,
      files: [entry.path],
      writes: [
        ...entry.blocks.map(
          (block, i) => [sectors[i]! * SECTOR, image.slice(block * SECTOR, (block + 1) * SECTOR)] as const,
        ),
        [lsn * SECTOR + 16, list],
        [MAP_SECTOR * SECTOR, map.slice()],
      ],
    });
  }
  return edits;
}

/** Link counts, attributes of the root, sizes of folders and of files that claim more than their segments hold. */
function descriptors(image: Uint8Array, options: SegmentListOptions): Edit[] {
  const volume = open(image, options);
  const edits: Edit[] = [];
  const root = readDescriptor(image, options.root);
  if (root && !root.folder)
    edits.push({
      code: "root-not-folder",
      sentence: "The root directory's descriptor was given the attribute D.",
      files: [],
      writes: [[root.lsn * SECTOR, [root.attributes | DIRECTORY_BIT]]],
    });
  const entries = live(volume);
  const links = new Map<number, Entry[]>();
  for (const entry of entries) {
    const lsn = descriptorOf(entry);
    if (lsn !== undefined) links.set(lsn, [...(links.get(lsn) ?? []), entry]);
  }
  for (const [lsn, leading] of links) {
    const descriptor = readDescriptor(image, lsn);
    const { path } = leading[0]!;
    if (!descriptor) continue;
    if (!descriptor.folder && descriptor.links !== leading.length)
      edits.push({
        code: "link-count",
        sentence: `The link count of ${path} was set to ${leading.length}.`,
        files: [path],
        writes: [[lsn * SECTOR + 8, [leading.length & 0xff]]],
      });
    if (Math.ceil(descriptor.size / SECTOR) > descriptor.sectors) {
      const held = descriptor.sectors * SECTOR;
      edits.push({
        code: "size-beyond-segments",
        sentence: `The size of ${path} was set from ${descriptor.size} to the ${held} bytes that its segments hold.`,
        files: [path],
        loss: true,
        writes: [[lsn * SECTOR + 9, [...u16be(held >>> 16), ...u16be(held & 0xffff)]]],
      });
    } else if (descriptor.folder && descriptor.size < 2 * DIRECTORY_SLOT)
      edits.push({
        code: "directory-size",
        sentence: `The size of the folder ${path} was set to all that its segments hold.`,
        files: [path],
        writes: [
          [
            lsn * SECTOR + 9,
            [...u16be((descriptor.sectors * SECTOR) >>> 16), ...u16be((descriptor.sectors * SECTOR) & 0xffff)],
          ],
        ],
      });
  }
  return edits;
}

/** The self and parent entries of folders lead where they should. */
function ownEntries(image: Uint8Array, options: SegmentListOptions): Edit[] {
  const volume = open(image, options);
  const folders = new Map(
    live(volume).flatMap((entry) => (entry.type === "folder" ? [[entry.path, entry] as const] : [])),
  );
  const edits: Edit[] = [];
  const check = (path: string, lsn: number, parent: number): void => {
    const first = readDescriptor(image, lsn)?.segments[0]?.lsn;
    if (first === undefined) return;
    for (const [slot, name, to] of [
      [0, "..", parent],
      [1, ".", lsn],
    ] as const) {
      const at = first * SECTOR + slot * DIRECTORY_SLOT;
      const fresh = new Uint8Array(DIRECTORY_SLOT);
      fresh.set(name === "." ? [0xae] : [0x2e, 0xae]);
      fresh.set(u24be(to), NAME_BYTES);
      const good = fresh.subarray(0, 2).every((byte, i) => (i >= name.length ? true : image[at + i] === byte));
      const leads = fresh.subarray(NAME_BYTES).every((byte, i) => image[at + NAME_BYTES + i] === byte);
      if (good && leads) continue;
      edits.push({
        code: good ? "wrong-own-entry" : "missing-own-entry",
        sentence: `The entry ${name} of ${path || "the root directory"} was written anew.`,
        files: path === "" ? [] : [path],
        writes: [[at, fresh]],
      });
    }
  };
  check("", options.root, options.root);
  for (const [path, entry] of folders) {
    const lsn = descriptorOf(entry);
    const above = path.includes("/") ? folders.get(path.slice(0, path.lastIndexOf("/"))) : undefined;
    const parent = path.includes("/") ? above && descriptorOf(above) : options.root;
    if (lsn !== undefined && parent !== undefined) check(path, lsn, parent);
  }
  return edits;
}

/** The map: what is held is allocated, what lies past the end is allocated, and lost sectors that hold one byte value throughout are freed. */
function map(image: Uint8Array, options: SegmentListOptions): Edit[] {
  const { owners } = open(image, options);
  const { total, clusterSectors } = options;
  const bytes = mapBytesFor(total, clusterSectors);
  const at = MAP_SECTOR * SECTOR;
  if (at + bytes > image.length) return [];
  const old = image.subarray(at, at + bytes);
  const fresh = new Uint8Array(bytes).fill(0xff);
  let freed = 0;
  for (let cluster = 0; cluster < Math.floor(total / clusterSectors); cluster++) {
    let held = false;
    let lost = false;
    let filled = true;
    for (let sector = cluster * clusterSectors; sector < (cluster + 1) * clusterSectors; sector++) {
      const owner = owners[sector] ?? OWNER.free;
      if (owner === OWNER.lost) lost = true;
      else if (owner !== OWNER.free) held = true;
      const from = sector * SECTOR;
      for (let i = 1; i < SECTOR && filled; i++) filled = image[from + i] === image[from];
    }
    if (lost && !held && filled) freed++;
    if (!held && !(lost && !filled)) fresh[cluster >> 3]! &= ~(0x80 >> (cluster & 7));
  }
  if (fresh.every((byte, i) => byte === old[i])) return [];
  return [
    {
      code: "map",
      sentence: `The allocation map was written anew from what the files hold${freed > 0 ? `; ${counted(freed, "cluster")} that no file holds and that are filled with one byte were freed` : ""}.`,
      files: [],
      writes: [[at, fresh]],
    },
  ];
}

export const mendSegmentList: Mender<SegmentListOptions> = {
  kind: "segment-list",
  steps: [identification, descriptors, ownEntries, crossings, map],
};
