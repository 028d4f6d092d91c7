import type { Recording } from "../../catalogue/index.ts";
import { mapBlocks } from "../../geometry/index.ts";
import type { BlockFault, DecodedDisk } from "../decode.ts";
import type { DataBasis } from "./combine.ts";
import type { Recovery } from "./recover.ts";

const FAULTS: Readonly<Record<Exclude<DataBasis, "check" | "vote">, BlockFault>> = {
  unproved: "wrong check",
  nothing: "no data field",
};

/**
 * An image from the recovered tracks, in any order; of two recoveries of one track the last counts. Blocks whose bytes
 * rest on no check are listed as bad, and hold what there was.
 */
export function imageOfRecoveries(recording: Recording, recoveries: Iterable<Recovery>): DecodedDisk {
  const map = mapBlocks(recording.geometry);
  const image = new Uint8Array(map.bytes);
  const faults = new Map<number, BlockFault>();
  for (let block = 0; block < map.blocks; block++) faults.set(block, "no ID");
  const strays: DecodedDisk["strays"] = [];
  for (const { form, sectors, data, strays: foreign } of recoveries) {
    const { track, side } = form;
    const first = map.block({ track, side, sector: 0 });
    image.set(data, map.offset(first));
    sectors.forEach(({ basis, idBasis }, k) => {
      if (basis === "check" || basis === "vote") faults.delete(first + k);
      else faults.set(first + k, idBasis ? FAULTS[basis] : "no ID");
    });
    strays.push(...foreign.map((id) => ({ track, side, id })));
  }
  return { image, bad: [...faults].map(([block, fault]) => ({ block, place: map.place(block), fault })), strays };
}
