import { type CellFault, FAULT_CLASSES, type FaultClass, type MachineFault } from "@rouse/core/diagnose";

/** Numbers that follow no rule but are the same each time (mulberry32, public domain). */
export function chance(seed: number): (below: number) => number {
  let state = seed >>> 0;
  return (below) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return Math.floor((((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32) * below);
  };
}

/** A fault of a class somewhere in `bytes` bytes. Of two cells the second is often a neighbour. */
export function someFault(name: FaultClass, bytes: number, below: (below: number) => number, hold: number): CellFault {
  const value = () => below(2) as 0 | 1;
  const cell = below(bytes * 8);
  const near = [1, -1, 8, -8, 512, -512][below(6)]!;
  const other =
    cell + near >= 0 && cell + near < bytes * 8 && below(3) > 0
      ? cell + near
      : (cell + 1 + below(bytes * 8 - 1)) % (bytes * 8);
  switch (name) {
    case "SAF":
      return { kind: "stuck", cell, value: value() };
    case "TF":
      return { kind: "transition", cell, to: value() };
    case "SOF":
      return { kind: "open", cell };
    case "DRF":
      return { kind: "leak", cell, rest: value(), hold };
    case "CFin":
      return { kind: "inversion", aggressor: other, edge: value(), victim: cell };
    case "CFid":
      return { kind: "idempotent", aggressor: other, edge: value(), victim: cell, value: value() };
    case "CFst":
      return { kind: "state", aggressor: other, level: value(), victim: cell, value: value() };
    case "BF":
      return { kind: "bridge", cells: [cell, other], wired: value() ? "or" : "and" };
    case "AF": {
      const [address, second] = [
        Math.floor(cell / 8),
        Math.floor(((cell + 8 * (1 + below(bytes - 1))) % (bytes * 8)) / 8),
      ];
      const words = [[], [second], [address, second]][below(3)]!;
      return {
        kind: "decoder",
        routes: [{ address, words }],
        bits: 1 << (cell % 8),
        wired: value() ? "or" : "and",
        floats: value(),
      };
    }
  }
}

/** Faults of all classes in turn. */
export function someFaults(count: number, part: string, bytes: number, seed: number, hold: number): MachineFault[] {
  const below = chance(seed);
  return Array.from({ length: count }, (_, index) => ({
    on: "cells",
    part,
    fault: someFault(FAULT_CLASSES[index % FAULT_CLASSES.length]!, bytes, below, hold),
  }));
}
