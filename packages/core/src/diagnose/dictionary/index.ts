export { type Measurement, nextMeasurement } from "./measure.ts";
export { type ProofOptions, type ProofRow, prove, type SingleFault } from "./prove.ts";
export { type Ranked, rankSuspects } from "./rank.ts";
export type { Suspect } from "./types.ts";
