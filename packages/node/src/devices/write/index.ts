export type { Certificate } from "./certificate.ts";
export { type DeviceOpener, realOpener } from "./device.ts";
export type { Progress, Stage } from "./engine.ts";
export { type TargetFacts, usesOf } from "./facts.ts";
export { interruptedWrites, type Journal } from "./journal.ts";
export {
  type Estimate,
  type Estimates,
  type FitFinding,
  inImages,
  type OnBench,
  onBench,
  stopsOf,
} from "./on-bench.ts";
export { type ReadyWrite, readyAdapter, readyTarget } from "./ready.ts";
export type { PlannedWrite } from "./session.ts";
