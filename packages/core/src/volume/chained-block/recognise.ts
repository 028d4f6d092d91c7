import type { Candidate } from "../types.ts";
import { looksLikeDirectory } from "./directory.ts";
import { BLOCK, blockOf, LAYOUT_NAMES, type Layout, layoutOf } from "./layout.ts";
import { entryOffset } from "./map.ts";
import type { ChainedBlockOptions } from "./open.ts";
import { counted } from "./report.ts";

/** What each piece of evidence is worth; together 1. */
const WORTH = { size: 0.3, formatByte: 0.15, version: 0.1, link: 0.1, map: 0.2, directory: 0.15 } as const;

/** A map block that keeps other tracks than this layout's speaks against it. */
const CONTRADICTION = 0.4;

/** Least score to be named at all; a size that is not exact needs more. */
const LEAST = 0.25;
const LEAST_INEXACT = 0.5;

/** With an exact size and this score, readings of another size are not worth naming. */
const SURE = 0.6;

/** Layouts that an image could have by its header, its map, its directory and its size. */
export function recognise(image: Uint8Array): Candidate<ChainedBlockOptions>[] {
  const candidates: Judged[] = [];
  for (const name of LAYOUT_NAMES) {
    const candidate = judge(image, layoutOf(name));
    if (candidate) candidates.push(candidate);
  }
  const sure = candidates.some((each) => each.exact && each.score >= SURE);
  return candidates
    .filter((each) => each.exact || !sure)
    .map(({ exact: _, ...candidate }) => candidate)
    .sort((a, b) => b.score - a.score);
}

interface Judged extends Candidate<ChainedBlockOptions> {
  exact: boolean;
}

function judge(image: Uint8Array, layout: Layout): Judged | null {
  const plain = layout.blocks * BLOCK;
  const withErrors = plain + layout.blocks;
  const exact = image.length === plain || image.length === withErrors;
  const header = layout.headerBlock * BLOCK;
  if (image.length < (layout.directoryBlock + 1) * BLOCK) return null;
  // The early variant shares the later one's format byte; only the size, or its own byte, tells it apart.
  const formatByte = exact
    ? layout.formatBytes.includes(image[header + 2]!)
    : layout.formatBytes[0] === image[header + 2];
  // Any other size needs a header that says so: this turns nearly every other image away after one byte.
  if (!exact && !formatByte) return null;

  const evidence: string[] = [];
  let score = 0;
  const say = (worth: number, sentence: string): void => {
    score += worth;
    evidence.push(sentence);
  };
  if (exact)
    say(
      WORTH.size,
      `The size is that of ${layout.blocks} blocks of ${BLOCK} bytes${image.length === plain ? "" : " and one error byte each"}.`,
    );
  if (formatByte) say(WORTH.formatByte, "The header has this kind's format byte.");
  const version = String.fromCharCode(image[header + layout.versionAt]!, image[header + layout.versionAt + 1]!);
  if (version === layout.version) say(WORTH.version, `The header has the format letters ${version}.`);
  const linked = layout.mapEntry === 4 ? layout.directoryBlock : layout.mapBlocks[0]!.block;
  if (blockOf(layout, image[header]!, image[header + 1]!) === linked)
    say(WORTH.link, `The header links to the ${layout.mapEntry === 4 ? "directory" : "allocation map"}.`);
  const { good, contradicted } = goodTracks(image, layout);
  if (good > 0)
    say(
      (WORTH.map * good) / layout.tracks,
      `On ${good} of ${counted(layout.tracks, "track")} the map's free count agrees with its bits.`,
    );
  if (looksLikeDirectory(image, layout, layout.directoryBlock))
    say(WORTH.directory, "The first block of the directory has good entries.");
  if (contradicted) say(-CONTRADICTION, "Against it: the map keeps other tracks than this layout has.");
  score = Math.round(score * 1000) / 1000;
  if (score < (exact ? LEAST : LEAST_INEXACT)) return null;
  const options = { layout: layout.name, errorBytes: image.length === withErrors };
  return { kind: "chained-block", format: layout.format, score, evidence, options, exact };
}

/**
 * Tracks whose map entry is consistent (0 where the map is all zero, which says nothing), and whether a map block that
 * begins with the right track ends with another.
 */
function goodTracks(image: Uint8Array, layout: Layout): { good: number; contradicted: boolean } {
  let good = 0;
  let contradicted = false;
  let any = false;
  for (const kept of layout.mapBlocks) {
    const at = kept.block * BLOCK;
    if (at + BLOCK > image.length) continue;
    if (layout.mapEntry === 5 && (image[at + 4] !== kept.from || image[at + 5] !== kept.to)) {
      if (image[at + 4] === kept.from && image[at + 5]! > kept.from) contradicted = true;
      continue;
    }
    for (let track = kept.from; track < kept.to; track++) {
      const entry = entryOffset(layout, kept, track);
      const sectors = layout.sectors[track]!;
      let bits = 0;
      let beyond = false;
      for (let sector = 0; sector < (layout.mapEntry - 1) * 8; sector++)
        if (((image[entry + 1 + (sector >> 3)]! >> (sector & 7)) & 1) === 1) {
          bits++;
          if (sector >= sectors) beyond = true;
        }
      if (bits > 0) any = true;
      if (bits === image[entry] && !beyond) good++;
    }
  }
  return { good: any ? good : 0, contradicted };
}
