import type { VolumeFormat } from "../types.ts";
import { recogniseExtentEntry } from "./infer.ts";
import type { ExtentEntryOptions } from "./layout.ts";
import { openExtentEntry } from "./open.ts";

export { buildExtentEntry } from "./build.ts";
export { type ExtentEntryOptions, makeOptions, skewTable, systemTracks } from "./layout.ts";
export {
  fullExtentMask,
  makeParameterBlock,
  type ParameterBlock,
  parameterBlockBytes,
  parameterBlockFaults,
  parseParameterBlock,
} from "./parameters.ts";
export { STANDARD_8_INCH } from "./shapes.ts";

/** The extent-entry volume; the page `docs/volumes/extent-entry.md` draws its layout. */
export const extentEntry: VolumeFormat<ExtentEntryOptions> = {
  kind: "extent-entry",
  recognise: recogniseExtentEntry,
  open: openExtentEntry,
};
