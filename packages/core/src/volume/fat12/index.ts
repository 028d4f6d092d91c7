import type { VolumeFormat } from "../types.ts";
import type { Fat12Options } from "./layout.ts";
import { open } from "./open.ts";
import { recognise } from "./recognise.ts";

/** FAT12 volumes (ECMA-107), with a descriptor or found by the media byte. The page is docs/volumes/fat12.md. */
export const fat12: VolumeFormat<Fat12Options> = { kind: "fat12", recognise, open };

export { buildFat12, type Fat12BuildOptions } from "./build.ts";
export type { Fat12Options } from "./layout.ts";
