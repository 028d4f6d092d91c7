import type { Catalogue, Recording } from "../catalogue/index.ts";
import { FormatError, InputError } from "../errors/index.ts";
import { nearest } from "../errors/nearest.ts";
import { type Geometry, mapBlocks, uniform } from "../geometry/index.ts";
import { type BuildChainedBlock, buildChainedBlock } from "./chained-block/build.ts";
import { LAYOUT_NAMES, layoutOf as zonedLayout } from "./chained-block/layout.ts";
import { buildExtentEntry } from "./extent-entry/build.ts";
import { layoutOf as extentLayout, makeOptions } from "./extent-entry/layout.ts";
import { shapesFor } from "./extent-entry/shapes.ts";
import { buildFat12 } from "./fat12/build.ts";
import { STANDARD_FORMATS } from "./fat12/layout.ts";
import type { Side, SideVolume } from "./make-side.ts";
import { buildSegmentList, type SegmentListBuild } from "./segment-list/build.ts";
import type { TreeEntry, VolumeKind } from "./types.ts";

/** An image that can be made: a kind of volume on a recording or a standard disk. */
export interface MakeFormat {
  /** `fat12-720k`, `chained-block-zoned-77-two-side`. */
  id: string;
  kind: VolumeKind;
  title: string;
  bytes: number;
  /** Keys under `volume` in the side file that this kind takes. */
  takes: readonly (keyof SideVolume)[];
  build(tree: readonly TreeEntry[], volume: SideVolume, boot: Uint8Array | undefined): Uint8Array;
}

const FAT_TAKES = ["label", "serial"] as const;
const EXTENT_TAKES = ["skew", "reservedTracks", "blockSize", "entries"] as const;
const CHAINED_TAKES = ["label", "id", "lastByte"] as const;
const SEGMENT_TAKES = ["label", "owner", "created", "number", "clusterSectors", "bootstrap", "singleDensity"] as const;

/** Places in sector 0 of a FAT12 volume that are the descriptor's (ECMA-107 clause 9): a boot program goes around them. */
const DESCRIPTOR = { from: 3, to: 0x3e } as const;

const noBoot = (boot: Uint8Array | undefined, why: string): void => {
  if (boot) throw new InputError("no-boot-block", `A boot block can't be put on this kind of volume: ${why}.`);
};

function fat12Format(name: string, id: string, title: string): MakeFormat {
  const standard = STANDARD_FORMATS.find((each) => each.name === name)!;
  const bytes = standard.tracks * standard.sides * standard.sectorsPerTrack * standard.sectorSize;
  return {
    id,
    kind: "fat12",
    title,
    bytes,
    takes: FAT_TAKES,
    build(tree, { label, serial = 0 }, boot) {
      const image = buildFat12(tree, {
        format: name,
        ...(label === undefined ? {} : { label: label.toUpperCase() }),
        serial,
      });
      if (!boot) return image;
      if (boot.length > standard.sectorSize)
        throw new InputError(
          "boot-size",
          `The boot block has ${boot.length} bytes; sector 0 holds ${standard.sectorSize}.`,
        );
      for (let at = 0; at < boot.length; at++) if (at < DESCRIPTOR.from || at >= DESCRIPTOR.to) image[at] = boot[at]!;
      return image;
    },
  };
}

/** The geometry as one run of equal tracks, or undefined. */
function evenTracks({
  geometry,
}: Recording): { tracks: number; sides: 1 | 2; sectors: number; size: number } | undefined {
  const [zone, ...more] = geometry.zones;
  return zone && more.length === 0 && zone.side === undefined
    ? { tracks: geometry.tracks, sides: geometry.sides, sectors: zone.sectors, size: zone.size }
    : undefined;
}

const sameZones = (a: Geometry, b: Geometry): boolean =>
  a.tracks === b.tracks &&
  a.sides === b.sides &&
  mapBlocks(a).blocks === mapBlocks(b).blocks &&
  a.zones.every((zone, i) => {
    const other = b.zones[i];
    return other && zone.from === other.from && zone.sectors === other.sectors && zone.size === other.size;
  });

