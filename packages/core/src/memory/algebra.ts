import { type Logic, namesIn } from "../catalogue/index.ts";

/** What equations are computed in: single bits, truth tables, or decision diagrams. */
export interface Algebra<T> {
  constant(value: boolean): T;
  input(name: string): T;
  not(a: T): T;
  and(a: T, b: T): T;
  or(a: T, b: T): T;
  xor(a: T, b: T): T;
}

export type Signals = ReadonlyMap<string, Logic>;

/** Signals that an equation depends on, each behind those it depends on itself. */
export function orderOf(logic: Logic, signals: Signals): string[] {
  const order: string[] = [];
  const known = new Set<string>();
  const trail: { name?: string; rest: string[] }[] = [];
  const enter = (of: Logic, name?: string) =>
    trail.push({ ...(name === undefined ? {} : { name }), rest: [...namesIn(of)].filter((each) => signals.has(each)) });
  enter(logic);
  while (trail.length > 0) {
    const here = trail.at(-1)!;
    const next = here.rest.pop();
    if (next === undefined) {
      trail.pop();
      if (here.name !== undefined) order.push(here.name);
    } else if (!known.has(next)) {
      known.add(next);
      enter(signals.get(next)!, next);
    }
  }
  return order;
}

/** Inputs that an equation depends on: address lines, latch bits, `read`. */
export function inputsOf(logic: Logic, signals: Signals): Set<string> {
  const inputs = new Set<string>();
  for (const each of [logic, ...orderOf(logic, signals).map((name) => signals.get(name)!)])
    for (const name of namesIn(each)) if (!signals.has(name)) inputs.add(name);
  return inputs;
}

/** Computes an equation whose signals have no loops. */
export function evaluate<T>(logic: Logic, signals: Signals, algebra: Algebra<T>): T {
  const values = new Map<string, T>();
  const compute = (each: Logic): T => {
    switch (each.op) {
      case "const":
        return algebra.constant(each.value);
      case "is":
        return values.get(each.name) ?? algebra.input(each.name);
      case "not":
        return algebra.not(compute(each.of));
      default: {
        const op = each.op;
        return each.of.map(compute).reduce((a, b) => algebra[op](a, b));
      }
    }
  };
  for (const name of orderOf(logic, signals)) values.set(name, compute(signals.get(name)!));
  return compute(logic);
}

/** One bit for given inputs; an input that is not given is 0. */
export const bitAlgebra = (inputs: (name: string) => boolean): Algebra<boolean> => ({
  constant: (value) => value,
  input: inputs,
  not: (a) => !a,
  and: (a, b) => a && b,
  or: (a, b) => a || b,
  xor: (a, b) => a !== b,
});

/** Bit patterns of the five inputs that change within a word of 32 rows. */
const WITHIN = [0xaaaaaaaa, 0xcccccccc, 0xf0f0f0f0, 0xff00ff00, 0xffff0000];

/**
 * Truth tables of all rows at once, 32 rows a word. `inputs` names bit 0 of the row's number first; any other name is a
 * constant that `fixed` gives.
 */
export function tableAlgebra(
  inputs: readonly string[],
  fixed: (name: string) => boolean = () => false,
): Algebra<Uint32Array> {
  const words = Math.max(1, 2 ** (inputs.length - 5));
  const numbers = new Map(inputs.map((name, index) => [name, index]));
  const fill = (word: (index: number) => number) => Uint32Array.from({ length: words }, (_, index) => word(index));
  const both = (a: Uint32Array, b: Uint32Array, op: (x: number, y: number) => number) =>
    fill((index) => op(a[index]!, b[index]!));
  const constant = (value: boolean) => fill(() => (value ? 0xffffffff : 0));
  return {
    constant,
    input(name) {
      const number = numbers.get(name);
      if (number === undefined) return constant(fixed(name));
      if (number < 5) return fill(() => WITHIN[number]!);
      return fill((index) => (index & (2 ** (number - 5)) ? 0xffffffff : 0));
    },
    not: (a) => fill((index) => ~a[index]!),
    and: (a, b) => both(a, b, (x, y) => x & y),
    or: (a, b) => both(a, b, (x, y) => x | y),
    xor: (a, b) => both(a, b, (x, y) => x ^ y),
  };
}

/** First row whose bit is set, below `rows`. */
export function firstRow(table: Uint32Array, rows: number): number | undefined {
  for (const [index, word] of table.entries()) {
    if (word === 0) continue;
    const row = index * 32 + (31 - Math.clz32(word & -word));
    return row < rows ? row : undefined;
  }
  return undefined;
}
