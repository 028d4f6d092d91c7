/** A small seeded generator (xorshift, 32 bits), so that every run of a check is the same. */
export class Random {
  private state: number;

  constructor(seed: number) {
    // Never zero, and apart for neighbouring seeds.
    this.state = Math.imul(seed + 1, 0x9e3779b1) | 1;
  }

  /** 0 to `below` − 1. */
  below(below: number): number {
    this.state ^= this.state << 13;
    this.state ^= this.state >>> 17;
    this.state ^= this.state << 5;
    return Math.floor(((this.state >>> 0) / 0x1_0000_0000) * below);
  }

  /** A byte; often one at which carries, signs and decimal digits turn over. */
  byte(): number {
    const EDGES = [0x00, 0x01, 0x09, 0x0a, 0x0f, 0x10, 0x7f, 0x80, 0x81, 0x99, 0x9a, 0xfe, 0xff];
    return this.below(4) === 0 ? EDGES[this.below(EDGES.length)]! : this.below(256);
  }

  /** A word; often an edge. */
  word(): number {
    const EDGES = [0x0000, 0x0001, 0x00ff, 0x0100, 0x7fff, 0x8000, 0xff00, 0xfffe, 0xffff];
    return this.below(8) === 0 ? EDGES[this.below(EDGES.length)]! : this.below(0x10000);
  }

  fill(bytes: Uint8Array): void {
    for (let i = 0; i < bytes.length; i++) bytes[i] = this.below(256);
  }
}
