/** How fast a device may be sent to. All that is left out is not waited for. */
export interface Pace {
  /** Milliseconds from the start of one character to the next. */
  perCharacter?: number;
  /** Milliseconds to wait after each line end (LF, or CR on its own line). */
  afterLine?: number;
}

const CR = 0x0d;
const LF = 0x0a;

/** A timer that comes late may make up for this many ms, so that a pace finer than timers are is still kept. */
const MOST_CATCH_UP = 5;

/** A queue that lets bytes go at a pace. Time is given in ms by the caller. */
export class Pacer {
  readonly #perCharacter: number;
  readonly #afterLine: number;
  #queue: number[] = [];
  #first = 0;
  #free = 0;
  #behind = false;
  /** While held, nothing goes. */
  held = false;

  constructor(pace: Pace = {}) {
    this.#perCharacter = pace.perCharacter ?? 0;
    this.#afterLine = pace.afterLine ?? 0;
  }

  get waiting(): number {
    return this.#queue.length - this.#first;
  }

  /** The time at which the next byte might go. */
  get free(): number {
    return this.#free;
  }

  add(bytes: Uint8Array): void {
    for (const byte of bytes) this.#queue.push(byte);
  }

  /** Forgets what has not gone yet. */
  drop(): void {
    this.#queue = [];
    this.#first = 0;
  }

  /** What may go at `now`, and when to ask again if something is left. */
  take(now: number): { bytes: Uint8Array; wake?: number } {
    const out: number[] = [];
    const late = this.#behind && !this.held ? MOST_CATCH_UP : 0;
    if (this.#free < now - late) this.#free = now - late;
    while (!this.held && this.waiting > 0 && this.#free <= now) {
      const byte = this.#queue[this.#first++]!;
      out.push(byte);
      this.#free += this.#perCharacter;
      const lineEnd = byte === LF || (byte === CR && this.#queue[this.#first] !== LF);
      if (lineEnd) this.#free += this.#afterLine;
    }
    if (this.waiting === 0) this.drop();
    this.#behind = this.waiting > 0;
    return { bytes: Uint8Array.from(out), ...(this.waiting > 0 && !this.held ? { wake: this.#free } : {}) };
  }
}