const buildZoned = (layout: BuildChainedBlock["layout"]): MakeFormat["build"] => {
  return (tree, { label = "", id = "00", lastByte }, boot) => {
    noBoot(boot, "its computer loads files by name");
    return buildChainedBlock(tree, { layout, name: label || "DISK", id, ...(lastByte ? { lastByte } : {}) });
  };
};

const buildSegments = (
  disk: { zoned: BuildChainedBlock["layout"] } | { tracks: number; sides: 1 | 2; sectors: number },
): MakeFormat["build"] => {
  return (tree, { label, owner, created, number, clusterSectors, bootstrap, singleDensity }, boot) => {
    noBoot(boot, "name its file under volume.bootstrap; it is laid in one piece and named in sector 0");
    const wishes: Record<string, unknown> = { name: label, owner, created, id: number, clusterSectors, bootstrap };
    const given = Object.fromEntries(Object.entries(wishes).filter(([, value]) => value !== undefined));
    return buildSegmentList(tree, { ...disk, ...given, doubleDensity: singleDensity !== true } as SegmentListBuild);
  };
};

/** Usual numbers for an extent-entry volume of this size; common practice, no source, but for the 8-inch one (ECMA-54). */
function usualExtents(geometry: Geometry): {
  skew: number;
  reservedTracks: number;
  blockSize: 1024 | 2048;
  entries: number;
} {
  const standard = geometry.tracks === 77 && geometry.sides === 1 && geometry.zones[0]?.size === 128;
  const small = mapBlocks(geometry).bytes <= 256 * 1024;
  return { skew: standard ? 6 : 1, reservedTracks: 2, blockSize: small ? 1024 : 2048, entries: small ? 64 : 128 };
}

function extentFormat(id: string, title: string, geometry: Geometry): MakeFormat | undefined {
  const usual = usualExtents(geometry);
  const { bytes } = mapBlocks(geometry);
  // Such an image has no mark of its shape but its size: one that would not be known again is not made.
  const known = shapesFor(bytes).some(
    (shape) =>
      shape.bytes === bytes && shape.geometry.tracks === geometry.tracks && shape.geometry.sides === geometry.sides,
  );
  if (!known) return undefined;
  try {
    extentLayout(makeOptions(geometry, usual));
  } catch (error) {
    // Not every track layout can carry such a volume; those that can't are not listed.
    if (error instanceof FormatError || error instanceof InputError) return undefined;
    throw error;
  }
  return {
    id,
    kind: "extent-entry",
    title,
    bytes,
    takes: EXTENT_TAKES,
    build(tree, wishes, boot) {
      const own = Object.fromEntries(
        EXTENT_TAKES.flatMap((key) => (wishes[key] === undefined ? [] : [[key, wishes[key]]])),
      );
      return buildExtentEntry(tree, makeOptions(geometry, { ...usual, ...own }), boot);
    },
  };
}

