import { asciiBytes } from "../../bytes/index.ts";
import { InputError } from "../../errors/index.ts";
import type { TreeEntry } from "../types.ts";
import { type Layout, layOut, optionsOf, STANDARD_FORMATS, sectorOf } from "./layout.ts";
import { ATTRIBUTE, dateWords, nameBytes } from "./names.ts";
import { writeFat } from "./table.ts";
import { DEEPEST } from "./trace.ts";

export interface Fat12BuildOptions {
  /** Name of a standard format: `160K` to `2880K`, `8-inch 250K`, `8-inch 500K`, `8-inch 1232K`. */
  format: string;
  /** Volume label, up to 11 characters. */
  label?: string;
  /** Serial number, 32 bits; without it the descriptor carries none. */
  serial?: number;
  /** False leaves sector 0 without a descriptor, as on disks older than it. */
  descriptor?: boolean;
}

interface Folder {
  path: string;
  depth: number;
  /** First cluster, 0 for the root. */
  cluster: number;
  parent: number;
  entries: Uint8Array[];
}

const parentOf = (path: string): string => path.slice(0, Math.max(0, path.lastIndexOf("/")));
const leafOf = (path: string): string => path.slice(path.lastIndexOf("/") + 1);

function attributesOf(entry: TreeEntry): number {
  const wishes = entry.wishes ?? {};
  let attributes = entry.type === "folder" ? ATTRIBUTE.folder : 0;
  for (const key of ["readOnly", "hidden", "system", "archive"] as const) if (wishes[key]) attributes |= ATTRIBUTE[key];
  return attributes;
}

function directoryEntry(
  name: Uint8Array,
  attributes: number,
  cluster: number,
  size: number,
  modified?: string,
): Uint8Array {
  const out = new Uint8Array(32);
  const view = new DataView(out.buffer);
  out.set(name);
  out[11] = attributes;
  if (modified) {
    const { date, time } = dateWords(modified);
    view.setUint16(22, time, true);
    view.setUint16(24, date, true);
  }
  view.setUint16(26, cluster, true);
  view.setUint32(28, size, true);
  return out;
}

function writeDescriptor(image: Uint8Array, layout: Layout, options: Fat12BuildOptions): void {
  const view = new DataView(image.buffer);
  // A jump over the descriptor to a loop in place: systems look for the jump, and nothing here is to be started.
  image.set([0xeb, 0x3c, 0x90]);
  image.set(asciiBytes("ROUSE   "), 3);
  image.set([0xeb, 0xfe], 0x3e);
  view.setUint16(0x0b, layout.sectorSize, true);
  image[0x0d] = layout.sectorsPerCluster;
  view.setUint16(0x0e, layout.reserved, true);
  image[0x10] = layout.fats;
  view.setUint16(0x11, layout.rootEntries, true);
  view.setUint16(0x13, layout.sectors, true);
  image[0x15] = layout.media;
  view.setUint16(0x16, layout.sectorsPerFat, true);
  view.setUint16(0x18, layout.sectorsPerTrack, true);
  view.setUint16(0x1a, layout.sides, true);
  if (options.serial !== undefined) {
    image[0x26] = 0x29;
    view.setUint32(0x27, options.serial, true);
    image.set(labelBytes(options.label ?? "NO NAME"), 0x2b);
    image.set(asciiBytes("FAT12   "), 0x36);
  }
  if (layout.sectorSize >= 512) image.set([0x55, 0xaa], 0x1fe);
}

