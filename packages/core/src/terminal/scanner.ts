import { Action, grammar, State } from "./grammar.ts";

/**
 * A control sequence as scanned. Borrowed: the scanner uses the same object again, so copy what is to be kept.
 * `values[i]` is −1 where the parameter was left out; `sub[i]` is 1 where it is a sub-parameter of the one before.
 */
export interface Sequence {
  /** 3C to 3F where the parameters are for private use, else 0. */
  lead: number;
  /** Packed intermediate bytes, the earlier one higher; 0 where there is none. */
  intermediates: number;
  final: number;
  count: number;
  values: Int32Array;
  sub: Uint8Array;
}

/** What a scan finds, in order. `at` is the offset of the function's first byte in the whole stream. */
export interface ScanSink {
  /** Graphic characters, `bytes` from `from` to `to`. With 7 bits the eighth is still on them. */
  text(bytes: Uint8Array, from: number, to: number): void;
  /** A C0 function, DEL, or a C1 function in either form (80 to 9F). */
  control(byte: number, at: number): void;
  escape(intermediates: number, final: number, at: number): void;
  sequence(sequence: Sequence, at: number): void;
  /** A whole control string; `opener` is the C1 byte (90, 98, 9D, 9E, 9F), `data` is its start, at most 4,096 bytes. */
  string(opener: number, data: Uint8Array, length: number, at: number): void;
  /** Something against the grammar, or given up: where it began, and the byte that showed it. */
  fault(at: number, byte: number): void;
}

const MOST_PARAMETERS = 32;
const MOST_VALUE = 0x7fff_ffff;
const MOST_STRING = 4096;
const SEPARATOR = 0x3b;
const SUB_SEPARATOR = 0x3a;
const BEL = 0x07;
const OSC = 0x9d;

