import { hex, visible } from "../../bytes/index.ts";
import { type Condition, type Entry, OWNER } from "../types.ts";
import { type Damages, worse } from "./damages.ts";
import { type Layout, sectorOf } from "./layout.ts";
import { ATTRIBUTE, attributesInWords, dateInWords, isUsualName, longName, shortName, text } from "./names.ts";
import { BAD, FREE } from "./table.ts";
import { DEEPEST, isFolder, needed, type Slot, type Trace, word } from "./trace.ts";

/** Makes entries, owners and damages of what `trace` met. */

const many = (count: number, what: string): string => `${count} ${what}${count === 1 ? "" : "s"}`;

/** Sectors of clusters, in order. */
function sectorsOf(layout: Layout, clusters: readonly number[]): number[] {
  const sectors: number[] = [];
  for (const cluster of clusters)
    for (let i = 0, at = sectorOf(layout, cluster); i < layout.sectorsPerCluster; i++) sectors.push(at + i);
  return sectors;
}

/** Bytes that an entry holds: a file's stated size, a folder's clusters. */
const contentBytes = (layout: Layout, slot: Slot): number =>
  isFolder(slot) ? slot.clusters.length * layout.clusterBytes : slot.size;

function conditionOf(image: Uint8Array, layout: Layout, slot: Slot): Condition {
  const { clusters } = slot;
  const most = isFolder(slot) ? clusters.length : needed(layout, slot);
  const empty = !isFolder(slot) && slot.size === 0;
  if (empty) return slot.crossed > 0 || slot.shared ? "readable with loss" : "whole";
  // Clusters past the end of a short image cannot be read; of the last one only the part that is content counts.
  const ends = (index: number): number =>
    sectorOf(layout, clusters[index]!) * layout.sectorSize +
    Math.min(layout.clusterBytes, contentBytes(layout, slot) - index * layout.clusterBytes);
  let cut = 0;
  for (let i = 0; i < Math.min(most, clusters.length); i++) if (ends(i) > image.length) cut++;
  if (cut === clusters.length && (cut === 0 || sectorOf(layout, clusters[0]!) * layout.sectorSize >= image.length))
    return "lost";
  // That a deleted file's clusters are free does not prove that nothing else was in them since.
  if (slot.deleted || slot.blank || slot.rescued > 0 || slot.crossed > 0 || slot.shared) return "readable with loss";
  const broken = clusters.length < most || (isFolder(slot) && slot.end !== "last");
  return broken || cut > 0 ? "readable with loss" : "whole";
}

function detailsOf(image: Uint8Array, layout: Layout, slot: Slot): [string, string][] {
  const { at } = slot;
  const details: [string, string][] = [["Attributes", attributesInWords(slot.attributes)]];
  const modified = dateInWords(word(image, at + 24), word(image, at + 22));
  if (modified) details.push(["Modified", modified]);
  // Bytes 12 to 21 are reserved in ECMA-107; later systems keep two more dates there.
  const created = dateInWords(word(image, at + 16), word(image, at + 14));
  if (created && !created.startsWith("no")) details.push(["Created", created]);
  const read = dateInWords(word(image, at + 18), 0);
  if (read && !read.startsWith("no")) details.push(["Last read", read.slice(0, 10)]);
  details.push(["First cluster", String(slot.start)]);
  if (slot.pieces.length > 0) details.push(["Long name", visible(longName(image, slot.pieces))]);
  if (slot.deleted && !isFolder(slot) && slot.size > 0)
    details.push([
      "Still free",
      `${slot.clusters.length} of ${many(needed(layout, slot), "cluster")}, read as one piece from the first`,
    ]);
  else if (slot.rescued > 0)
    details.push(["Read beyond the break", `${many(slot.rescued, "cluster")} that the FAT calls free`]);
  return details;
}

/** Entries in the order of the slots, so that an owner's index is an entry's. */
export function entriesOf(image: Uint8Array, layout: Layout, found: Trace, damages: Damages): Entry[] {
  const met = new Map<number, Map<string, number>>();
  const entries: Entry[] = [];
  for (const slot of found.slots) {
    const stored = shortName(image, slot.at, slot.deleted);
    const names = met.get(slot.folder) ?? new Map<string, number>();
    met.set(slot.folder, names);
    let name = stored;
    let times = names.get(stored) ?? 0;
    if (times > 0) {
      do name = `${stored}~${++times}`;
      while (names.has(name));
      names.set(stored, times);
    }
    names.set(name, Math.max(1, names.get(name) ?? 0));
    const path = slot.folder < 0 ? name : `${entries[slot.folder]!.path}/${name}`;
    const sector = Math.floor(slot.at / layout.sectorSize);
    if (name !== stored && !slot.deleted)
      damages.add(
        "same-name",
        "whole",
        `The name ${stored} is met again in the same folder; the later one is shown as ${name}.`,
        [sector],
        [path.slice(0, path.length - name.length) + stored, path],
        "Give one of the two another name.",
      );
    entries.push({
      path,
      name,
      nameBytes: image.slice(slot.at, slot.at + 11),
      type: isFolder(slot) ? "folder" : "file",
      kind: isFolder(slot) ? "subdirectory" : slot.attributes & ATTRIBUTE.system ? "system file" : "file",
      size: contentBytes(layout, slot),
      blocks: sectorsOf(layout, slot.clusters),
      ownBlocks: [],
      details: detailsOf(image, layout, slot),
      deleted: slot.deleted,
      condition: conditionOf(image, layout, slot),
    });
  }
  return entries;
}

