export type { HashedImage } from "./disk-steps.ts";
export { makeRunBook } from "./make.ts";
export { paperHtml } from "./paper.ts";
export { checkReading, type Evidence, entryOf, readEntry, type StepState, stateOf } from "./state.ts";
export * from "./types.ts";
