import type { SourceLine } from "./source.ts";

/** Bytes `from` to `to` of the output lie from `address` on; `line` placed the first of them. */
export interface Stretch {
  address: number;
  from: number;
  to: number;
  line: SourceLine;
}

/** The bytes of a pass in the order in which they were placed, and where they lie. */
export class Output {
  readonly stretches: Stretch[] = [];
  bytes = new Uint8Array(1024);
  length = 0;

  add(address: number, bytes: readonly number[], line: SourceLine): void {
    this.extend(address, bytes.length, line);
    for (const byte of bytes) this.bytes[this.length++] = byte;
  }

  fill(address: number, count: number, byte: number, line: SourceLine): void {
    this.extend(address, count, line);
    this.bytes.fill(byte, this.length, this.length + count);
    this.length += count;
  }

  private extend(address: number, count: number, line: SourceLine): void {
    if (this.length + count > this.bytes.length) {
      const larger = new Uint8Array(Math.max(this.bytes.length * 2, this.length + count));
      larger.set(this.bytes);
      this.bytes = larger;
    }
    const last = this.stretches.at(-1);
    if (last && last.address + (last.to - last.from) === address) last.to += count;
    else if (count) this.stretches.push({ address, from: this.length, to: this.length + count, line });
  }
}
