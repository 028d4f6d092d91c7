/**
 * Parts by name, each made when it is first asked for: a command that needs three chips doesn't pay for a hundred. Once
 * all are asked for, they are kept in the order of their names' first mention.
 */
export class Parts<Part> implements ReadonlyMap<string, Part> {
  readonly #names: ReadonlySet<string>;
  readonly #make: (name: string) => Part;
  readonly #made = new Map<string, Part>();

  constructor(names: ReadonlySet<string>, make: (name: string) => Part) {
    this.#names = names;
    this.#make = make;
  }

  get size(): number {
    return this.#names.size;
  }

  has(name: string): boolean {
    return this.#names.has(name);
  }

  get(name: string): Part | undefined {
    if (!this.#names.has(name)) return undefined;
    let part = this.#made.get(name);
    if (part === undefined) {
      part = this.#make(name);
      this.#made.set(name, part);
    }
    return part;
  }

  keys(): MapIterator<string> {
    return this.#names.keys();
  }

  values(): MapIterator<Part> {
    return this.#all().values();
  }

  entries(): MapIterator<[string, Part]> {
    return this.#all().entries();
  }

  [Symbol.iterator](): MapIterator<[string, Part]> {
    return this.entries();
  }

  forEach(visit: (part: Part, name: string, parts: ReadonlyMap<string, Part>) => void): void {
    for (const [name, part] of this.entries()) visit(part, name, this);
  }

  #all(): Map<string, Part> {
    const all = new Map<string, Part>();
    for (const name of this.#names) all.set(name, this.get(name)!);
    return all;
  }
}
