export { loadCatalogue } from "./load.ts";
export type { UserFile } from "./raw.ts";
export { findChip } from "./spelling.ts";
export type * from "./types.ts";
