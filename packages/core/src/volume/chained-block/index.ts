import type { VolumeFormat } from "../types.ts";
import { type ChainedBlockOptions, open } from "./open.ts";
import { recognise } from "./recognise.ts";

export { type BuildChainedBlock, buildChainedBlock } from "./build.ts";
export type { ChainedBlockOptions } from "./open.ts";

/** Chained-block volumes of zoned disks: 35 tracks, 77 tracks, and 77 tracks on two sides. */
export const chainedBlock: VolumeFormat<ChainedBlockOptions> = { kind: "chained-block", recognise, open };