/** Reads a stream by the grammar of ECMA-48 clause 5, in pieces of any length. Never throws, whatever the bytes. */
export class Scanner {
  readonly #table: Uint8Array;
  readonly #mask: number;
  readonly #sink: ScanSink;
  readonly #options: { bits?: 7 | 8; sequences?: boolean };
  readonly #string = new Uint8Array(MOST_STRING);
  #state: number = State.Ground;
  #intermediates = 0;
  #sequence: Sequence = {
    lead: 0,
    intermediates: 0,
    final: 0,
    count: 0,
    values: new Int32Array(MOST_PARAMETERS),
    sub: new Uint8Array(MOST_PARAMETERS),
  };
  #opener = 0;
  #length = 0;
  /** Offset in the stream of the next piece's first byte, and of the function that is open. */
  #base = 0;
  #start = 0;

  constructor(sink: ScanSink, options: { bits?: 7 | 8; sequences?: boolean } = {}) {
    const bits = options.bits ?? 8;
    this.#sink = sink;
    this.#options = options;
    this.#table = grammar(bits, options.sequences ?? true);
    this.#mask = bits === 7 ? 0x7f : 0xff;
  }

  /** One that goes on from here for another sink. */
  copy(sink: ScanSink): Scanner {
    const copy = new Scanner(sink, this.#options);
    copy.#string.set(this.#string);
    copy.#state = this.#state;
    copy.#intermediates = this.#intermediates;
    copy.#sequence = {
      ...this.#sequence,
      values: this.#sequence.values.slice(),
      sub: this.#sequence.sub.slice(),
    };
    copy.#opener = this.#opener;
    copy.#length = this.#length;
    copy.#base = this.#base;
    copy.#start = this.#start;
    return copy;
  }

  /** False while a sequence or string has begun and not ended. */
  get atRest(): boolean {
    return this.#state === State.Ground;
  }

  /** Where the function began that has not ended yet, or undefined. */
  get openSince(): number | undefined {
    return this.atRest ? undefined : this.#start;
  }

  write(bytes: Uint8Array, from = 0, to = bytes.length): void {
    const table = this.#table;
    const base = this.#base - from;
    let i = from;
    while (i < to) {
      if (this.#state === State.Ground) {
        const start = i;
        while (i < to && table[bytes[i]!]! >> 4 === Action.Text) i++;
        if (i > start) this.#sink.text(bytes, start, i);
        if (i === to) break;
      } else if (this.#state === State.Parameters) {
        i = this.#digits(bytes, i, to);
        if (i === to) break;
      }
      const byte = bytes[i]! & this.#mask;
      this.#step(byte, table[(this.#state << 8) | byte]!, base + i);
      i++;
    }
    this.#base += to - from;
  }

  #step(byte: number, entry: number, at: number): void {
    const before = this.#state;
    this.#state = entry & 15;
    switch (entry >> 4) {
      case Action.Ignore:
        // BEL ends an OSC string: common practice, against 5.6.
        if (byte === BEL && before === State.Command && this.#opener === OSC) this.#endString();
        return;
      case Action.Control:
        this.#giveUp(before, byte);
        this.#control(byte, at, before);
        return;
      case Action.Begin:
        this.#giveUp(before, byte);
        this.#start = at;
        this.#intermediates = 0;
        return;
      case Action.Intermediate:
        this.#intermediates = ((this.#intermediates << 8) | byte) & 0xffff;
        return;
      case Action.EscapeEnd:
        this.#sink.escape(this.#intermediates, byte, this.#start);
        return;
      case Action.SequenceBegin:
        this.#open(before, byte, at);
        this.#intermediates = 0;
        this.#sequence.lead = 0;
        this.#sequence.count = 0;
        return;
      case Action.Parameter:
        this.#parameter(byte);
        return;
      case Action.SequenceEnd:
        this.#sequence.intermediates = this.#intermediates;
        this.#sequence.final = byte;
        this.#sink.sequence(this.#sequence, this.#start);
        return;
      case Action.StringBegin:
        this.#open(before, byte, at);
        this.#opener = byte < 0x80 ? byte + 0x40 : byte;
        this.#length = 0;
        return;
      case Action.StringByte:
        if (before === State.CharactersEscape) this.#put(0x1b);
        if (byte !== 0x1b || before !== State.CharactersEscape) this.#put(byte);
        return;
      case Action.StringEnd:
        this.#endString();
        return;
      case Action.Cut:
        this.#sink.fault(this.#start, byte);
        this.#start = at - 1;
        this.#intermediates = 0;
        this.#step(byte, this.#table[(State.Escape << 8) | byte]!, at);
        return;
      case Action.Fault:
        this.#sink.fault(this.#start, byte);
        return;
      case Action.Cancel:
        if (before !== State.Broken || byte < 0x40) this.#sink.fault(this.#start, byte);
        return;
    }
  }

  /** A C1 byte in the middle of something gives that up; ESC with 40 to 5F is how the function itself began. */
  #open(before: number, byte: number, at: number): void {
    if (byte < 0x80) return;
    this.#giveUp(before, byte);
    this.#start = at;
  }

  #giveUp(before: number, byte: number): void {
    if (before === State.Ground || this.#state === before) return;
    if (before === State.Escape && byte >= 0x40 && byte <= 0x5f) return;
    this.#sink.fault(this.#start, byte);
  }

  #control(byte: number, at: number, before: number): void {
    if (before === State.Escape && byte >= 0x40 && byte <= 0x5f) this.#sink.control(byte + 0x40, this.#start);
    else this.#sink.control(byte, at);
  }

  #parameter(byte: number): void {
    const sequence = this.#sequence;
    if (byte >= 0x3c) {
      // First, it makes the whole string private (5.4.1); later it has no meaning.
      if (sequence.count === 0 && sequence.lead === 0) sequence.lead = byte;
      else {
        this.#sink.fault(this.#start, byte);
        this.#state = State.Broken;
      }
      return;
    }
    if (sequence.count === 0) {
      sequence.count = 1;
      sequence.values[0] = -1;
      sequence.sub[0] = 0;
    }
    if (byte === SEPARATOR || byte === SUB_SEPARATOR) {
      if (sequence.count < MOST_PARAMETERS) {
        sequence.values[sequence.count] = -1;
        sequence.sub[sequence.count] = byte === SUB_SEPARATOR ? 1 : 0;
      }
      // One past the last place stands for all that don't fit: their digits are dropped.
      if (sequence.count <= MOST_PARAMETERS) sequence.count++;
      return;
    }
    if (sequence.count > MOST_PARAMETERS) return;
    const last = sequence.count - 1;
    const value = Math.max(0, sequence.values[last]!) * 10 + byte - 0x30;
    sequence.values[last] = Math.min(value, MOST_VALUE);
  }

  /** Reads on through the digits of a parameter, the most frequent bytes of control functions; gives where they end. */
  #digits(bytes: Uint8Array, from: number, to: number): number {
    const { count, values } = this.#sequence;
    if (count === 0 || count > MOST_PARAMETERS) return from;
    let value = values[count - 1]!;
    let i = from;
    for (; i < to; i++) {
      const digit = (bytes[i]! & this.#mask) - 0x30;
      if (digit < 0 || digit > 9) break;
      value = Math.min(Math.max(0, value) * 10 + digit, MOST_VALUE);
    }
    values[count - 1] = value;
    return i;
  }

  #put(byte: number): void {
    if (this.#length < MOST_STRING) this.#string[this.#length] = byte;
    this.#length++;
  }

  #endString(): void {
    this.#state = State.Ground;
    this.#sink.string(
      this.#opener,
      this.#string.subarray(0, Math.min(this.#length, MOST_STRING)),
      this.#length,
      this.#start,
    );
  }
}

/**
 * The value of a parameter, or `otherwise` where it was left out. 0 counts as left out where `zero` says so: cursor
 * movement takes it as 1 (ZDM).
 */
export function parameter(
  sequence: Sequence,
  index: number,
  otherwise: number,
  zero: "zero counts" | "as left out",
): number {
  const value = index < Math.min(sequence.count, MOST_PARAMETERS) ? sequence.values[index]! : -1;
  return value < 0 || (value === 0 && zero === "as left out") ? otherwise : value;
}
