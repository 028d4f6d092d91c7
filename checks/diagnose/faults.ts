import { chance, FAULT_CLASSES, type MachineFault, someFault } from "@rouse/core/diagnose";

/** Bad cells of all classes in turn, the same for the same seed. */
export function someFaults(count: number, part: string, bytes: number, seed: number, hold: number): MachineFault[] {
  const below = chance(seed);
  return Array.from({ length: count }, (_, index) => ({
    on: "cells",
    part,
    fault: someFault(FAULT_CLASSES[index % FAULT_CLASSES.length]!, bytes, below, hold),
  }));
}
