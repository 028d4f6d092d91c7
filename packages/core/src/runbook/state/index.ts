/** Where the steps stand, without what makes them: small enough for a phone. */

export type { RunBook, Stage, Step, StepEntry, Wanted } from "../types.ts";
export { STAGES } from "../types.ts";
export { acceptEntry, isEntryName } from "./accept.ts";
export {
  checkReading,
  type Evidence,
  entryOf,
  evidenceIn,
  readEntry,
  readingText,
  type StepState,
  stateOf,
} from "./judge.ts";
