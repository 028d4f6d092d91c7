import { asciiBytes } from "../../bytes/index.ts";
import { InputError } from "../../errors/index.ts";
import { mapBlocks } from "../../geometry/index.ts";
import type { TreeEntry } from "../types.ts";
import { newAllocator } from "./allocate.ts";
import type { Segment } from "./descriptor.ts";
import { attributeBits, DIRECTORY_BIT, dateBytes } from "./fields.ts";
import {
  bootstrapSectors,
  DIRECTORY_SLOT,
  isPowerOfTwo,
  MAP_SECTOR,
  MOST_MAP_BITS,
  mapBytesFor,
  NAME_BYTES,
  SECTOR,
  type ZonedDisk,
  zonedGeometry,
} from "./layout.ts";

/** Tracks with the same sectors, save side 0 of track 0 where it has fewer; or a zoned disk. */
type Disk = { tracks: number; sides: 1 | 2; sectors: number; firstTrackSectors?: number } | { zoned: ZonedDisk };

/** What to build; dates are `1983-01-15 12:30`. */
export type SegmentListBuild = Disk & {
  /** A power of two; the smallest that keeps the map within its 4096 bits where left out. */
  clusterSectors?: number;
  name?: string;
  owner?: number;
  created?: string;
  /** Number of the volume, 16 bits. */
  id?: number;
  doubleDensity?: boolean;
  /** Path of the file that the start-up ROM loads; it is laid in one piece. */
  bootstrap?: string;
};

const DEFAULT_DATE = "1983-01-15 12:00";
const FILE_ATTRIBUTES = "PR W R";
const FOLDER_ATTRIBUTES = "D PE PW PR E W R";

interface Node {
  name: string;
  path: string;
  folder: boolean;
  bytes: Uint8Array;
  wishes: NonNullable<TreeEntry["wishes"]>;
  children: Node[];
  descriptor: number;
  segments: Segment[];
}

const refuse = (code: string, sentence: string): never => {
  throw new InputError(code, sentence);
};

/**
 * Builds an image. Parents that are not named are made. Wishes of an entry: `attributes` (letters of `D S PE PW PR E W
 * R`), `owner`, `modified`, `created` (dates), `segments` (pieces to break the file into, 1 to 48), `from` (sector to look for room from), `deleted` (true
 * leaves what a deletion leaves). Throws an `InputError` where the tree does not fit.
 */
