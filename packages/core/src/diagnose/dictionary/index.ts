export { type Measurement, nextMeasurement } from "./measure.ts";
export { type Ranked, rankSuspects } from "./rank.ts";
export { arraysOf, type ChipArray, candidatesOf, chipSuspect } from "./suspects.ts";
export type { Candidate, Suspect } from "./types.ts";
