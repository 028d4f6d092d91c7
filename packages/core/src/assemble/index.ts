export { assemble } from "./assemble.ts";
export { type Disassembled, disassemble } from "./disassemble.ts";
export { listingText } from "./listing.ts";
export type { AssembleOptions, Assembly, CpuName, Cycles, ListedLine, SourceIssue } from "./types.ts";
