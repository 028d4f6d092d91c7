export { loadCatalogue } from "./load.ts";
export type { CatalogueData, RawGroup, UserFile } from "./raw.ts";
export { findChip } from "./spelling.ts";
export type * from "./types.ts";
