/** Lines of a capture as `captureLine` writes bytes that came in or went out, read without the detour over JSON: most of a long session. */

const [QUOTE, BACKSLASH, POINT, ZERO, NINE] = [0x22, 0x5c, 0x2e, 0x30, 0x39];
/** Digits that a double holds exactly; with powers of ten up to 22 one division then rounds as JSON does (IEEE 754). */
const MOST_DIGITS = 15;
const POWERS = Float64Array.from({ length: MOST_DIGITS + 1 }, (_, power) => Number(`1e${power}`));

/** What follows a backslash, by its character, as a byte; U+0000 to U+00FF by \u apart. */
const ESCAPED = new Int16Array(256).fill(-1);
for (const [name, byte] of Object.entries({ '"': 34, "\\": 92, "/": 47, b: 8, f: 12, n: 10, r: 13, t: 9 }))
  ESCAPED[name.charCodeAt(0)] = byte;

const HEX = new Int16Array(256).fill(-1);
for (const [value, digit] of [..."0123456789abcdef"].entries())
  for (const each of [digit, digit.toUpperCase()]) HEX[each.charCodeAt(0)] = value;

const octets = (text: string): Uint8Array => Uint8Array.from(text, (each) => each.charCodeAt(0));
const TIME = octets('{"t":');
const WAYS = [
  ["in", octets(',"in":"')],
  ["out", octets(',"out":"')],
] as const;

function stands(bytes: Uint8Array, at: number, text: Uint8Array): boolean {
  for (let k = 0; k < text.length; k++) if (bytes[at + k] !== text[k]) return false;
  return true;
}

/** Reads such lines one after another. The pieces are views into one buffer: a long session has a million of them. */
export class PieceReader {
  readonly #bytes: Uint8Array;
  /** Bytes of all pieces so far. */
  readonly #found: Uint8Array<ArrayBuffer>;
  #used = 0;
  #at = 0;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
    this.#found = new Uint8Array(bytes.length);
  }

  /** The piece of the line from `from` to before `end`; undefined where the line has any other form, which may be a right one. */
  read(from: number, end: number): { t: number; in: Uint8Array } | { t: number; out: Uint8Array } | undefined {
    const bytes = this.#bytes;
    if (!stands(bytes, from, TIME)) return undefined;
    this.#at = from + TIME.length;
    const t = this.#time();
    if (t === undefined) return undefined;
    for (const [way, text] of WAYS) {
      if (!stands(bytes, this.#at, text)) continue;
      const piece = this.#string(this.#at + text.length, end);
      return piece && (way === "in" ? { t, in: piece } : { t, out: piece });
    }
    return undefined;
  }

  #time(): number | undefined {
    const bytes = this.#bytes;
    const first = this.#at;
    let [at, value, point] = [first, 0, -1];
    for (; ; at++) {
      const byte = bytes[at]!;
      if (byte >= ZERO && byte <= NINE) value = value * 10 + byte - ZERO;
      else if (byte === POINT && point < 0) point = at;
      else break;
    }
    const whole = (point < 0 ? at : point) - first;
    const parts = point < 0 ? 0 : at - point - 1;
    if (whole === 0 || (whole > 1 && bytes[first] === ZERO) || (point >= 0 && parts === 0)) return undefined;
    if (whole + parts > MOST_DIGITS) return undefined;
    this.#at = at;
    return value / POWERS[parts]!;
  }

  /** Bytes of a string that begins at `at`, if the line ends with it. */
  #string(start: number, end: number): Uint8Array | undefined {
    const bytes = this.#bytes;
    const found = this.#found;
    let at = start;
    let count = this.#used;
    for (; at < end; at++) {
      let byte = bytes[at]!;
      if (byte === QUOTE) break;
      if (byte < 0x20) return undefined;
      if (byte === BACKSLASH) {
        at++;
        if (bytes[at] === 0x75) {
          if (bytes[at + 1] !== ZERO || bytes[at + 2] !== ZERO) return undefined;
          const [high, low] = [HEX[bytes[at + 3]!]!, HEX[bytes[at + 4]!]!];
          if (high < 0 || low < 0) return undefined;
          byte = high * 16 + low;
          at += 4;
        } else {
          byte = ESCAPED[bytes[at]!]!;
          if (byte < 0) return undefined;
        }
      }
      found[count++] = byte;
    }
    return at === end - 2 && bytes[at + 1] === 0x7d ? this.#take(count) : undefined;
  }

  #take(end: number): Uint8Array {
    const from = this.#used;
    this.#used = end;
    return new Uint8Array(this.#found.buffer, from, end - from);
  }
}