const BREAKS: Partial<Record<Slot["end"], readonly [code: string, words: (stop: number) => string]>> = {
  free: ["broken-chain", (stop) => `runs into cluster ${stop}, which the FAT calls free`],
  bad: [
    "bad-cluster",
    (stop) => (stop === BAD ? "runs into the mark of a bad cluster" : `runs into cluster ${stop}, which is marked bad`),
  ],
  outside: ["chain-outside", (stop) => `points to ${hex(stop, 3)}, which is no cluster of this volume`],
  loop: ["loop", (stop) => `comes back to its own cluster ${stop}`],
  tangle: ["tangle", (stop) => `is crossed so often that it was not followed past cluster ${stop}`],
};

/** What is wrong with the chain of one live entry. */
function tellChain(layout: Layout, found: Trace, entries: readonly Entry[], index: number, damages: Damages): void {
  const slot = found.slots[index]!;
  const { path, condition, blocks } = entries[index]!;
  const have = slot.clusters.length - slot.rescued;
  const must = needed(layout, slot);
  const sector = Math.floor(slot.at / layout.sectorSize);
  const broken = BREAKS[slot.end];
  if (broken) {
    const rescued =
      slot.rescued > 0 ? ` ${many(slot.rescued, "cluster")} there, not in use elsewhere, can be read as the rest.` : "";
    const [code, words] = broken;
    // A break past the content costs nothing.
    const cost = !isFolder(slot) && have >= must ? "whole" : worse(condition, "readable with loss");
    damages.add(
      code,
      cost,
      `The chain of ${path} ${words(slot.stop)}, after ${many(have, "cluster")}.${rescued}`,
      blocks.length > 0 ? blocks.slice(-layout.sectorsPerCluster) : [sector],
      [path],
      "End the chain there, and copy out first what can be read.",
    );
  }
  if (slot.crossed > 0) {
    const other = entries[slot.crossedWith]!.path;
    damages.add(
      "crossed-chain",
      "readable with loss",
      `${path} and ${other} both claim cluster ${slot.crossedAt}${slot.crossed > 1 ? ` and ${slot.crossed - 1} more` : ""}: the content of one of them is wrong.`,
      sectorsOf(
        layout,
        slot.clusters.filter((cluster) => found.clash[cluster] === 1),
      ),
      [path, other],
      "Copy both files out, look which one is right, and give the other clusters of its own.",
    );
  }
  if (isFolder(slot)) {
    if (slot.end === "none")
      damages.add(
        "no-start",
        "lost",
        `The folder ${path} names no first cluster, so what was in it cannot be found from it.`,
        [sector],
        [path],
        "Look for its entries among the lost clusters; otherwise remove the folder.",
      );
    return;
  }
  if (have < must && !broken)
    damages.add(
      "short-chain",
      condition,
      `${path} says it has ${many(slot.size, "byte")}, but its chain of ${many(have, "cluster")} holds only ${have * layout.clusterBytes}.`,
      blocks.length > 0 ? blocks.slice(-layout.sectorsPerCluster) : [sector],
      [path],
      "Set the size to what the chain holds, or find the rest among the lost clusters.",
    );
  if (slot.end === "overrun" || (have > must && slot.crossed === 0)) {
    const other = slot.end === "overrun" ? entries[found.owner[slot.stop]!]!.path : "";
    const beyond = have > must ? `${many(have - must, "cluster")} more than that takes` : "no end there";
    damages.add(
      "long-chain",
      "whole",
      `${path} says it has ${many(slot.size, "byte")}, but its chain has ${beyond}${other ? `, and goes on into cluster ${slot.stop} of ${other}` : ""}.`,
      have > must ? blocks.slice(must * layout.sectorsPerCluster) : [sector],
      [path],
      other
        ? "End the chain where the size says; the clusters beyond are the other file's."
        : "Free the clusters past the end, once it is sure that the size is right.",
    );
  }
}

