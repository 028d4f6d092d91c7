/** Random numbers from a seed, the same each time. */
export class Random {
  #state: number;
  #spare: number | undefined;

  constructor(seed: number) {
    this.#state = (seed ^ 0x9e3779b9) >>> 0;
  }

  /** From 0 up to 1: a 32-bit state stepped by a constant and mixed. */
  next(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(this.#state ^ (this.#state >>> 15), this.#state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  }

  /** Normally distributed, mean 0 and deviation 1 (polar method). */
  normal(): number {
    if (this.#spare !== undefined) {
      const spare = this.#spare;
      this.#spare = undefined;
      return spare;
    }
    for (;;) {
      const x = 2 * this.next() - 1;
      const y = 2 * this.next() - 1;
      const square = x * x + y * y;
      if (square >= 1 || square === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(square)) / square);
      this.#spare = y * factor;
      return x * factor;
    }
  }

  bytes(length: number): Uint8Array {
    return Uint8Array.from({ length }, () => Math.floor(this.next() * 256));
  }
}
