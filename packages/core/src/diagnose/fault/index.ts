export type { CellFault } from "./cells.ts";
export { CLASSES, type Claim, FAULT_CLASSES, type FaultClass, faultText, PROVED } from "./classes.ts";
export { type ClassCoverage, coverageOf, SINGLE_BITS, type Trial } from "./coverage.ts";
export { keptBytes } from "./kept.ts";
export type { LineFault } from "./lines.ts";
export type { MachineFault } from "./machine.ts";
export type { MapFault } from "./map-faults.ts";
export { type Effort, FaultSimulator, type KeptBytes, type Outcome, runPlainly } from "./pruned.ts";
export { chance, someFault } from "./sample.ts";
