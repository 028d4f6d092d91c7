import type { CellFault } from "./cells.ts";
import type { FaultClass } from "./classes.ts";

/** Numbers that follow no rule but are the same for the same seed (mulberry32, public domain): 0 to `below` − 1. */
export function chance(seed: number): (below: number) => number {
  let state = seed >>> 0;
  return (below) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return Math.floor((((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32) * below);
  };
}

/**
 * A fault of a class somewhere in `bytes` bytes of at least two. Of two cells the second is mostly a neighbour: of the same byte, the
 * bytes beside it, or those a row of 64 away. `hold` is that of a leaking cell, cycles.
 */
export function someFault(name: FaultClass, bytes: number, below: (below: number) => number, hold: number): CellFault {
  const cells = bytes * 8;
  const value = () => below(2) as 0 | 1;
  const cell = below(cells);
  const near = cell + [1, -1, 8, -8, 512, -512][below(6)]!;
  const other = near >= 0 && near < cells && below(3) > 0 ? near : (cell + 1 + below(cells - 1)) % cells;
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
      const address = Math.floor(cell / 8);
      const second = (address + 1 + below(bytes - 1)) % bytes;
      return {
        kind: "decoder",
        routes: [{ address, words: [[], [second], [address, second]][below(3)]! }],
        bits: 1 << (cell % 8),
        wired: value() ? "or" : "and",
        floats: value(),
      };
    }
  }
}
