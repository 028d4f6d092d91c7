import type { Chip, Sourced } from "../catalogue/index.ts";

/** A CPU's read cycle as its data sheet lays it out. Times in s. */
export interface ReadCycle {
  /** Clock periods from the start of an address to the edge that takes the data. */
  periods: number;
  /** From the start of the cycle to the address being valid. */
  addressDelay: Sourced;
  /** Data valid before the edge that takes it. */
  setup: Sourced;
  /** What the access time of the data sheet leaves over: the clock's own edge. */
  edge: number;
  /** Which read this is: the one that leaves the least time. */
  which: string;
}

/** Falling edge of the clock where no access time tells it, s: as in the 6809 and 6502 sheets (from memory). */
const EDGE = 25e-9;

/**
 * The read cycle of a CPU. 6809, 6800 and 6502: one period, access = period − edge − address delay − set-up (the
 * MC6809E data sheet's own sum). Z80: an instruction fetch, from the rise of T1 to the rise of T3. Nothing where the
 * catalogue has no bus values or the cycle is not known here.
 */
export function readCycle(chip: Chip): ReadCycle | undefined {
  const { bus, clockMax, instructionSet } = chip.cpu ?? {};
  if (!bus?.addressDelay || !bus.readSetup) return undefined;
  const shared = { addressDelay: bus.addressDelay, setup: bus.readSetup };
  if (instructionSet === "Z80") return { ...shared, periods: 2, edge: 0, which: "instruction fetch, T1 to T3" };
  if (instructionSet !== "6809" && instructionSet !== "6800" && instructionSet !== "6502") return undefined;
  const left =
    bus.access && clockMax
      ? 1 / clockMax.value.value - bus.access.value.value - bus.addressDelay.value.value - bus.readSetup.value.value
      : EDGE;
  return { ...shared, periods: 1, edge: Math.max(0, left), which: "read" };
}

/** Time from a valid address to valid data at a clock, wait states counted in, s. */
export const timeForMemory = (cycle: ReadCycle, clock: number, waits = 0): number =>
  (cycle.periods + waits) / clock - cycle.edge - cycle.addressDelay.value.value - cycle.setup.value.value;
