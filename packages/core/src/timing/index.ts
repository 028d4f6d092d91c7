export { LANES, type Lane, type Machine, type Op, placesOf, type Span, type TrackTimes } from "./machine.ts";
export { type Simulated, simulate } from "./simulate.ts";
