import type { VolumeFormat } from "../types.ts";
import type { SegmentListOptions } from "./layout.ts";
import { open } from "./open.ts";
import { recognise } from "./recognise.ts";

export { buildSegmentList, type SegmentListBuild } from "./build.ts";
export type { SegmentListOptions } from "./layout.ts";
export { bootstrapSectors, readIdentification } from "./layout.ts";

/**
 * The segment-list volume: 256-byte sectors, an allocation map of clusters, and a descriptor sector for each file that
 * lists the runs of sectors it lies in. Source: `6809 system programmer's manual, January 1983`.
 */
export const segmentList: VolumeFormat<SegmentListOptions> = { kind: "segment-list", recognise, open };
