/**
 * How well one stretch of bytes goes on in another, judged by the image's own habits: how often one byte follows
 * another, next to it and one further on. Text and programs have such habits; packed or random data have none.
 */
export class Habits {
  readonly #next = new Uint16Array(65_536);
  readonly #afterNext = new Uint16Array(65_536);
  readonly #first = new Uint32Array(256);
  #total = 0;

  /** Learns from `bytes[from, to)`. */
  learn(bytes: Uint8Array, from: number, to: number): void {
    const next = this.#next;
    const afterNext = this.#afterNext;
    let before = bytes[from]!;
    let now = bytes[from + 1]!;
    this.#first[before]!++;
    this.#first[now]!++;
    next[(before << 8) | now]!++;
    for (let i = from + 2; i < to; i++) {
      const byte = bytes[i]!;
      this.#first[byte]!++;
      next[(now << 8) | byte]!++;
      afterNext[(before << 8) | byte]!++;
      before = now;
      now = byte;
    }
    this.#total += to - from;
  }

  /** Logarithm of how much likelier `after` is behind `before` than anywhere, within bounds. */
  #surprise(table: Uint16Array, before: number, after: number): number {
    const expected = (this.#first[before]! * this.#first[after]!) / this.#total;
    if (expected === 0) return 0;
    const seen = table[(before << 8) | after]!;
    return Math.min(3, Math.log((seen + 0.4 * expected + 0.05) / (1.4 * expected + 0.05)));
  }

  /** Score of the join where `bytes` go on at `to` behind `end` (exclusive): above 0 speaks for it, below against. */
  join(bytes: Uint8Array, end: number, to: number): number {
    const a = bytes[end - 2]!;
    const b = bytes[end - 1]!;
    const c = bytes[to]!;
    const d = bytes[to + 1]!;
    return (
      this.#surprise(this.#next, b, c) +
      0.6 * (this.#surprise(this.#afterNext, a, c) + this.#surprise(this.#afterNext, b, d))
    );
  }
}
