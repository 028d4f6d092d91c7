import { u24be } from "../../bytes/index.ts";
import { OWNER } from "../types.ts";
import { type Claim, type Claims, type Draft, type Log, worse } from "./claims.ts";
import { contentSectors, type Descriptor, isDescriptor, readDescriptor } from "./descriptor.ts";
import { attributesInLetters, highEndedText } from "./fields.ts";
import { DIRECTORY_SLOT, MOST_SEGMENTS, NAME_BYTES, SECTOR, sectorName } from "./layout.ts";

/** Folders deeper than this are told, not followed: a path stays a path. */
const DEEPEST = 64;

/** What the walk through the directories found. */
export interface Walk {
  entries: Draft[];
  /** The descriptor of each entry that has one. */
  descriptors: Map<Draft, Descriptor>;
  /** How many live entries lead to a descriptor, and the first of them. */
  links: Map<number, { first: Draft; count: number; descriptor: Descriptor; claim: Claim }>;
}

interface Known {
  descriptor: Descriptor | undefined;
  details: Draft["details"];
}

export function walk(image: Uint8Array, total: number, root: Descriptor, claims: Claims, log: Log): Walk {
  const entries: Draft[] = [];
  const descriptors: Walk["descriptors"] = new Map();
  const links: Walk["links"] = new Map();
  const paths = new Map<string, number>();
  /** Descriptors already read; entries of a damaged directory often share one. */
  const read = new Map<number, Known>();
  const walked = new Set<number>();
  /** Descriptors from the root to the folder being read. */
  const chain: number[] = [];
  // Bounds for images whose directories claim each other's sectors: sectors read, and characters of all paths.
  let inDirectories = 2 * claims.owners.length;
  let letters = 16 * image.length;

  const unique = (path: string): string => {
    let free = path;
    for (let n = paths.get(path) ?? 1; paths.has(free); free = `${path}~${n}`) paths.set(path, ++n);
    paths.set(free, 1);
    return free;
  };

  const descriptorAt = (lsn: number): Known => {
    let known = read.get(lsn);
    if (!known) {
      const found = readDescriptor(image, lsn);
      const descriptor = found && isDescriptor(found, total) ? found : undefined;
      const details = descriptor
        ? detailsOf(descriptor)
        : [["Descriptor", `${sectorName(lsn)}, ${found ? "which holds none" : "outside the image"}`] as const];
      known = { descriptor, details };
      read.set(lsn, known);
    }
    return known;
  };

  const addEntry = (slot: number, prefix: string, deleted: boolean): void => {
    const lsn = u24be(image, slot + NAME_BYTES);
    const stored = highEndedText(image, slot + (deleted ? 1 : 0), NAME_BYTES - (deleted ? 1 : 0));
    const name = (deleted ? "?" : "") + (stored.text || (deleted ? "" : "%00"));
    const { descriptor, details } = descriptorAt(lsn);
    const path = unique(prefix + name);
    const entry: Draft = {
      path,
      name,
      nameBytes: image.slice(slot, slot + (deleted ? 1 : 0) + stored.bytes.length),
      type: descriptor?.folder ? "folder" : "file",
      kind: descriptor?.folder ? "folder" : "file",
      size: descriptor?.size ?? 0,
      blocks: [],
      ownBlocks: [],
      details,
      deleted,
      condition: descriptor ? "whole" : "lost",
    };
    if (descriptor) descriptors.set(entry, descriptor);
    letters -= path.length;
    const index = entries.push(entry) - 1;
    if (!stored.ended && !deleted)
      log.add({
        code: "name-without-end",
        condition: "whole",
        sentence: `The name of ${path} has no last character marked by bit 7.`,
        blocks: [Math.floor(slot / SECTOR)],
        files: [path],
        repair: "Set bit 7 of the last character of the name.",
      });
    if (!deleted) enter(entry, index, lsn);
  };

  /** Tells what is wrong with the segments of a live entry and sets its condition. */
  const settle = (entry: Draft, descriptor: Descriptor, claim: Claim): void => {
    entry.blocks = claim.blocks;
    entry.ownBlocks = [descriptor.lsn, ...claim.spare];
    const wanted = contentSectors(descriptor);
    const tell = (code: string, loss: boolean, sentence: string, repair: string): void => {
      const condition = !loss ? "whole" : claim.blocks.length === 0 && wanted > 0 ? "lost" : "readable with loss";
      entry.condition = worse(entry.condition, condition);
      log.add({ code, condition, sentence, blocks: [descriptor.lsn], files: [entry.path], repair });
    };
    if (claim.pastEnd > 0)
      tell(
        "segment-past-end",
        claim.absent > 0,
        `The segments of ${entry.path} reach ${claim.pastEnd} sectors past the end of the volume.`,
        "Take another copy of the disk; else cut the segment list and the size at the last sector that exists.",
      );
    else if (claim.absent > 0)
      tell(
        "segment-past-image",
        true,
        `${claim.absent} sectors of ${entry.path} lie past the end of this image.`,
        "Read the disk again to its last track.",
      );
    if (wanted > descriptor.sectors)
      tell(
        "size-beyond-segments",
        true,
        `${entry.path} states ${descriptor.size} bytes, and its segments hold ${descriptor.sectors * SECTOR}.`,
        "Set the size to what the segments hold, or find the missing segment in lost sectors.",
      );
    if (claim.cut)
      tell(
        "claims-too-much",
        true,
        `The segments of ${entry.path} and of files before it claim the disk several times over; the rest is not counted.`,
        "Leave this entry out: its descriptor is not one.",
      );
  };

  /** `prefix`: the folder's path with a `/` at its end; empty for the root. */
  const visit = (descriptor: Descriptor, prefix: string, claim: Claim): void => {
    walked.add(descriptor.lsn);
    const name = prefix === "" ? "the root directory" : prefix.slice(0, -1);
    const stated = descriptor.size;
    const held = descriptor.sectors * SECTOR;
    const size = stated >= 2 * DIRECTORY_SLOT && stated <= held ? stated : held;
    if (stated < 2 * DIRECTORY_SLOT)
      log.add({
        code: "directory-size",
        condition: "whole",
        sentence: `The size of ${name}, ${stated} bytes, has no room for its parent and self entries; all its sectors were read.`,
        blocks: [descriptor.lsn],
        files: prefix === "" ? [] : [name],
        repair: "Set the size to 32 bytes times the slots in use.",
      });
    const parent = chain[chain.length - 1] ?? descriptor.lsn;
    const inner: number[] = [];
    const rubbish: number[] = [];
    let slots = 0;
    for (const segment of descriptor.segments) {
      for (let sector = 0; sector < segment.count && slots * DIRECTORY_SLOT < size; sector++, slots += 8) {
        const start = (segment.lsn + sector) * SECTOR;
        if (start >= image.length || --inDirectories < 0) {
          slots += 8 * (segment.count - sector);
          break;
        }
        for (let k = 0; k < 8 && (slots + k) * DIRECTORY_SLOT < size; k++) {
          const at = start + k * DIRECTORY_SLOT;
          if (at + DIRECTORY_SLOT > image.length) break;
          if (slots + k === 0 && checkOwn(at, "..", parent, name)) continue;
          if (slots + k === 1 && checkOwn(at, ".", descriptor.lsn, name)) continue;
          const holds = slotHolds(image, at, total);
          if (holds === "entry" || holds === "deleted") inner.push(at);
          else if (holds === "rubbish") rubbish.push(Math.floor(at / SECTOR));
        }
      }
    }
    chain.push(descriptor.lsn);
    for (const at of inner) {
      if (letters < 0) break;
      addEntry(at, prefix, image[at] === 0);
    }
    chain.pop();
    if (rubbish.length > 0)
      log.add({
        code: "slot-without-entry",
        condition: "readable with loss",
        sentence: `${rubbish.length} slots of ${name} hold bytes that are no entry: files named there are not found, or its sectors are not its own.`,
        blocks: [...new Set(rubbish)],
        files: prefix === "" ? [] : [name],
        repair:
          "Compare these sectors with another copy of the disk; look for the files' descriptors among lost sectors.",
      });
    if (claim.cut || inDirectories < 0 || letters < 0)
      log.add({
        code: "directory-cut",
        condition: "readable with loss",
        sentence: `${name} was not read to its end: the directories of this image claim more sectors than it has.`,
        blocks: [descriptor.lsn],
        repair: "Mend the directories told above and look again.",
      });
  };

  /** Checks the parent or self entry; false where the slot holds something else. */
  const checkOwn = (at: number, own: "." | "..", should: number, name: string): boolean => {
    const what = own === "." ? "self" : "parent";
    const there = own === "." ? image[at] === 0xae : image[at] === 0x2e && image[at + 1] === 0xae;
    const leads = u24be(image, at + NAME_BYTES);
    if (there && leads === should) return true;
    log.add({
      code: there ? `wrong-${what}` : `missing-${what}`,
      condition: "whole",
      sentence: there
        ? `The ${what} entry of ${name} leads to sector ${leads} and not to ${should}.`
        : `${name} does not begin with its ${what} entry (${own}).`,
      blocks: [Math.floor(at / SECTOR)],
      repair: `Make the ${what} entry lead to sector ${should}.`,
    });
    return there;
  };

  const enter = (entry: Draft, index: number, lsn: number): void => {
    const descriptor = descriptors.get(entry);
    if (!descriptor) {
      log.add({
        code: "no-descriptor",
        condition: "lost",
        sentence:
          lsn < claims.owners.length
            ? `${sectorName(lsn)}, named as the descriptor of ${entry.path}, is none: most of its segments leave the volume.`
            : `The descriptor of ${entry.path}, ${sectorName(lsn)}, is outside the image.`,
        blocks: lsn < claims.owners.length ? [lsn] : [],
        files: [entry.path],
        repair: "Look for a descriptor of that name's size and date among the lost sectors.",
      });
      return;
    }
    const known = links.get(lsn);
    if (known) {
      known.count++;
      entry.blocks = known.first.blocks;
      entry.ownBlocks = known.first.ownBlocks;
    }
    if (descriptor.folder && (walked.has(lsn) || chain.length >= DEEPEST)) {
      const loop = chain.includes(lsn);
      const twice = loop || walked.has(lsn);
      entry.condition = worse(entry.condition, "readable with loss");
      log.add({
        code: loop ? "folder-loop" : twice ? "folder-twice" : "folder-too-deep",
        condition: "readable with loss",
        sentence: loop
          ? `${entry.path} leads back to a folder that it lies in.`
          : twice
            ? `${entry.path} leads to a folder that another entry already holds.`
            : `${entry.path} lies ${DEEPEST} folders deep; it was not followed.`,
        blocks: [lsn],
        files: [entry.path],
        repair: twice ? "Remove this entry; the folder stays where it was met first." : "Open it by itself.",
      });
      return;
    }
    if (known) return;
    claims.take(lsn, index);
    const claim = claims.takeSegments(descriptor, index);
    links.set(lsn, { first: entry, count: 1, descriptor, claim });
    settle(entry, descriptor, claim);
    if (descriptor.folder) visit(descriptor, `${entry.path}/`, claim);
    else if (startsModule(image, entry.blocks)) entry.kind = "program modules";
  };

  claims.take(root.lsn, OWNER.system);
  const claim = claims.takeSegments(root, OWNER.system);
  if (claim.absent > 0)
    log.add({
      code: "root-incomplete",
      condition: "readable with loss",
      sentence: `${claim.absent} sectors of the root directory are not in this image; files named there are not seen.`,
      blocks: [root.lsn],
      repair: "Read the disk again to its last track.",
    });
  visit(root, "", claim);
  return { entries, descriptors, links };
}

