export { type TimedSpan, type TimingAnswer, type TimingInput, timeJob, valuesOf } from "./answer.ts";
export { buildMachine } from "./build-machine.ts";
export { fitMeasured, type Measurement, readMeasurement } from "./fit-measured.ts";
export type { Fitted, FittedValue } from "./fitted.ts";
export { bestInterleave, type CurvePoint, type InterleaveAnswer } from "./interleave.ts";
export { LANES, type Lane, type Machine, type Op, placesOf, type Span, type TrackTimes } from "./machine.ts";
export { type Parameter, type ParameterId, type TimedBench, type TimedImage, timedBench } from "./parameters.ts";
export { JOBS, type JobKind, type JobWish } from "./plan.ts";
export { type Simulated, simulate } from "./simulate.ts";