export function buildSegmentList(tree: readonly TreeEntry[], options: SegmentListBuild): Uint8Array {
  const { tracks, sides, sectors, total } = roomOf(options);
  if (!(tracks >= 1 && sectors >= 1 && sectors <= 0xff && total >= 4 && total <= 0xffffff))
    refuse("bad-geometry", `${tracks} tracks, ${sides} sides and ${sectors} sectors make no segment-list volume.`);
  let clusterSectors = options.clusterSectors ?? 1;
  if (!isPowerOfTwo(clusterSectors) || clusterSectors > 0x8000)
    refuse("bad-cluster", `Sectors per cluster must be a power of two up to 32768, not ${clusterSectors}.`);
  if (!options.clusterSectors) while (Math.ceil(total / clusterSectors) > MOST_MAP_BITS) clusterSectors *= 2;
  if (Math.ceil(total / clusterSectors) > MOST_MAP_BITS)
    refuse("map-too-long", `${total} sectors in clusters of ${clusterSectors} need more than the map's 4096 bits.`);

  const image = new Uint8Array(total * SECTOR);
  const mapBytes = mapBytesFor(total, clusterSectors);
  const allocator = newAllocator(total, clusterSectors);
  allocator.reserve(0, MAP_SECTOR + Math.ceil(mapBytes / SECTOR));

  const root = rootOf(tree);
  const date = options.created ?? DEFAULT_DATE;
  let bootstrap: Node | undefined;
  const lay = (node: Node): void => {
    const size = sizeOf(node);
    const isBootstrap = options.bootstrap !== undefined && node.path === options.bootstrap && !node.folder;
    const needed = isBootstrap ? bootstrapSectors(size) : Math.ceil(size / SECTOR);
    const pieces = isBootstrap ? 1 : wish(node, "segments", 1);
    ({ descriptor: node.descriptor, segments: node.segments } = allocator.lay(
      needed,
      pieces,
      node.path,
      wish(node, "from", 0),
    ));
    if (isBootstrap) {
      if (node.segments.length !== 1 || size === 0 || size > 0xffff)
        refuse("bad-bootstrap", `The bootstrap ${node.path} must have 1 to 65535 bytes and lie in one piece.`);
      bootstrap = node;
    }
    for (const child of node.children) lay(child);
  };
  lay(root);
  if (options.bootstrap !== undefined && !bootstrap)
    refuse("no-bootstrap", `There is no file ${options.bootstrap} to start from.`);

  const write = (node: Node, parent: Node): void => {
    writeDescriptor(image, node, date, options.owner ?? 0);
    scatter(image, node.segments, node.folder ? directoryBytes(node, parent) : node.bytes);
    for (const child of node.children) write(child, node);
    if (node.wishes.deleted === true) {
      image[node.descriptor * SECTOR + 8] = 0;
      allocator.free(node.descriptor, node.segments);
    }
  };
  write(root, root);
  image.set(allocator.map(mapBytes), MAP_SECTOR * SECTOR);

  const { u16, u24 } = bigEndian(image);
  u24(0x00, total);
  image[0x03] = sectors;
  u16(0x04, mapBytes);
  u16(0x06, clusterSectors);
  u24(0x08, root.descriptor);
  u16(0x0b, options.owner ?? 0);
  image[0x0d] = attributeBits(FOLDER_ATTRIBUTES)!;
  u16(0x0e, options.id ?? 0);
  image[0x10] = (sides === 2 ? 1 : 0) | (options.doubleDensity === false ? 0 : 2) | (tracks > 43 ? 4 : 0);
  u16(0x11, sectors);
  if (bootstrap) {
    u24(0x15, bootstrap.segments[0]!.lsn);
    u16(0x18, bootstrap.bytes.length);
  }
  image.set(dateOf(date, "the volume"), 0x1a);
  image.set(highEnded(options.name ?? "Volume", 32), 0x1f);
  return image;
}

/** A zoned disk's identification sector states the sectors of its longest track. */
function roomOf(disk: Disk): { tracks: number; sides: 1 | 2; sectors: number; total: number } {
  if ("zoned" in disk) {
    const geometry = zonedGeometry(disk.zoned);
    const sectors = Math.max(...geometry.zones.map((zone) => zone.sectors));
    return { tracks: geometry.tracks, sides: geometry.sides, sectors, total: mapBlocks(geometry).blocks };
  }
  const { tracks, sides, sectors, firstTrackSectors = sectors } = disk;
  return { tracks, sides, sectors, total: tracks * sides * sectors - sectors + firstTrackSectors };
}

function rootOf(tree: readonly TreeEntry[]): Node {
  const folder = (name: string, path: string): Node => ({
    name,
    path,
    folder: true,
    bytes: new Uint8Array(0),
    wishes: {},
    children: [],
    descriptor: 0,
    segments: [],
  });
  const root = folder("", "");
  const nodes = new Map<string, Node>([["", root]]);
  const place = (path: string): Node => {
    const known = nodes.get(path.toLowerCase());
    if (known) return known;
    const cut = path.lastIndexOf("/");
    const parent = place(cut < 0 ? "" : path.slice(0, cut));
    const name = path.slice(cut + 1);
    if (!parent.folder) refuse("not-a-folder", `${parent.path} is a file, so ${path} cannot lie in it.`);
    if (!/^[!-.0-[\]-~]{1,29}$/.test(name) || name === "." || name === "..")
      refuse(
        "bad-name",
        `${path}: a name has 1 to 29 printing ISO 646 characters, without space, slash and backslash.`,
      );
    const node = folder(name, path);
    parent.children.push(node);
    nodes.set(path.toLowerCase(), node);
    return node;
  };
  const given = new Set<string>();
  for (const entry of tree) {
    const key = entry.path.toLowerCase();
    if (key === "" || given.has(key))
      refuse("same-path", `${entry.path || "(no name)"} is given twice or has no name.`);
    given.add(key);
    const node = place(entry.path);
    if (entry.type === "file" && node.children.length > 0)
      refuse("not-a-folder", `${entry.path} is a file, so nothing can lie in it.`);
    node.folder = entry.type === "folder";
    node.bytes = entry.bytes;
    node.wishes = entry.wishes ?? {};
  }
  return root;
}

