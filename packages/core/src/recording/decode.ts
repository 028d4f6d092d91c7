import type { Recording } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { mapBlocks, type Place } from "../geometry/index.ts";
import { type Cells, pastTheJoin } from "./cells.ts";
import type { TrackCells } from "./encode.ts";
import { type TrackForm, trackForm } from "./form.ts";
import { type FoundSector, pairFields, scanFields } from "./scan.ts";

/**
 * Every sector on one turn of cells, in the order in which they lie. The cells count as a circle: a field across the join
 * reads whole. Takes any cells at all and throws nothing.
 */
export function decodeTrack(cells: Cells, form: TrackForm): FoundSector[] {
  // One sector with its gaps, and some more.
  const round = pastTheJoin(cells, (form.size + 256) * 16);
  const sectors = pairFields(scanFields(round, form.code, form.size), form.code);
  const beginning = ({ id, data }: FoundSector): number => (id ?? data)!.at;
  // The first turn's beginning lies behind the join once more: whole there if it was cut at the start.
  return sectors.filter((sector) => beginning(sector) < cells.length);
}

/** Why a block could not be read. */
export type BlockFault = "no ID" | "no data field" | "wrong check";

export interface DecodedDisk {
  /** As long as the recording's capacity; blocks that were not read hold what there was, or zeros. */
  image: Uint8Array;
  /** Blocks without a good check, in order; empty where the image is whole. */
  bad: { block: number; place: Place; fault: BlockFault }[];
  /** Sectors whose ID names another track, or a sector that the recording doesn't have. */
  strays: { track: number; side: 0 | 1; id: { track: number; head: number; sector: number; size: number } }[];
}

/**
 * An image from the cells of its tracks, in any order; tracks may be missing. Heads in IDs are not compared, as
 * controllers leave that to the program.
 */
export function decodeDisk(recording: Recording, tracks: Iterable<TrackCells>): DecodedDisk {
  const map = mapBlocks(recording.geometry);
  const image = new Uint8Array(map.bytes);
  const faults = new Map<number, BlockFault>();
  for (let block = 0; block < map.blocks; block++) faults.set(block, "no ID");
  const strays: DecodedDisk["strays"] = [];
  for (const { track, side, cells } of tracks) {
    let form: TrackForm;
    try {
      form = trackForm(recording, track, side);
    } catch (error) {
      if (error instanceof InputError && error.code === "no-track") continue;
      throw error;
    }
    const first = map.block({ track, side, sector: 0 });
    for (const { id, data } of decodeTrack(cells, form)) {
      if (!id?.good) continue;
      const sector = id.id.sector - form.firstSector;
      if (id.id.track !== form.trackNumber || sector < 0 || sector >= form.sectors || id.id.size !== form.size) {
        strays.push({ track, side, id: id.id });
        continue;
      }
      const block = first + sector;
      // Of two sectors with one number the first good one counts, as it does for a controller.
      if (!faults.has(block)) continue;
      if (data) image.set(data.data, map.offset(block));
      if (data?.good) faults.delete(block);
      else faults.set(block, data ? "wrong check" : "no data field");
    }
  }
  const bad = [...faults].map(([block, fault]) => ({ block, place: map.place(block), fault }));
  return { image, bad, strays };
}
