export {
  type CellFault,
  CLASSES,
  type Claim,
  type ClassCoverage,
  coverageOf,
  FAULT_CLASSES,
  type FaultClass,
  faultText,
  PROVED,
  SINGLE_BITS,
  type Trial,
} from "./fault/index.ts";
export { BACKGROUNDS, elementText, MARCHES, marchOf, marchText, parseMarch, RETENTION } from "./march/march.ts";
export type {
  Direction,
  Finding,
  March,
  MarchElement,
  MarchOperation,
  Place,
  Space,
  Stretch,
  Test,
  TestKind,
  TestProgram,
  Voice,
} from "./types.ts";