const sizeOf = (node: Node): number => (node.folder ? (2 + node.children.length) * DIRECTORY_SLOT : node.bytes.length);

function wish(node: Node, key: string, otherwise: number): number {
  const value = node.wishes[key] ?? otherwise;
  return typeof value === "number" && Number.isInteger(value) && value >= 0 && value <= 0xffff
    ? value
    : refuse("bad-wish", `${node.path}: ${key} must be a whole number from 0 to 65535.`);
}

const dateOf = (text: string, whose: string): number[] =>
  dateBytes(text) ?? refuse("bad-date", `The date ${text} of ${whose} is not like 1983-01-15 12:30.`);

const bigEndian = (image: Uint8Array) => ({
  u16: (at: number, value: number): void => image.set([(value >> 8) & 0xff, value & 0xff], at),
  u24: (at: number, value: number): void => image.set([(value >> 16) & 0xff, (value >> 8) & 0xff, value & 0xff], at),
});

function writeDescriptor(image: Uint8Array, node: Node, date: string, owner: number): void {
  const at = node.descriptor * SECTOR;
  const { u16, u24 } = bigEndian(image);
  const letters = node.wishes.attributes ?? (node.folder ? FOLDER_ATTRIBUTES : FILE_ATTRIBUTES);
  const bits = attributeBits(String(letters)) ?? refuse("bad-wish", `${node.path}: ${letters} are no attributes.`);
  image[at] = node.folder ? bits | DIRECTORY_BIT : bits & ~DIRECTORY_BIT;
  u16(at + 1, wish(node, "owner", owner));
  image.set(dateOf(String(node.wishes.modified ?? date), node.path), at + 3);
  image[at + 8] = 1;
  u16(at + 9, sizeOf(node) >>> 16);
  u16(at + 11, sizeOf(node) & 0xffff);
  image.set(dateOf(String(node.wishes.created ?? date), node.path).slice(0, 3), at + 13);
  node.segments.forEach(({ lsn, count }, slot) => {
    u24(at + 16 + 5 * slot, lsn);
    u16(at + 19 + 5 * slot, count);
  });
}

function scatter(image: Uint8Array, segments: readonly Segment[], bytes: Uint8Array): void {
  let done = 0;
  for (const { lsn, count } of segments) {
    image.set(bytes.subarray(done, done + count * SECTOR), lsn * SECTOR);
    done += count * SECTOR;
  }
}

function highEnded(text: string, most: number): Uint8Array {
  const bytes = asciiBytes(text.slice(0, most));
  if (bytes.length > 0) bytes[bytes.length - 1]! |= 0x80;
  return bytes;
}

function directoryBytes(node: Node, parent: Node): Uint8Array {
  const bytes = new Uint8Array(sizeOf(node));
  const { u24 } = bigEndian(bytes);
  const slot = (index: number, name: string, descriptor: number): void => {
    bytes.set(highEnded(name, NAME_BYTES), index * DIRECTORY_SLOT);
    u24(index * DIRECTORY_SLOT + NAME_BYTES, descriptor);
  };
  slot(0, "..", parent.descriptor);
  slot(1, ".", node.descriptor);
  node.children.forEach((child, index) => {
    slot(index + 2, child.name, child.descriptor);
    if (child.wishes.deleted === true) bytes[(index + 2) * DIRECTORY_SLOT] = 0;
  });
  return bytes;
}
