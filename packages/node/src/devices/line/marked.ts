import type { ReadByte } from "@rouse/core/line";

const MARK = 0xff;

/**
 * Undoes how POSIX terminals mark what came wrong (IEEE Std 1003.1, 11.2.2, PARMRK without IGNPAR): FF 00 and the
 * character where its stop bit was wrong, or 00 for a break; FF FF where FF itself came. Takes any chunks.
 */
export class MarkedBytes {
  #open: number[] = [];

  push(bytes: Uint8Array): ReadByte[] {
    const found: ReadByte[] = [];
    for (const byte of bytes) {
      if (this.#open.length === 0) {
        if (byte === MARK) this.#open.push(byte);
        else found.push({ value: byte, framing: false });
      } else if (this.#open.length === 1) {
        if (byte === 0) {
          this.#open.push(byte);
          continue;
        }
        this.#open = [];
        found.push({ value: MARK, framing: false });
        // A driver that does not double FF: the other byte is one of its own.
        if (byte !== MARK) found.push({ value: byte, framing: false });
      } else {
        this.#open = [];
        found.push({ value: byte, framing: true });
      }
    }
    return found;
  }
}
