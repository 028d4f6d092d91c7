export {
  type BudgetOptions,
  type BudgetRow,
  type GapLeft,
  type Precompensation,
  precompensation,
  type TrackBudget,
  trackBudget,
  transitionTimes,
} from "./budget.ts";
export {
  type Capture,
  type CaptureOptions,
  type Edges,
  readCapture,
  readCsv,
  readSignals,
  readVcd,
  type Signal,
} from "./capture/index.ts";
export { type Cells, cellAt, cellsFromText } from "./cells.ts";
export { type BlockFault, type DecodedDisk, decodeDisk, decodeTrack } from "./decode.ts";
export { type EncodeOptions, encodeDisk, encodeTrack, type TrackCells } from "./encode.ts";
export { type Field, type FieldKind, trackFields } from "./fields.ts";
export { sectorOrder, type TrackForm, trackForm } from "./form.ts";
export { TAPE_CODES, ZONED_CODES } from "./group.ts";
export { fieldCells, foundMap, type MapCell, type MapField, trackMap } from "./map.ts";
export type {
  DataBasis,
  IdBasis,
  RecoveredSector,
  UnnamedSector,
} from "./recover/combine.ts";
export { type Candidate, identify } from "./recover/identify.ts";
export { imageOfRecoveries } from "./recover/image.ts";
export { type RecoverOptions, type Recovery, recoverTrack } from "./recover/recover.ts";
export type { FoundData, FoundId, FoundSector, SectorId } from "./scan.ts";
