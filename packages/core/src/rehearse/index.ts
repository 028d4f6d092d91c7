export { createRehearsal, type Rehearsal } from "./rehearsal.ts";
export type {
  DriveShape,
  DriveView,
  Ending,
  Moment,
  RehearsalFiles,
  RehearsalOptions,
  RehearsalState,
  TerminalView,
} from "./types.ts";
