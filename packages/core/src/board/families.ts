import type { Source } from "../catalogue/index.ts";

/** Largest delays of the same functions in other logic families, ns, whole part at its usual load. */
export const FAMILY_SOURCE: Source = { id: "memory", title: "from memory, not confirmed", kind: "memory" };

export const FAMILIES = ["74ALS", "74S", "74F", "74HCT"] as const;
export type Family = (typeof FAMILIES)[number];

/** By the function's number. From memory; a guide to what a change would buy, not values to build by. */
export const FASTER: Readonly<Record<string, Readonly<Record<Family, number | undefined>>>> = {
  "00": { "74ALS": 11, "74S": 5, "74F": 5.3, "74HCT": 23 },
  "02": { "74ALS": 12, "74S": 5.5, "74F": 6.5, "74HCT": 23 },
  "04": { "74ALS": 11, "74S": 5, "74F": 6, "74HCT": 24 },
  "08": { "74ALS": 14, "74S": 7.5, "74F": 6.6, "74HCT": 28 },
  "10": { "74ALS": 11, "74S": 5, "74F": 5.3, "74HCT": 27 },
  "30": { "74ALS": 12, "74S": 7, "74F": 5.5, "74HCT": 34 },
  "32": { "74ALS": 14, "74S": 7, "74F": 6.6, "74HCT": 30 },
  "138": { "74ALS": 22, "74S": 12, "74F": 8, "74HCT": 44 },
  "139": { "74ALS": 22, "74S": 12, "74F": 9.5, "74HCT": 43 },
  "157": { "74ALS": 24, "74S": 15, "74F": 11, "74HCT": 46 },
  "158": { "74ALS": 20, "74S": 12, "74F": 10.5, "74HCT": 46 },
  "244": { "74ALS": 10, "74S": 9, "74F": 6.5, "74HCT": 28 },
  "245": { "74ALS": 10, "74S": undefined, "74F": 7, "74HCT": 28 },
  "257": { "74ALS": 24, "74S": 15, "74F": 14, "74HCT": 38 },
  "189": { "74ALS": undefined, "74S": 35, "74F": 27, "74HCT": undefined },
  "219": { "74ALS": undefined, "74S": undefined, "74F": 27, "74HCT": undefined },
  "373": { "74ALS": 16, "74S": 12, "74F": 8, "74HCT": 44 },
};
