export type { CellFault } from "./cells.ts";
export { CLASSES, type Claim, FAULT_CLASSES, type FaultClass, faultText, PROVED } from "./classes.ts";
export { type ClassCoverage, coverageOf, SINGLE_BITS, type Trial } from "./coverage.ts";