/**
 * What a directory slot holds. A name alone does not make an entry, as most bytes look like one: its descriptor must
 * lie in the volume, or the name must be ended and padded with zero bytes.
 */
function slotHolds(image: Uint8Array, at: number, total: number): "entry" | "deleted" | "rubbish" | "nothing" {
  const lsn = u24be(image, at + NAME_BYTES);
  const inside = lsn > 0 && lsn < total;
  const end = endOfName(image, at + 1, at + NAME_BYTES);
  if (image[at] === 0) return inside && end > 0 ? "deleted" : "nothing";
  if (inside) return "entry";
  const stop = image[at]! & 0x80 ? at + 1 : end;
  if (stop === 0) return "rubbish";
  for (let i = stop; i < at + NAME_BYTES; i++) if (image[i] !== 0) return "rubbish";
  return "entry";
}

/** Where a name ends: behind the first byte with bit 7 set; 0 where a zero byte or the field's end comes first. */
function endOfName(image: Uint8Array, from: number, to: number): number {
  for (let at = from; at < to && image[at] !== 0; at++) if (image[at]! & 0x80) return at + 1;
  return 0;
}

/** Program modules begin with 87 CD (`6809 system programmer's manual, January 1983`). */
const startsModule = (image: Uint8Array, blocks: readonly number[]): boolean => {
  const at = (blocks[0] ?? image.length) * SECTOR;
  return image[at] === 0x87 && image[at + 1] === 0xcd;
};

function detailsOf(descriptor: Descriptor): [string, string][] {
  const pieces = descriptor.segments.length;
  return [
    ["Attributes", attributesInLetters(descriptor.attributes)],
    ["Owner", String(descriptor.owner)],
    ["Modified", descriptor.modified],
    ["Created", descriptor.created],
    ["Links", String(descriptor.links)],
    ["Descriptor", sectorName(descriptor.lsn)],
    [
      "Segments",
      pieces < MOST_SEGMENTS
        ? `${pieces} of ${MOST_SEGMENTS}`
        : `${pieces}: the list is full, the file cannot get another piece`,
    ],
  ];
}
