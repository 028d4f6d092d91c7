import { type BlockMap, mapBlocks, placeInWords } from "@rouse/core/geometry";
import { OWNER } from "@rouse/core/volume";
import type { ImageReport } from "../../job/types.ts";
import { counted } from "../../parts/words.ts";

/** What a sector is to the eye. */
export type Look = "free" | "system" | "book" | "file" | "bad" | "lost" | "clash";

export interface Disk {
  map: BlockMap;
  looks: readonly Look[];
  /** Index of the entry that owns a block; below 0 for none. */
  owners: readonly number[];
  /** Sentences of the damages that name a block. */
  damaged: ReadonlyMap<number, readonly string[]>;
  blocks: NonNullable<ImageReport["disk"]>["blocks"];
  entries: NonNullable<ImageReport["survey"]["volume"]>["entries"];
}

const BY_OWNER: Readonly<Record<number, Look>> = {
  [OWNER.free]: "free",
  [OWNER.system]: "system",
  [OWNER.bad]: "bad",
  [OWNER.lost]: "lost",
  [OWNER.clash]: "clash",
};

export const LOOK_WORDS: Readonly<Record<Look, string>> = {
  free: "free",
  system: "system and volume bookkeeping",
  book: "folders and bookkeeping of files",
  file: "files",
  bad: "marked as bad",
  lost: "in use, but no file's",
  clash: "claimed by two files",
};

/** The disk of a report, ready to be drawn and asked; null where no volume was recognised. */
export function diskOf({ disk, survey }: ImageReport): Disk | null {
  if (!disk || !survey.volume) return null;
  const { entries, damages } = survey.volume;
  const book = new Set(disk.blocks.flatMap(({ own }) => own));
  const looks = disk.owners.map((owner, block): Look => {
    if (owner < 0) return BY_OWNER[owner] ?? "free";
    return book.has(block) || entries[owner]?.type === "folder" ? "book" : "file";
  });
  const damaged = new Map<number, string[]>();
  for (const { blocks, sentence } of damages)
    for (const block of blocks) damaged.set(block, [...(damaged.get(block) ?? []), sentence]);
  return { map: mapBlocks(disk.geometry), looks, owners: disk.owners, damaged, blocks: disk.blocks, entries };
}

/** What a sector is, in words. */
export interface Told {
  block: number;
  place: string;
  offset: number;
  size: number;
  owner: string;
  look: Look;
  damages: readonly string[];
}

export function tell(disk: Disk, block: number): Told {
  const { map, looks, owners, blocks, entries } = disk;
  const look = looks[block] ?? "free";
  const owner = owners[block] ?? OWNER.free;
  const entry = entries[owner];
  const own = blocks[owner];
  let says = LOOK_WORDS[look];
  if (entry && own) {
    const at = own.content.indexOf(block);
    const part = at >= 0 ? `block ${at + 1} of ${own.content.length}` : "its bookkeeping";
    says = `${entry.type} ${entry.path}, ${part}`;
  }
  return {
    block,
    place: placeInWords(map.geometry, map.place(block)),
    offset: map.offset(block),
    size: map.size(block),
    owner: says,
    look,
    damages: disk.damaged.get(block) ?? [],
  };
}

export const inOneSentence = ({ block, place, owner, damages }: Told): string =>
  `Block ${block}, ${place}: ${owner}.${damages.length > 0 ? ` Damaged: ${damages.join(" ")}` : ""}`;

/** "Tracks 1 to 39: 29 sectors of 256 bytes", zone by zone. */
export function zonesInWords({ map: { geometry } }: Disk): string[] {
  const { firstTrack, zones } = geometry;
  return zones.map(({ from, to, side, sectors, size }) => {
    const tracks = from === to ? `Track ${from + firstTrack}` : `Tracks ${from + firstTrack} to ${to + firstTrack}`;
    return `${tracks}${side === undefined ? "" : `, side ${side}`}: ${counted(sectors, "sector")} of ${size} bytes`;
  });
}

/** Where a key leads from a block; undefined where it leads nowhere. */
export function keyedFrom({ map }: Disk, block: number, key: string, whole: boolean): number | undefined {
  const { track, side, sector } = map.place(block);
  const { tracks, sides } = map.geometry;
  const count = sectorsOn(map, track, side);
  const at = (onTrack: number, onSide: 0 | 1 = side): number => {
    const to = Math.max(0, Math.min(tracks - 1, onTrack));
    const there = sectorsOn(map, to, onSide);
    return map.block({
      track: to,
      side: onSide,
      sector: Math.min(there - 1, Math.floor(((sector + 0.5) / count) * there)),
    });
  };
  switch (key) {
    case "ArrowRight":
      return map.block({ track, side, sector: (sector + 1) % count });
    case "ArrowLeft":
      return map.block({ track, side, sector: (sector + count - 1) % count });
    case "ArrowUp":
      return at(track - 1);
    case "ArrowDown":
      return at(track + 1);
    case "PageUp":
      return at(track - 10);
    case "PageDown":
      return at(track + 10);
    case "Home":
      return whole ? 0 : map.block({ track, side, sector: 0 });
    case "End":
      return whole ? map.blocks - 1 : map.block({ track, side, sector: count - 1 });
    case "s":
    case "S":
      return sides === 2 ? at(track, side === 0 ? 1 : 0) : undefined;
    default:
      return undefined;
  }
}

export const sectorsOn = ({ geometry }: BlockMap, track: number, side: 0 | 1): number =>
  geometry.zones.find((each) => track >= each.from && track <= each.to && (each.side ?? side) === side)?.sectors ?? 0;