function labelBytes(label: string): Uint8Array {
  if (!/^[ -~]{1,11}$/.test(label) || /["*+,./:;<=>?[\\\]|a-z]/.test(label) || label.startsWith(" "))
    throw new InputError("bad-label", `"${label}" cannot be a volume label: 1 to 11 capitals, digits and blanks are.`);
  return asciiBytes(label.padEnd(11));
}

/**
 * Builds a FAT12 volume. Folders must be in the tree, before what is in them. Wishes: `readOnly`, `hidden`, `system`,
 * `archive` (true or false) and `modified` (`1988-04-12 10:30:02`). Throws `InputError` for a name, date, label or format
 * that is not possible, and where the tree does not fit.
 */
export function buildFat12(tree: readonly TreeEntry[], options: Fat12BuildOptions): Uint8Array {
  const format = STANDARD_FORMATS.find((each) => each.name === options.format);
  if (!format)
    throw new InputError(
      "no-format",
      `"${options.format}" is no FAT12 format; there are ${STANDARD_FORMATS.map((each) => each.name).join(", ")}.`,
    );
  const layout = layOut(optionsOf(format, "descriptor")) as Layout;
  const image = new Uint8Array(layout.sectors * layout.sectorSize);
  const fat = new Uint16Array(layout.clusters + 2);
  fat[0] = 0xf00 | layout.media;
  fat[1] = 0xfff;
  let next = 2;
  const take = (count: number, path: string): number => {
    if (next + count > fat.length)
      throw new InputError("full", `${path} does not fit: the ${format.name} format has ${layout.clusters} clusters.`);
    for (let i = 0; i < count; i++) fat[next + i] = i + 1 < count ? next + i + 1 : 0xfff;
    const first = next;
    next += count;
    return count > 0 ? first : 0;
  };

  const root: Folder = { path: "", depth: 0, cluster: 0, parent: 0, entries: [] };
  const folders = new Map<string, Folder>([["", root]]);
  // A folder's clusters must be known before its entries are, so count them first.
  const children = new Map<string, number>();
  for (const { path } of tree) children.set(parentOf(path), (children.get(parentOf(path)) ?? 0) + 1);
  if (options.label !== undefined) root.entries.push(directoryEntry(labelBytes(options.label), ATTRIBUTE.label, 0, 0));

  const names = new Set<string>();
  for (const entry of tree) {
    const { path, type, bytes } = entry;
    const folder = folders.get(parentOf(path));
    if (!folder) throw new InputError("no-folder", `The folder of ${path} must be in the tree, before it.`);
    const name = nameBytes(leafOf(path));
    const key = `${folder.cluster}:${name.join(".")}`;
    if (names.has(key)) throw new InputError("same-name", `${path} is in the tree twice.`);
    names.add(key);
    if (folder.depth >= DEEPEST) throw new InputError("too-deep", `${path} lies deeper than ${DEEPEST} folders.`);
    const modified = entry.wishes?.modified;
    const size = type === "folder" ? 32 * (2 + (children.get(path) ?? 0)) : bytes.length;
    const cluster = take(Math.ceil(size / layout.clusterBytes), path);
    folder.entries.push(
      directoryEntry(
        name,
        attributesOf(entry),
        cluster,
        type === "folder" ? 0 : size,
        typeof modified === "string" ? modified : undefined,
      ),
    );
    if (type === "folder")
      folders.set(path, { path, depth: folder.depth + 1, cluster, parent: folder.cluster, entries: [] });
    else if (size > 0) image.set(bytes, sectorOf(layout, cluster) * layout.sectorSize);
  }

  if (root.entries.length > layout.rootEntries)
    throw new InputError("full", `The root directory has room for ${layout.rootEntries} entries only.`);
  for (const folder of folders.values()) {
    let at = (folder === root ? layout.rootStart : sectorOf(layout, folder.cluster)) * layout.sectorSize;
    const dots =
      folder === root
        ? []
        : [
            directoryEntry(asciiBytes(".".padEnd(11)), ATTRIBUTE.folder, folder.cluster, 0),
            directoryEntry(asciiBytes("..".padEnd(11)), ATTRIBUTE.folder, folder.parent, 0),
          ];
    for (const entry of [...dots, ...folder.entries]) {
      image.set(entry, at);
      at += 32;
    }
  }
  for (let copy = 0; copy < layout.fats; copy++) {
    const at = (layout.reserved + copy * layout.sectorsPerFat) * layout.sectorSize;
    writeFat(fat, image.subarray(at, at + layout.sectorsPerFat * layout.sectorSize));
  }
  if (options.descriptor !== false) writeDescriptor(image, layout, options);
  return image;
}
