import type { Algebra } from "./algebra.ts";

/** A decision diagram grew beyond `LARGEST` nodes. */
export class TooLarge extends Error {}

const LARGEST = 200_000;

/**
 * Reduced ordered binary decision diagrams (Bryant 1986, from memory): two equations are equal exactly where their
 * diagrams are the same node. Nodes 0 and 1 are the constants. `order` names the input that is asked first, first.
 */
export class Diagrams implements Algebra<number> {
  private readonly levels: number[] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  private readonly lows: number[] = [0, 1];
  private readonly highs: number[] = [0, 1];
  private readonly unique = new Map<string, number>();
  private readonly done = new Map<string, number>();
  private readonly numbers: ReadonlyMap<string, number>;
  private readonly order: readonly string[];

  constructor(order: readonly string[]) {
    this.order = order;
    this.numbers = new Map(order.map((name, index) => [name, index]));
  }

  constant = (value: boolean): number => (value ? 1 : 0);
  input = (name: string): number => this.node(this.numbers.get(name) ?? 0, 0, 1);
  not = (a: number): number => this.apply("^", a, 1);
  and = (a: number, b: number): number => this.apply("&", a, b);
  or = (a: number, b: number): number => this.apply("|", a, b);
  xor = (a: number, b: number): number => this.apply("^", a, b);

  /** Inputs that make it true, those asked first at 0 where that can be; nothing where it is never true. */
  firstTrue(node: number): Map<string, boolean> | undefined {
    if (node === 0) return undefined;
    const values = new Map<string, boolean>();
    let here = node;
    while (here !== 1) {
      const goesLow = this.lows[here] !== 0;
      values.set(this.order[this.levels[here]!]!, !goesLow);
      here = goesLow ? this.lows[here]! : this.highs[here]!;
    }
    return values;
  }

  private node(level: number, low: number, high: number): number {
    if (low === high) return low;
    const key = `${level} ${low} ${high}`;
    const known = this.unique.get(key);
    if (known !== undefined) return known;
    if (this.levels.length > LARGEST) throw new TooLarge("decision diagram");
    const number = this.levels.push(level) - 1;
    this.lows.push(low);
    this.highs.push(high);
    this.unique.set(key, number);
    return number;
  }

  private apply(op: "&" | "|" | "^", a: number, b: number): number {
    if (a < 2 && b < 2) return op === "&" ? a & b : op === "|" ? a | b : a ^ b;
    if (op === "&" && (a === 0 || b === 0)) return 0;
    if (op === "|" && (a === 1 || b === 1)) return 1;
    if (a === b) return op === "^" ? 0 : a;
    const key = a < b ? `${op}${a} ${b}` : `${op}${b} ${a}`;
    const known = this.done.get(key);
    if (known !== undefined) return known;
    const level = Math.min(this.levels[a]!, this.levels[b]!);
    const [aLow, aHigh] = this.levels[a] === level ? [this.lows[a]!, this.highs[a]!] : [a, a];
    const [bLow, bHigh] = this.levels[b] === level ? [this.lows[b]!, this.highs[b]!] : [b, b];
    const result = this.node(level, this.apply(op, aLow, bLow), this.apply(op, aHigh, bHigh));
    this.done.set(key, result);
    return result;
  }
}
