import type { BusTiming, FanOut, Fitting, RailState } from "@rouse/core/board";
import type { Caution, Finding } from "@rouse/core/fit";

type Place = { name: string; region: string; key: string };
export type TimedRead = Omit<BusTiming, "path"> & Place & { waits: number };
export type ReadTold = TimedRead | (Place & { missing: readonly string[] });
export type LineTold = Omit<FanOut, "driver"> & { driver?: string };
export type FindingTold = Pick<Finding, "id" | "verdict" | "sentence" | "remedy">;

/** What the server gives the page, for the values that are tried. */
export interface BoardsTold {
  rails: readonly RailState[];
  lines: readonly LineTold[];
  reads: readonly ReadTold[];
  fittings: readonly Fitting[];
  findings: readonly FindingTold[];
  cautions: readonly Caution[];
  /** Of the bench itself. */
  clock?: number;
  ambient?: number;
}
