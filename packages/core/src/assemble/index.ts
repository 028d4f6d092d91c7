export { assemble } from "./assemble.ts";
export { listingText } from "./listing.ts";
export type { AssembleOptions, Assembly, CpuName, Cycles, ListedLine, SourceIssue } from "./types.ts";
