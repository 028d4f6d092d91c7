import { OWNER } from "../types.ts";
import type { Draft, Log } from "./claims.ts";
import { worse } from "./claims.ts";
import { contentSectors } from "./descriptor.ts";
import {
  bootstrapSectors,
  type Identification,
  MAP_SECTOR,
  mapBytesFor,
  SECTOR,
  type SegmentListOptions,
  sectorName,
} from "./layout.ts";
import type { Walk } from "./walk.ts";

/** What the walk found, held against the map, the link counts and the bootstrap. */

const pathsOf = (blocks: Iterable<number>, owners: Int32Array, entries: readonly Draft[]): string[] => {
  const found = new Set<string>();
  for (const block of blocks) {
    const path = entries[owners[block] ?? -1]?.path;
    if (path) found.add(path);
  }
  return [...found];
};

/**
 * Compares the allocation map (bit 7 of its first byte is cluster 0, from memory; set is allocated) with the sectors
 * that files hold, marks lost sectors in `owners`, and returns the sectors that the map calls free; null where the
 * image ends within the map.
 */
export function checkMap(
  image: Uint8Array,
  { total, clusterSectors }: SegmentListOptions,
  owners: Int32Array,
  entries: readonly Draft[],
  log: Log,
): number | null {
  const mapBytes = mapBytesFor(total, clusterSectors);
  const map = image.subarray(MAP_SECTOR * SECTOR, MAP_SECTOR * SECTOR + mapBytes);
  const clusters = Math.ceil(total / clusterSectors);
  const inMap = Math.min(clusters, map.length * 8);
  let free = 0;
  const heldButFree: number[] = [];
  const lost: number[] = [];
  for (let cluster = 0; cluster < inMap; cluster++) {
    const first = cluster * clusterSectors;
    const end = Math.min(first + clusterSectors, total);
    const allocated = (map[cluster >> 3]! & (0x80 >> (cluster & 7))) !== 0;
    if (!allocated) free += end - first;
    let holder: number = OWNER.free;
    for (let block = first; block < Math.min(end, owners.length) && holder === OWNER.free; block++)
      holder = owners[block]!;
    if (holder === OWNER.free) {
      // A last cluster that the disk has only a part of is allocated for good.
      if (!allocated || first + clusterSectors > total) continue;
      for (let block = first; block < Math.min(end, owners.length); block++) {
        owners[block] = OWNER.lost;
        lost.push(block);
      }
    } else {
      for (let block = first; block < Math.min(end, owners.length); block++) {
        if (owners[block] === OWNER.free) owners[block] = holder === OWNER.clash ? OWNER.system : holder;
        else if (!allocated) heldButFree.push(block);
      }
    }
  }
  if (heldButFree.length > 0)
    log.add({
      code: "held-but-free",
      condition: "whole",
      sentence: `${heldButFree.length} sectors that files or the bootstrap hold are free in the map: the next file written would overwrite them.`,
      blocks: heldButFree,
      files: pathsOf(heldButFree, owners, entries),
      repair: "Mark their clusters allocated before anything is written to the disk.",
    });
  if (lost.length > 0)
    log.add({
      code: "lost-sector",
      condition: "whole",
      sentence: `${lost.length} sectors are allocated in the map, and no file holds them: bad sectors, or what is left of a file.`,
      blocks: lost,
      repair: "Look at their bytes; where they hold nothing and are readable, mark their clusters free.",
    });
  if (map.length < mapBytes) {
    log.add({
      code: "map-incomplete",
      condition: "whole",
      sentence: `The image ends within the allocation map: ${map.length} of ${mapBytes} bytes are there.`,
      repair: "Read the disk again to its last track.",
    });
    return null;
  }
  let tail = 0;
  for (let bit = clusters; bit < mapBytes * 8; bit++) if ((map[bit >> 3]! & (0x80 >> (bit & 7))) === 0) tail++;
  if (tail > 0)
    log.add({
      code: "map-tail-free",
      condition: "whole",
      sentence: `The map calls ${tail} clusters past the end of the volume free: a file could be given sectors that do not exist.`,
      blocks: [MAP_SECTOR + Math.floor((mapBytes - 1) / SECTOR)],
      repair: "Set the unused bits at the end of the map.",
    });
  return free;
}

/** Sectors held by more than one: told once for each set of holders, which lose their soundness. */
export function checkClashes(clashes: ReadonlyMap<number, number[]>, entries: readonly Draft[], log: Log): void {
  const groups = new Map<string, { holders: number[]; blocks: number[] }>();
  for (const [block, holders] of clashes) {
    const key = holders.join();
    const group = groups.get(key);
    if (group) group.blocks.push(block);
    else groups.set(key, { holders: [...new Set(holders)], blocks: [block] });
  }
  for (const { holders, blocks } of groups.values()) {
    const files: string[] = [];
    for (const holder of holders) {
      const entry = entries[holder];
      if (!entry) continue;
      entry.condition = worse(entry.condition, "readable with loss");
      files.push(entry.path);
    }
    const shown =
      files.length > 3 ? `${files.slice(0, 3).join(", ")} and ${files.length - 3} more` : files.join(" and ");
    const sectors = blocks.length === 1 ? "1 sector" : `${blocks.length} sectors`;
    log.add({
      code: "shared-sector",
      condition: "readable with loss",
      sentence: holders.includes(OWNER.system)
        ? `${shown || "The root directory"} holds ${sectors} of the volume's own records.`
        : files.length === 1
          ? `${shown} holds ${sectors} twice.`
          : `${shown} hold the same ${sectors}; at most one of them is right.`,
      blocks,
      files,
      repair: "Copy each file out, see which one the sectors fit, and remove the others.",
    });
  }
}

