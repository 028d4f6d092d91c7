import type { SourceLine } from "./source.ts";

/**
 * Names and their values. A name that begins with a full stop is local: it belongs to the global label before it, and
 * inside a repeat to that turn of the repeat. A name that is used before its line is known from the pass before.
 */
export class Symbols {
  readonly values = new Map<string, number>();
  /** Names given with `equ` whose value is not known; of this pass and those before. */
  readonly withoutValue: Set<string>;
  private readonly before: ReadonlyMap<string, number>;
  private readonly places = new Map<string, SourceLine | "given">();
  /** Prefixes of local names, innermost last. */
  private readonly scopes: string[] = [""];
  private counters: { name: string; value: number; depth: number }[] = [];

  constructor(before: ReadonlyMap<string, number>, given: Readonly<Record<string, number>>, withoutValue: Set<string>) {
    this.before = before;
    this.withoutValue = withoutValue;
    for (const [name, value] of Object.entries(given)) {
      this.values.set(name, value | 0);
      this.places.set(name, "given");
    }
  }

  /** Returns where the name was defined before in this pass, if it was. */
  define(name: string, value: number, line: SourceLine): SourceLine | "given" | undefined {
    const local = name.startsWith(".");
    const full = local ? `${this.scopes.at(-1)}${name}` : name;
    if (!local) this.scopes[this.scopes.length - 1] = name;
    const place = this.places.get(full);
    if (place) return place;
    this.places.set(full, line);
    this.values.set(full, value);
    return undefined;
  }

  lookup(name: string): number | undefined {
    for (let i = this.counters.length - 1; i >= 0; i--)
      if (this.counters[i]!.name === name) return this.counters[i]!.value;
    if (!name.startsWith(".")) return this.value(name);
    for (let i = this.scopes.length - 1; i >= 0; i--) {
      const value = this.value(`${this.scopes[i]}${name}`);
      if (value !== undefined) return value;
    }
    return undefined;
  }

  private value(full: string): number | undefined {
    return this.values.get(full) ?? this.before.get(full);
  }

  openScope(suffix: string): void {
    this.scopes.push(`${this.scopes.at(-1)}:${suffix}`);
  }

  closeScope(): void {
    this.counters = this.counters.filter(({ depth }) => depth < this.scopes.length);
    this.scopes.pop();
  }

  /** Gives a repeat's counter its value for the scope that is open. */
  count(name: string, value: number): void {
    this.counters.push({ name, value, depth: this.scopes.length });
  }

  /** Whether every name has the value that it had in the pass before. */
  settled(): boolean {
    if (this.values.size !== this.before.size) return false;
    for (const [name, value] of this.values) if (this.before.get(name) !== value) return false;
    return true;
  }

  /** A name whose value still moves. */
  unsettled(): string | undefined {
    for (const [name, value] of this.values) if (this.before.get(name) !== value) return name;
    return undefined;
  }

  place(name: string): SourceLine | undefined {
    const place = this.places.get(name);
    return place === "given" ? undefined : place;
  }
}
