import { InputError } from "../../errors/index.ts";
import type { TreeEntry } from "../types.ts";
import { FILL, MOST_USER, nameFault } from "./directory.ts";
import { type ExtentEntryOptions, type Layout, layoutOf, placeOf } from "./layout.ts";
import { ENTRY, EXTENT_RECORDS, RECORD } from "./parameters.ts";

/** Fills the last record of a file: the end-of-text character. Common practice, no source. */
const END_OF_TEXT = 0x1a;

interface Named {
  user: number;
  name: Uint8Array;
}

const refuse = (path: string, why: string): never => {
  throw new InputError("path", `${path} can't be put on an extent-entry volume: ${why}.`);
};

function parsePath(path: string): Named {
  const parts = path.split("/");
  const user = /^user-(\d+)$/.exec(parts[0]!);
  const file = parts[parts.length - 1]!;
  if (parts.length > (user ? 2 : 1)) refuse(path, "it has no folders but user-1 to user-15");
  const number = user && parts.length === 2 ? Number(user[1]) : 0;
  if (number > MOST_USER) refuse(path, "user areas are 0 to 15");
  const [stem = "", type = "", ...more] = file.split(".");
  if (stem.length > 8 || type.length > 3 || more.length > 0 || stem === "")
    refuse(path, "a name has up to 8 characters, a dot and up to 3 more");
  const name = Uint8Array.from(stem.padEnd(8) + type.padEnd(3), (character) => character.charCodeAt(0) & 0xff);
  const fault = /^[!-~]*$/.test(stem + type) ? nameFault(name) : "it has a character outside ISO 646";
  if (fault) refuse(path, fault);
  return { user: number, name };
}

const ATTRIBUTE_WISHES = [
  ["readOnly", 8],
  ["system", 9],
  ["archive", 10],
] as const;

/** Copies `bytes` to the records of a block, sector by sector in the volume's order. */
function writeBlock(image: Uint8Array, layout: Layout, block: number, bytes: Uint8Array): void {
  for (let at = 0; at < bytes.length; at += layout.sectorSize) {
    const sector = placeOf(layout, block * layout.sectorsPerBlock + at / layout.sectorSize);
    image.set(bytes.subarray(at, at + layout.sectorSize), layout.startByte + sector * layout.sectorSize);
  }
}

/**
 * An image with the files of `tree`, `FILL` wherever nothing is written. Paths are `NAME.EXT` (user 0) or
 * `user-3/NAME.EXT`; folders `user-3` may be listed. Wishes: `readOnly`, `system`, `archive` (attribute bits),
 * `sparse` (blocks of zero bytes get no block), `deleted` (written, then deleted). `system` fills the reserved tracks.
 * Throws an `InputError` where a name cannot be, or directory or disk are full.
 */
export function buildExtentEntry(
  tree: readonly TreeEntry[],
  options: ExtentEntryOptions,
  system: Uint8Array = new Uint8Array(0),
): Uint8Array {
  const layout = layoutOf(options);
  const image = new Uint8Array(layout.imageBytes).fill(FILL);
  const room = layout.system.reduce((sum, { from, to }) => sum + to - from, 0);
  if (system.length > room)
    throw new InputError("system-size", `The system has ${system.length} bytes; the reserved tracks hold ${room}.`);
  let written = 0;
  for (const { from, to } of layout.system) {
    image.set(system.subarray(written, written + to - from), from);
    written += to - from;
  }
  const directory = new Uint8Array(layout.directoryBlocks * layout.blockSize).fill(FILL);
  const extentsPerEntry = options.parameters.exm + 1;
  const blocksPerEntry = (extentsPerEntry * EXTENT_RECORDS) / layout.recordsPerBlock;
  const seen = new Set<string>();
  let slot = 0;
  let next = layout.directoryBlocks;

  const addEntry = (path: string, head: Uint8Array): Uint8Array => {
    if (slot >= layout.entries) refuse(path, `the directory's ${layout.entries} entries are taken`);
    const entry = directory.subarray(slot * ENTRY, ++slot * ENTRY).fill(0);
    entry.set(head);
    return entry;
  };

  for (const { path, type, bytes, wishes = {} } of tree) {
    if (type === "folder") {
      if (!/^user-([0-9]|1[0-5])$/.test(path)) refuse(path, "it has no folders but user-1 to user-15");
      continue;
    }
    const { user, name } = parsePath(path);
    const key = `${user}/${String.fromCharCode(...name)}`;
    if (seen.has(key) && !wishes["deleted"]) refuse(path, "the name is there twice");
    if (!wishes["deleted"]) seen.add(key);
    for (const [wish, at] of ATTRIBUTE_WISHES) if (wishes[wish]) name[at]! |= 0x80;
    const head = Uint8Array.of(wishes["deleted"] ? FILL : user, ...name);
    const records = Math.ceil(bytes.length / RECORD);
    const padded = new Uint8Array(records * RECORD).fill(END_OF_TEXT);
    padded.set(bytes);
    if (records > 64 * 32 * EXTENT_RECORDS) refuse(path, "a file ends at 32 MiB");
    for (let first = 0; first === 0 || first < records; first += extentsPerEntry * EXTENT_RECORDS) {
      const here = Math.min(records - first, extentsPerEntry * EXTENT_RECORDS);
      const numbers = new Uint16Array(layout.pointers);
      for (let i = 0; i < blocksPerEntry && i * layout.recordsPerBlock < here; i++) {
        const from = (first + i * layout.recordsPerBlock) * RECORD;
        const content = padded.subarray(from, Math.min(from + layout.blockSize, (first + here) * RECORD));
        const last = from + layout.blockSize >= padded.length;
        if (wishes["sparse"] && !last && content.every((byte) => byte === 0)) continue;
        if (next >= layout.blocks) refuse(path, "the disk is full");
        numbers[i] = next;
        const block = new Uint8Array(layout.blockSize).fill(FILL);
        block.set(content);
        writeBlock(image, layout, next++, block);
      }
      // An entry counts up to its last record; one of nothing but holes isn't written.
      const written = numbers.reduce((most, number, i) => (number === 0 ? most : i + 1), 0) * layout.recordsPerBlock;
      if (here > 0 && written === 0) continue;
      const counted = Math.min(here, written);
      const entry = addEntry(path, head);
      // Extent and record count are those of the last extent that the entry reaches.
      const extent = first / EXTENT_RECORDS + Math.max(0, Math.ceil(counted / EXTENT_RECORDS) - 1);
      entry[12] = extent & 31;
      entry[14] = extent >> 5;
      entry[15] = counted === 0 ? 0 : ((counted - 1) % EXTENT_RECORDS) + 1;
      for (let i = 0; i < layout.pointers; i++)
        if (layout.pointerBytes === 1) entry[16 + i] = numbers[i]!;
        else entry.set([numbers[i]! & 0xff, numbers[i]! >> 8], 16 + i * 2);
    }
  }
  for (let block = 0; block < layout.directoryBlocks; block++)
    writeBlock(image, layout, block, directory.subarray(block * layout.blockSize, (block + 1) * layout.blockSize));
  return image;
}