/**
 * Entries of one descriptor share its condition. Tells files whose link count is not the number of entries; those of
 * folders are not compared, as the manual does not say what they count.
 */
export function checkLinks({ entries, descriptors, links }: Walk, log: Log): void {
  for (const entry of entries) {
    const first = entry.deleted ? undefined : links.get(descriptors.get(entry)?.lsn ?? 0)?.first;
    if (first) entry.condition = worse(entry.condition, first.condition);
  }
  for (const { first, count, descriptor } of links.values())
    if (!descriptor.folder && descriptor.links !== count)
      log.add({
        code: "link-count",
        condition: "whole",
        sentence: `The descriptor of ${first.path} counts ${descriptor.links} links, and ${count} ${count === 1 ? "entry leads" : "entries lead"} to it.`,
        blocks: [descriptor.lsn],
        files: [first.path],
        repair: `Set the link count to ${count}.`,
      });
}

/** What can still be had of deleted files: all while nobody has taken their sectors. */
export function checkDeleted({ entries, descriptors }: Walk, owners: Int32Array): void {
  let budget = 4 * owners.length;
  for (const entry of entries) {
    const descriptor = descriptors.get(entry);
    if (!entry.deleted || !descriptor) continue;
    if (owners[descriptor.lsn] !== OWNER.free) {
      // The descriptor's sector has a new use, so what it says is no longer about this file.
      descriptors.delete(entry);
      Object.assign(entry, { condition: "lost", size: 0, type: "file", kind: "file" });
      entry.details = [["Descriptor", `${sectorName(descriptor.lsn)}, in use by something else`]];
      continue;
    }
    const wanted = contentSectors(descriptor);
    const blocks: number[] = [];
    let free = 0;
    for (const { lsn, count } of descriptor.segments)
      for (let block = lsn; block < Math.min(lsn + count, owners.length) && blocks.length < wanted; block++) {
        if (budget-- <= 0) break;
        blocks.push(block);
        if (owners[block] === OWNER.free) free++;
      }
    entry.blocks = blocks;
    entry.ownBlocks = [descriptor.lsn];
    entry.condition = free >= wanted ? "whole" : free > 0 ? "readable with loss" : "lost";
    entry.details = [...entry.details, ["Sectors still free", `${free} of ${wanted}`]];
  }
}

/** Gives the bootstrap's sectors to the system where no file holds them: a bootstrap need not be a file. */
export function takeBootstrap({ bootstrap: { start, bytes } }: Identification, owners: Int32Array): void {
  if (start === 0) return;
  const end = Math.min(start + Math.ceil(bytes / SECTOR), owners.length);
  for (let block = start; block < end; block++) if (owners[block] === OWNER.free) owners[block] = OWNER.system;
}

/** The bootstrap in words, and what is wrong with it. */
export function checkBootstrap(
  { bootstrap: { start, bytes } }: Identification,
  { total }: SegmentListOptions,
  owners: Int32Array,
  { entries, descriptors }: Walk,
  log: Log,
): string {
  if (start === 0) return "none";
  const sectors = bootstrapSectors(bytes);
  const words = `${bytes} bytes from ${sectorName(start)}, ${sectors} sectors`;
  const tell = (code: string, loss: boolean, sentence: string, repair: string, files: string[] = []): void =>
    log.add({ code, condition: loss ? "readable with loss" : "whole", sentence, blocks: [start], files, repair });
  if (bytes === 0) {
    tell("bootstrap-empty", false, `The bootstrap at ${sectorName(start)} has no bytes.`, "Write the bootstrap again.");
    return words;
  }
  const end = Math.min(total, owners.length);
  if (start + sectors > end)
    tell(
      "bootstrap-past-end",
      true,
      `The bootstrap needs sectors ${start} to ${start + sectors - 1}, and the last one is ${end - 1}.`,
      "Write the bootstrap again.",
    );
  const file = entries.find((entry) => !entry.deleted && entry.type === "file" && entry.blocks[0] === start);
  if (!file) {
    let taken = 0;
    for (let block = start; block < Math.min(start + sectors, end); block++)
      if (owners[block]! >= 0 || owners[block] === OWNER.clash) taken++;
    if (taken > 0)
      tell(
        "bootstrap-overwritten",
        true,
        `${taken} sectors of the bootstrap belong to files that do not begin where it begins.`,
        "Write the bootstrap again.",
      );
    return `${words}, no file's`;
  }
  const segment = descriptors.get(file)!.segments[0]!;
  if (bytes !== file.size)
    tell(
      "bootstrap-size",
      false,
      `Sector 0 states ${bytes} bytes of bootstrap, and its file ${file.path} has ${file.size}.`,
      "Write the bootstrap again from this file.",
      [file.path],
    );
  if (segment.count * SECTOR < bytes)
    tell(
      "bootstrap-in-pieces",
      false,
      `The bootstrap must lie in one piece; the first piece of ${file.path} has ${segment.count} of ${Math.ceil(bytes / SECTOR)} sectors, so it will not start.`,
      "Copy the file to a place where it lies in one piece and write the bootstrap again.",
      [file.path],
    );
  return `${words}, the file ${file.path}`;
}
