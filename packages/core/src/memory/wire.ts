import type { BenchComputer } from "../bench/index.ts";
import type { Logic } from "../catalogue/index.ts";

/** What a memory map is made of, as JSON can carry it: the workbench makes the same map of it. */
export interface PackedMemory {
  name: string;
  regions: BenchComputer["regions"];
  latches: BenchComputer["latches"];
  signals: readonly (readonly [string, Logic])[];
  translation?: NonNullable<BenchComputer["translation"]>;
}

/** Packs what `MemoryMap` reads of a computer. */
export const packMemory = ({ name, regions, latches, logic, translation }: BenchComputer): PackedMemory => ({
  name,
  regions,
  latches,
  signals: [...logic.signals],
  ...(translation ? { translation } : {}),
});

/** A computer that has its memory alone. */
export const unpackMemory = ({ name, regions, latches, signals, translation }: PackedMemory): BenchComputer => ({
  name,
  regions,
  latches,
  logic: { signals: new Map(signals), madeBy: new Map() },
  paths: [],
  boards: [],
  rails: [],
  timers: [],
  ...(translation ? { translation } : {}),
});