/** Every volume kind on every recording of the catalogue that can carry it, and the standard FAT12 disks by size. */
export function makeFormats(catalogue: Catalogue): MakeFormat[] {
  const formats: MakeFormat[] = STANDARD_FORMATS.map(({ name, tracks, sides, sectorsPerTrack, sectorSize }) =>
    fat12Format(
      name,
      `fat12-${name.toLowerCase().replace(" ", "-")}`,
      `FAT12 volume, ${tracks} tracks, ${sides === 2 ? "two sides" : "one side"}, ${sectorsPerTrack} × ${sectorSize} bytes`,
    ),
  );
  for (const recording of catalogue.recordings.values()) {
    const even = evenTracks(recording);
    if (even) {
      const standard = STANDARD_FORMATS.find(
        (each) =>
          each.tracks === even.tracks &&
          each.sides === even.sides &&
          each.sectorsPerTrack === even.sectors &&
          each.sectorSize === even.size,
      );
      if (standard)
        formats.push(fat12Format(standard.name, `fat12-${recording.id}`, `FAT12 volume; ${recording.title}`));
      if (even.size === 256)
        formats.push({
          id: `segment-list-${recording.id}`,
          kind: "segment-list",
          title: `segment-list volume; ${recording.title}`,
          bytes: even.tracks * even.sides * even.sectors * even.size,
          takes: SEGMENT_TAKES,
          build: buildSegments({ tracks: even.tracks, sides: even.sides, sectors: even.sectors }),
        });
    }
    const zoned = LAYOUT_NAMES.find((name) => sameZones(zonedLayout(name).geometry, recording.geometry));
    if (zoned) {
      const bytes = mapBlocks(recording.geometry).bytes;
      formats.push(
        {
          id: `chained-block-${recording.id}`,
          kind: "chained-block",
          title: `chained-block volume; ${recording.title}`,
          bytes,
          takes: CHAINED_TAKES,
          build: buildZoned(zoned),
        },
        {
          id: `segment-list-${recording.id}`,
          kind: "segment-list",
          title: `segment-list volume; ${recording.title}`,
          bytes,
          takes: SEGMENT_TAKES,
          build: buildSegments({ zoned }),
        },
      );
    } else {
      const geometry = even ? uniform(even.tracks, even.sides, even.sectors, even.size) : recording.geometry;
      const extents = extentFormat(`extent-entry-${recording.id}`, `extent-entry volume; ${recording.title}`, geometry);
      if (extents) formats.push(extents);
    }
  }
  return formats;
}

export function makeFormatNamed(formats: readonly MakeFormat[], id: string): MakeFormat {
  const found = formats.find((each) => each.id === id.toLowerCase());
  if (found) return found;
  const close = nearest(
    id,
    formats.map((each) => each.id),
  );
  throw new InputError(
    "no-such-format",
    `“${id}” is no format that can be made; ${close ? `did you mean “${close}”?` : "`rouse make --list` lists them."}`,
  );
}

/** Volumes whose names have no small letters: what a folder of this computer holds is written in capitals. */
const CAPITALS: readonly VolumeKind[] = ["fat12", "extent-entry"];

/**
 * Makes an image from a tree and a side file. Folders are put before what is in them. Throws an `InputError` for what does
 * not fit, for a file of the side file that the tree lacks, and for a key that this kind of volume has no use for.
 */
export function makeImage(format: MakeFormat, tree: readonly TreeEntry[], side: Side, boot?: Uint8Array): Uint8Array {
  const upper = CAPITALS.includes(format.kind);
  const isArea = (part: string, index: number): boolean =>
    format.kind === "extent-entry" && index === 0 && /^user-\d+$/.test(part);
  const named = (path: string): string =>
    upper
      ? path
          .split("/")
          .map((part, index) => (isArea(part, index) ? part : part.toUpperCase()))
          .join("/")
      : path;
  for (const key of Object.keys(side.volume) as (keyof SideVolume)[])
    if (!format.takes.includes(key))
      throw new InputError(
        "side-key",
        `volume.${key} in the side file is not for this kind of volume; it takes ${format.takes.join(", ")}.`,
      );
  const wishes = new Map([...side.files].map(([path, wish]) => [named(path), { path, wish }]));
  const entries = tree
    // Areas of users are part of a path here; there are no folders.
    .filter((each) => !(format.kind === "extent-entry" && each.type === "folder"))
    .map((each): TreeEntry => {
      const path = named(each.path);
      const own = wishes.get(path)?.wish;
      return { ...each, path, ...(own ? { wishes: own } : {}) };
    })
    .sort((a, b) => (a.path < b.path ? -1 : a.path > b.path ? 1 : 0));
  for (const { path } of wishes.values())
    if (!entries.some((each) => each.path === named(path)))
      throw new InputError("side-file", `The side file speaks of ${path}, which is not in the folder.`);
  if (format.kind === "chained-block") {
    const folder = entries.find((each) => each.type === "folder");
    if (folder) throw new InputError("no-folders", `“${folder.path}” is a folder; this kind of volume has none.`);
  }
  return format.build(entries, side.volume, boot);
}
