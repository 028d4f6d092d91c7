import type { ParameterId } from "./parameters.ts";

/** A parameter fitted to measurements, in the base unit of its dimension. */
export interface FittedValue {
  id: ParameterId;
  label: string;
  key: string;
  value: number;
  /** Range within which the measurements are still met. */
  low: number;
  high: number;
  text: string;
  /** `well`: the range is below a third of the value; `roughly`; `not`: the range reaches a bound of the search. */
  howWell: "well" | "roughly" | "not";
}

export interface Fitted {
  values: readonly FittedValue[];
  /** Sets of values that meet the measurements about as well: later predictions range over them. */
  samples: readonly ReadonlyMap<ParameterId, number>[];
  /** What was measured, and what the fitted values give. */
  measurements: readonly { text: string; measured: number; spread: number; fitted: number }[];
  /** Sum of squared departures in units of the measurements' spread. */
  misfit: number;
  sentence: string;
}
