export {
  type Measurement,
  nextMeasurement,
  type ProofOptions,
  type ProofRow,
  prove,
  type Ranked,
  rankSuspects,
  type SingleFault,
  type Suspect,
} from "./dictionary/index.ts";
export {
  type CellFault,
  CLASSES,
  type Claim,
  type ClassCoverage,
  chance,
  coverageOf,
  type Effort,
  FAULT_CLASSES,
  type FaultClass,
  FaultSimulator,
  faultText,
  type KeptBytes,
  keptBytes,
  type LineFault,
  type MachineFault,
  type MapFault,
  type Outcome,
  PROVED,
  runPlainly,
  SINGLE_BITS,
  someFault,
  type Trial,
} from "./fault/index.ts";
export type { Runnable } from "./machine/machine.ts";
export { BACKGROUNDS, elementText, MARCHES, marchOf, marchText, parseMarch, RETENTION } from "./march/march.ts";
export { type FileOptions, type ProgramFile, programFiles, TYPE_INS, type TypeIn } from "./output/files.ts";
export { OTHER_TESTS, OVERS, type Over, type ProgramOptions } from "./plan/make.ts";
export { makeProgram, makePrograms } from "./program/make.ts";
export { type Report, readReport } from "./report/read.ts";
export { type Run, runProgram } from "./run/run.ts";
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
