import { hex } from "../../bytes/index.ts";
import type { Candidate } from "../types.ts";
import {
  type Fat12Options,
  isMediaByte,
  layOut,
  optionsOf,
  readDescriptor,
  STANDARD_FORMATS,
  standardFormat,
} from "./layout.ts";
import { LONG_NAME } from "./names.ts";
import { usedBytes } from "./table.ts";
import { strikes } from "./trace.ts";

/** Finds FAT12 volumes by their descriptor (ECMA-107 clause 9) and, on older disks, by the first bytes of the FAT. */

/** The layout in words: `FAT12, 1440K, 80 tracks, two sides, 18 sectors of 512 bytes`. */
export function formatInWords(options: Fat12Options): string {
  const standard = standardFormat(options);
  if (!standard) return `FAT12, ${options.sectors} sectors of ${options.sectorSize} bytes`;
  const { name, tracks, sides, sectorsPerTrack, sectorSize } = standard;
  return `FAT12, ${name}, ${tracks} tracks, ${sides === 2 ? "two sides" : "one side"}, ${sectorsPerTrack} sectors of ${sectorSize} bytes`;
}

/** True where a FAT begins at `at`: the media byte, then eight bits of ones and, in the older way, eight more. */
const fatBegins = (image: Uint8Array, at: number, media: number): boolean =>
  image[at] === media && image[at + 1] === 0xff && image[at + 2] === 0xff;

/** How many of the first entries of the root directory make sense, and how many do not. */
function rootEntries(
  image: Uint8Array,
  at: number,
  most: number,
  highest: number,
  bytes: number,
): [good: number, bad: number] {
  let good = 0;
  let bad = 0;
  for (let i = 0; i < Math.min(most, 16); i++) {
    const entry = at + i * 32;
    if (entry + 32 > image.length) break;
    if (image[entry] === 0) break;
    const piece = image[entry + 11] === LONG_NAME;
    if (image[entry] === 0xe5 || piece || strikes(image, entry, highest, bytes) === 0) good++;
    else bad++;
  }
  return [good, bad];
}

function weigh(
  image: Uint8Array,
  options: Fat12Options,
  start: number,
  evidence: string[],
): Candidate<Fat12Options> | undefined {
  const layout = layOut(options);
  if (typeof layout === "string") return undefined;
  const { sectorSize, media, sectors } = layout;
  const bytes = sectors * sectorSize;
  const fatAt = layout.reserved * sectorSize;
  const secondAt = fatAt + layout.sectorsPerFat * sectorSize;
  const rootAt = layout.rootStart * sectorSize;
  if (image.length < rootAt + 32) return undefined;
  const first = fatBegins(image, fatAt, media);
  const second = layout.fats > 1 && fatBegins(image, secondAt, media);
  const [good, bad] = rootEntries(image, rootAt, layout.rootEntries, layout.clusters + 1, bytes);
  let score = start;
  if (first || second) {
    score += first && (second || layout.fats === 1) ? 0.2 : 0.1;
    const which = layout.fats === 1 ? "The FAT begins" : first && second ? "Both FATs begin" : "One of the FATs begins";
    evidence.push(`${which} with ${hex(media, 2)} FF FF, as this media byte asks.`);
  }
  if (image.length === bytes) {
    score += 0.15;
    evidence.push(`The image is exactly the ${sectors} sectors of ${sectorSize} bytes that the volume has.`);
  } else evidence.push(`The volume has ${bytes} bytes, the image ${image.length}.`);
  if (bad === 0 && good > 0) {
    score += 0.1;
    evidence.push("The first entries of the root directory make sense.");
  } else if (bad > 0) {
    score -= 0.15;
    evidence.push(`${bad} of the first ${good + bad} entries of the root directory make no sense.`);
  }
  if (layout.sectorsPerFat * sectorSize < usedBytes(layout)) {
    score -= 0.2;
    evidence.push("The FAT is too small for the clusters of such a volume.");
  }
  const speaks =
    options.by === "descriptor" ? first || second || image.length === bytes : (first || second) && good >= bad;
  if (!speaks) return undefined;
  return {
    kind: "fat12",
    format: formatInWords(options),
    score: Math.round(Math.max(0.05, Math.min(0.99, score)) * 100) / 100,
    evidence,
    options,
  };
}

/** True where the areas are the same, however they were found. */
export const sameAreas = (one: Fat12Options, other: Fat12Options): boolean =>
  (["sectorSize", "sectorsPerCluster", "reserved", "fats", "rootEntries", "sectors", "sectorsPerFat"] as const).every(
    (key) => one[key] === other[key],
  );

export function recognise(image: Uint8Array): Candidate<Fat12Options>[] {
  const found: Candidate<Fat12Options>[] = [];
  const stated = readDescriptor(image);
  // The media byte costs one look, and most other images fail it.
  if (stated && isMediaByte(stated.media)) {
    const candidate = weigh(image, stated, 0.5, [
      `Sector 0 holds a descriptor: ${stated.sectors} sectors, ${stated.sectorsPerCluster} a cluster, media byte ${hex(stated.media, 2)}.`,
    ]);
    if (candidate) found.push(candidate);
  }
  for (const format of STANDARD_FORMATS) {
    const options = optionsOf(format, "media byte");
    const fatAt = format.reserved * format.sectorSize;
    const length = options.sectors * format.sectorSize;
    if (image.length !== length) continue;
    if (
      !fatBegins(image, fatAt, format.media) &&
      !fatBegins(image, fatAt + format.sectorsPerFat * format.sectorSize, format.media)
    )
      continue;
    if (found[0] && sameAreas(found[0].options, options)) continue;
    const candidate = weigh(image, options, 0.4, [
      `The media byte ${hex(format.media, 2)} and the length stand for the ${format.name} format.`,
    ]);
    if (candidate) found.push(candidate);
  }
  return found.sort((one, other) => other.score - one.score);
}
