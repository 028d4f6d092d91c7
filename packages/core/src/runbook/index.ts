export type { HashedImage } from "./disk-steps.ts";
export { makeRunBook } from "./make.ts";
export { paperHtml } from "./paper.ts";
export * from "./state/index.ts";
