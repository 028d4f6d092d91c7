import type { Source } from "../../catalogue/index.ts";
import type { CauseClass, WhyFinding } from "./types.ts";

/**
 * Where the priors come from. Parts weigh as their failures in a million hours; all the rest is a judgement and says so.
 */

/** Tables of the handbook were not at hand: its figures are told from memory, and only their ratios are used. */
export const HANDBOOK: Source = {
  id: "MIL-HDBK-217F",
  kind: "memory",
  title: "MIL-HDBK-217F notice 2, appendix A, parts count, ground benign (from memory)",
};
export const JUDGEMENT: Source = { id: "judgement", kind: "common practice", title: "judgement" };

/**
 * Failures in a million hours, ground benign, before the factor of quality. That factor is about the same for all commercial
 * parts, so it falls out of the ratios.
 */
export const RATES = {
  /** Bipolar digital, up to 100 gates. */
  gates: 0.0036,
  /** MOS digital, 1,001 to 3,000 gates: serial and parallel ports, timers. */
  port: 0.019,
  microprocessor: 0.048,
  /** Memories: 16,384 to 65,536 bits. */
  dynamic: 0.0055,
  static: 0.014,
  erasable: 0.0061,
  /** Linear, up to 100 transistors: regulators, line drivers and receivers. */
  linear: 0.0095,
  electrolytic: 0.029,
  rectifier: 0.0028,
  transformer: 0.023,
  crystal: 0.032,
  fuse: 0.01,
  motor: 1.6,
  socket: 0.0019,
  connector: 0.011,
} as const;

/** What 40 years do to a part beyond its rate (judgement). */
export const WEAR = {
  /** Electrolyte dries out. */
  electrolytic: 6,
  /** Charge leaks from cells that were programmed once. */
  erasable: 4,
  dynamic: 2,
  linear: 2,
  rectifier: 3,
  fuse: 3,
  /** A drive turns for minutes a day: a twentieth of the hours of a motor that always runs. */
  motor: 0.05,
  socket: 10,
} as const;

/** How first starts of old machines fail, by class (judgement). */
export const SHARES: Readonly<Record<CauseClass, number>> = {
  part: 0.5,
  contact: 0.12,
  line: 0.14,
  disk: 0.18,
  system: 0.04,
  other: 0.02,
};

/** What a finding of the chain does to the odds of its cause (judgement). */
export const RAISES: Readonly<Record<WhyFinding["verdict"], number>> = { stops: 40, tight: 4, unknown: 1.5, runs: 0.6 };
