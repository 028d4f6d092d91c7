export { type ReadCycle, readCycle, timeForMemory } from "./cycle.ts";
export { type FanOut, fanOutOf, fanOuts, type LineLoad } from "./fan-out.ts";
export type { Change } from "./faster.ts";
export { type BillRow, billOf, type Fitting, type FittingStep, fittingsOf } from "./fitting.ts";
export {
  type FeedState,
  LOGIC_RAIL,
  LOWEST_LOGIC,
  type RailState,
  RESERVE,
  type RegulatorState,
  railStates,
  regulatorOf,
} from "./rails.ts";
export {
  CONTACT,
  type FeedDrop,
  feedDrop,
  type Heat,
  LOW_MAINS,
  type LoadRow,
  type RailLoad,
  type Ripple,
  railLoad,
  regulatorHeat,
  rippleOf,
  rippleValley,
  WASHER,
  wireDiameter,
  wireResistance,
} from "./supply.ts";
export { type BusTiming, busTimings, type Span, type Trace, type UnknownTiming } from "./timing.ts";
