export { GATE_PARTS, gatesOf } from "./gates.ts";
export { loadCatalogue } from "./load.ts";
export { type Logic, linesOf, namesIn, parseLogic } from "./logic.ts";
export type { UserFile } from "./raw.ts";
export { findChip } from "./spelling.ts";
export type * from "./types.ts";
