import { characterOf } from "../bytes/index.ts";
import { Scanner, type ScanSink, type Sequence } from "../terminal/index.ts";

const [BS, TAB, LF, CR] = [0x08, 0x09, 0x0a, 0x0d];
/** Functions that place what follows somewhere else: CUU to CUP, HPA, HPR, VPA, VPR, HVP and ED, by final byte. */
const PLACES = new Set([0x41, 0x42, 0x43, 0x44, 0x45, 0x46, 0x47, 0x48, 0x4a, 0x60, 0x61, 0x64, 0x65, 0x66]);

/**
 * A stream as plain text, piece by piece: control functions are gone, a line's end and every jump of the cursor are
 * `\n`, BS is `\b`. Nothing that comes out can act on a terminal.
 */
export class PlainText implements ScanSink {
  readonly #scanner: Scanner;
  readonly #mask: number;
  #text = "";

  /** `frame` of the session: with seven data bits, or a parity bit in the eighth's place, the eighth is left out. */
  constructor(frame: string) {
    const bits = frame.startsWith("8") ? 8 : 7;
    this.#mask = bits === 8 ? 0xff : 0x7f;
    this.#scanner = new Scanner(this, { bits });
  }

  take(bytes: Uint8Array): string {
    this.#text = "";
    this.#scanner.write(bytes);
    return this.#text;
  }

  text(bytes: Uint8Array, from: number, to: number): void {
    for (let at = from; at < to; at++) {
      const byte = bytes[at]! & this.#mask;
      this.#text += characterOf(byte, "plain") || (byte >= 0xa0 ? String.fromCharCode(byte) : "");
    }
  }

  control(byte: number): void {
    if (byte === CR || byte === LF || byte === 0x85) this.#text += "\n";
    else if (byte === TAB) this.#text += " ";
    else if (byte === BS) this.#text += "\b";
  }

  sequence({ lead, intermediates, final }: Sequence): void {
    if (lead === 0 && intermediates === 0 && PLACES.has(final)) this.#text += "\n";
  }

  escape(): void {}
  string(): void {}
  fault(): void {}
}
