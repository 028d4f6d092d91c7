import { uniform } from "@rouse/core/geometry";
import {
  buildChainedBlock,
  buildExtentEntry,
  buildFat12,
  buildSegmentList,
  OWNER,
  openBest,
  type TreeEntry,
  type VolumeKind,
} from "@rouse/core/volume";
import { makeOptions, STANDARD_8_INCH } from "../../packages/core/src/volume/extent-entry/index.ts";

/** Sound images of every kind, small and of about 1.2 MB, for the fuzz and for whoever needs a full disk. */
export interface Sound {
  name: string;
  image: Uint8Array;
  /** Places of the image that hold its records (maps, directories, descriptors), where damage matters most. */
  records: readonly { at: number; length: number }[];
}

export const KINDS: readonly VolumeKind[] = ["fat12", "segment-list", "chained-block", "extent-entry"];

/** Bytes that repeat nowhere soon, and no text that a reader could take for something. */
function content(length: number, seed: number): Uint8Array {
  const bytes = new Uint8Array(length);
  let state = seed * 2654435761 + 1;
  for (let i = 0; i < length; i++) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    bytes[i] = state >>> 24;
  }
  return bytes;
}

const files = (count: number, bytes: number, name: (index: number) => string): TreeEntry[] =>
  Array.from({ length: count }, (_, index) => ({
    path: name(index),
    type: "file",
    bytes: content(Math.round(bytes * (0.5 + (index % 11) / 10)), index + 1),
  }));

const folders = (...paths: string[]): TreeEntry[] =>
  paths.map((path) => ({ path, type: "folder", bytes: new Uint8Array(0) }));

const records = (path: string, length: number, count: number): TreeEntry => ({
  path,
  type: "file",
  bytes: content(length * count, 77).map((byte) => byte | 1),
  wishes: { kind: "records", recordLength: length },
});

const upper = (index: number): string => `FILE${index}.DAT`;

/** Images of a kind; the last one is a full disk of about 1.2 MB. */
const MAKERS: Readonly<Record<VolumeKind, readonly (() => Uint8Array)[]>> = {
  fat12: [
    () =>
      buildFat12([...files(12, 4000, upper), ...folders("DIR"), ...files(9, 3000, (i) => `DIR/${upper(i)}`)], {
        format: "160K",
      }),
    () =>
      buildFat12([...folders("A", "A/B0", "A/B1", "A/B2"), ...files(15, 9000, (i) => `A/B${i % 3}/${upper(i)}`)], {
        format: "360K",
        label: "LARKFIELD",
      }),
    () =>
      buildFat12([...files(50, 10000, upper), ...folders("DIR"), ...files(60, 10300, (i) => `DIR/${upper(i)}`)], {
        format: "1200K",
      }),
  ],
  "segment-list": [
    () =>
      buildSegmentList([...files(12, 3000, (i) => `file${i}`), ...files(9, 3000, (i) => `texts/file${i}`)], {
        tracks: 35,
        sides: 1,
        sectors: 18,
        bootstrap: "file0",
      }),
    () =>
      buildSegmentList(
        files(20, 5000, (i) => `a/b${i % 3}/file${i}`).map((entry) => ({ ...entry, wishes: { segments: 5 } })),
        { tracks: 40, sides: 2, sectors: 16, clusterSectors: 2 },
      ),
    () =>
      buildSegmentList([...files(50, 10000, (i) => `file${i}`), ...files(60, 10500, (i) => `texts/file${i}`)], {
        tracks: 80,
        sides: 2,
        sectors: 30,
      }),
  ],
  "chained-block": [
    () =>
      buildChainedBlock([...files(20, 5000, (i) => `FILE ${i}`), records("RECORDS", 40, 700)], {
        layout: "35-track",
        name: "LARKFIELD",
        id: "LF",
      }),
    () =>
      buildChainedBlock([...files(40, 7000, (i) => `FILE ${i}`), records("RECORDS", 100, 1000)], {
        layout: "77-track",
        name: "LARKFIELD",
        id: "LF",
      }),
    () =>
      buildChainedBlock([...files(80, 9000, (i) => `FILE ${i}`), records("RECORDS", 120, 1900)], {
        layout: "77-track-two-sided",
        name: "LARKFIELD",
        id: "LF",
      }),
  ],
  "extent-entry": [
    () =>
      buildExtentEntry([...files(18, 5000, upper), ...files(9, 9000, (i) => `user-3/${upper(i)}`)], STANDARD_8_INCH),
    () =>
      buildExtentEntry(
        files(94, 10400, upper),
        makeOptions(uniform(80, 2, 15, 512), { skew: 1, reservedTracks: 2, blockSize: 4096, entries: 256 }),
      ),
  ],
};

/** The sound images of a kind, with the places of their records. */
export const soundImages = (kind: VolumeKind): Sound[] =>
  MAKERS[kind].map((make, index) => {
    const image = make();
    const { volume } = openBest(image, { kind });
    if (volume.damages.length > 0) throw new Error(`${kind} ${index}: ${volume.damages[0]!.sentence}`);
    const blockBytes = Math.floor(image.length / volume.owners.length);
    const blocks = new Set(volume.entries.flatMap((entry) => [...entry.ownBlocks]));
    volume.owners.forEach((owner, block) => {
      if (owner === OWNER.system || volume.entries[owner]?.type === "folder") blocks.add(block);
    });
    return {
      name: `${kind} ${index + 1}`,
      image,
      records: [...blocks].sort((a, b) => a - b).map((block) => ({ at: block * blockBytes, length: blockBytes })),
    };
  });

/** A full disk of about 1.2 MB. */
export const fullImage = (kind: VolumeKind): Uint8Array => MAKERS[kind][MAKERS[kind].length - 1]!();
