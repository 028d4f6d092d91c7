import type { Geometry } from "../geometry/index.ts";
import { inspectSystem, type Need, needsOf, type SystemReport } from "../system/index.ts";
import { type Survey, surveyAndOpen } from "../volume/index.ts";

/** Everything that the image page shows of one image, as plain data. */
export interface ImageReport {
  name: string;
  size: number;
  sha256: string;
  survey: Survey;
  system: SystemReport | null;
  needs: readonly Need[];
  /** The disk as a picture; null where no volume was recognised. */
  disk: {
    geometry: Geometry;
    /** For each block the index into `survey.volume.entries`, or one of `OWNER`. */
    owners: readonly number[];
    /** For each entry, in the order of the entries: its blocks of content and of bookkeeping, in order. */
    blocks: readonly { content: readonly number[]; own: readonly number[] }[];
  } | null;
}

export function imageReport(name: string, bytes: Uint8Array, sha256: string): ImageReport {
  const { survey, volume } = surveyAndOpen(bytes);
  const base = { name, size: bytes.length, sha256, survey };
  if (!volume) return { ...base, system: null, needs: [], disk: null };
  const system = inspectSystem(volume);
  return {
    ...base,
    system,
    needs: needsOf(system, volume),
    disk: {
      geometry: volume.geometry,
      owners: Array.from(volume.owners),
      blocks: volume.entries.map((entry) => ({ content: entry.blocks, own: entry.ownBlocks })),
    },
  };
}
