import { chainedBlock } from "./chained-block/index.ts";
import { extentEntry } from "./extent-entry/index.ts";
import { fat12 } from "./fat12/index.ts";
import { segmentList } from "./segment-list/index.ts";
import type { VolumeFormat } from "./types.ts";

/** Every kind of volume that can be read. Where two speak for an image equally well, the earlier one is taken. */
export const FORMATS: readonly VolumeFormat[] = [fat12, segmentList, chainedBlock, extentEntry];