/** What is wrong with entries, folders and chains. */
export function tellTrace(
  image: Uint8Array,
  layout: Layout,
  found: Trace,
  entries: readonly Entry[],
  damages: Damages,
): void {
  const sectorAt = (at: number): number => Math.floor(at / layout.sectorSize);
  found.slots.forEach((slot, index) => {
    if (slot.deleted) return;
    const { path, condition } = entries[index]!;
    const sector = sectorAt(slot.at);
    tellChain(layout, found, entries, index, damages);
    const stated = isFolder(slot) ? (word(image, slot.at + 28) | (word(image, slot.at + 30) << 16)) >>> 0 : 0;
    if (stated > 0)
      damages.add(
        "folder-size",
        "whole",
        `The folder ${path} states a size of ${many(stated, "byte")}, where folders state 0.`,
        [sector],
        [path],
        "Set the size to 0.",
      );
    const oddBits = (slot.attributes & (0xc0 | ATTRIBUTE.label)) !== 0;
    if (!isUsualName(image, slot.at) || oddBits)
      damages.add(
        "odd-entry",
        condition,
        `The entry of ${path} has ${oddBits ? "attribute bits" : "a name"} that no system would write.`,
        [sector],
        [path],
        "Rename the file or clear the bits, if the content proves sound.",
      );
  });
  for (const { folder, sector, name, found: there, expected } of found.dots) {
    if (found.slots[folder]!.blank) {
      if (name === ".")
        damages.add(
          "blank-folder",
          "readable with loss",
          `The folder ${entries[folder]!.path} begins with an empty sector: the entries that were in it are lost.`,
          [sector],
          [entries[folder]!.path],
          "Look for the files among the lost clusters; write . and .. anew.",
        );
      continue;
    }
    damages.add(
      "dot-entry",
      "whole",
      `The folder ${entries[folder]!.path} ${there === undefined ? `has no entry ${name} in its place` : `has an entry ${name} that points to ${there} and not to ${expected}`}.`,
      [sector],
      [entries[folder]!.path],
      `Write the entry ${name} with first cluster ${expected}.`,
    );
  }
  for (const index of found.tooDeep)
    damages.add(
      "too-deep",
      "lost",
      `The folder ${entries[index]!.path.slice(-60)} lies deeper than ${DEEPEST} folders, more than a path can name; it was not entered.`,
      [sectorAt(found.slots[index]!.at)],
      [],
      "Check whether the folders above it are real.",
    );
  tellStray(layout, found, damages);
}

/** Entries that belong to nothing, and clusters that nothing claims. */
function tellStray(layout: Layout, found: Trace, damages: Damages): void {
  const sectors = (offsets: readonly number[]): number[] => [
    ...new Set(offsets.map((at) => Math.floor(at / layout.sectorSize))),
  ];
  if (found.rubbish.length > 0)
    damages.add(
      "damaged-entry",
      "lost",
      `${many(found.rubbish.length, "directory entry").replace("entrys", "entries")} hold no sense and are passed over; what they named may be among the lost clusters.`,
      sectors(found.rubbish),
      [],
      "Mark the entries as deleted, and look at the lost clusters.",
    );
  if (found.misplaced.length > 0)
    damages.add(
      "misplaced-entry",
      "whole",
      `${many(found.misplaced.length, "entry").replace("entrys", "entries")} of a kind that has one place only (volume label, . or ..) lie elsewhere.`,
      sectors(found.misplaced),
      [],
      "Mark the entries as deleted.",
    );
  if (found.orphans.length > 0)
    damages.add(
      "orphan-long-name",
      "whole",
      `${many(found.orphans.length, "piece")} of long names belong to no entry.`,
      sectors(found.orphans),
      [],
      "Mark the pieces as deleted; the short names stay.",
    );
  if (found.lost.length > 0)
    damages.add(
      "lost-cluster",
      "whole",
      `${many(found.lost.length, "cluster")} (first ${found.lost[0]}) are in use in the FAT, but no entry claims them.`,
      sectorsOf(layout, found.lost),
      [],
      "Copy them out, in case they hold what an entry has lost; then free them.",
    );
}

/** The owner of each block, of `blocks` in all. */
export function ownersOf(layout: Layout, found: Trace, fat: Uint16Array, blocks: number): Int32Array {
  const owners = new Int32Array(blocks).fill(OWNER.free);
  owners.fill(OWNER.system, 0, layout.dataStart);
  for (let cluster = 2; cluster < fat.length; cluster++) {
    const slot = found.owner[cluster]!;
    const owner =
      found.clash[cluster] === 1
        ? OWNER.clash
        : slot >= 0
          ? slot
          : fat[cluster] === BAD
            ? OWNER.bad
            : fat[cluster] === FREE
              ? OWNER.free
              : OWNER.lost;
    const at = sectorOf(layout, cluster);
    owners.fill(owner, at, at + layout.sectorsPerCluster);
  }
  return owners;
}

/** The volume label: the root directory's entry, or the one that the descriptor repeats. */
export function labelOf(image: Uint8Array, found: Trace, byDescriptor: boolean): string {
  if (found.labelAt >= 0) return text(image, found.labelAt, found.labelAt + 11).trimEnd();
  if (!byDescriptor || image[0x26] !== 0x29) return "";
  const label = text(image, 0x2b, 0x36).trimEnd();
  return label === "NO NAME" ? "" : label;
}
