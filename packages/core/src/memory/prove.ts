import type { Logic } from "../catalogue/index.ts";
import { evaluate, firstRow, inputsOf, type Signals, tableAlgebra } from "./algebra.ts";
import { Diagrams, TooLarge } from "./diagram.ts";

/** Most inputs of which every combination is tried. */
const MOST_TRIED = 16;
/** Most inputs of a decision diagram: its recursion is as deep. */
const MOST_INPUTS = 200;

export type Proof =
  | { equal: true; method: "every combination" | "decision diagrams"; inputs: number }
  | {
      equal: false;
      method: "every combination" | "decision diagrams";
      inputs: number;
      /** Lowest address at which they differ, and the other inputs there (latch bits, `read`). */
      address: number;
      others: ReadonlyMap<string, boolean>;
      /** What each gives there. */
      first: boolean;
    }
  /** Too large to be settled. */
  | { equal: undefined; inputs: number };

const bitOf = (name: string): number | undefined => {
  const match = /^A(\d+)$/.exec(name);
  return match ? Number(match[1]) : undefined;
};

/** The highest address line first, then the other inputs by name: so the first difference is at the lowest address. */
function ordered(inputs: Iterable<string>): string[] {
  return [...inputs].sort((a, b) => {
    const [x, y] = [bitOf(a), bitOf(b)];
    if (x !== undefined && y !== undefined) return y - x;
    if (x !== undefined || y !== undefined) return x !== undefined ? -1 : 1;
    return a < b ? -1 : 1;
  });
}

/** Proves two equations equal, or shows the first address at which they differ. */
export function proveEqual(one: Logic, other: Logic, signals: Signals): Proof {
  const order = ordered(new Set([...inputsOf(one, signals), ...inputsOf(other, signals)]));
  const difference: Logic = { op: "xor", of: [one, other] };
  let found: ReadonlyMap<string, boolean> | undefined;
  const tried = order.length <= MOST_TRIED;
  if (tried) {
    const rows = [...order].reverse();
    const row = firstRow(evaluate(difference, signals, tableAlgebra(rows)), 2 ** rows.length);
    if (row !== undefined) found = new Map(rows.map((name, bit) => [name, Math.floor(row / 2 ** bit) % 2 === 1]));
  } else {
    if (order.length > MOST_INPUTS) return { equal: undefined, inputs: order.length };
    try {
      const diagrams = new Diagrams(order);
      found = diagrams.firstTrue(evaluate(difference, signals, diagrams));
    } catch (error) {
      if (error instanceof TooLarge) return { equal: undefined, inputs: order.length };
      throw error;
    }
  }
  const method = tried ? "every combination" : "decision diagrams";
  if (!found) return { equal: true, method, inputs: order.length };
  const values = found;
  const address = order.reduce((sum, name) => {
    const bit = bitOf(name);
    return bit !== undefined && values.get(name) ? sum + 2 ** bit : sum;
  }, 0);
  const others = new Map(
    order.filter((name) => bitOf(name) === undefined).map((name) => [name, values.get(name) ?? false]),
  );
  const algebra = tableAlgebra([], (name) => values.get(name) ?? false);
  return {
    equal: false,
    method,
    inputs: order.length,
    address,
    others,
    first: (evaluate(one, signals, algebra)[0]! & 1) === 1,
  };
}

/** True for the addresses `from` to `to`, both included. */
export function rangeLogic(from: number, to: number): Logic {
  const line = (bit: number): Logic => ({ op: "is", name: `A${bit}` });
  let atLeast: Logic = { op: "const", value: true };
  let atMost: Logic = { op: "const", value: true };
  for (let bit = 0; bit < 16; bit++) {
    atLeast = { op: from & (1 << bit) ? "and" : "or", of: [line(bit), atLeast] };
    atMost = { op: to & (1 << bit) ? "or" : "and", of: [{ op: "not", of: line(bit) }, atMost] };
  }
  return { op: "and", of: [atLeast, atMost] };
}

/** True where the lines of `mask` are as in `at`. */
export function maskLogic(mask: number, at: number): Logic {
  const of: Logic[] = [{ op: "const", value: true }];
  for (let bit = 0; bit < 16; bit++)
    if (mask & (1 << bit)) {
      const line: Logic = { op: "is", name: `A${bit}` };
      of.push(at & (1 << bit) ? line : { op: "not", of: line });
    }
  return { op: "and", of };
}
