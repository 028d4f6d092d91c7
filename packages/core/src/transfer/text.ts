import type { LineEnd } from "../bytes/index.ts";
import { type Pace, Pacer } from "../terminal/index.ts";
import { EOT, type Step, SUB, type TransferEvent, type TransferFile, type TransferMachine } from "./types.ts";

/**
 * Plain text over a line without a protocol: sent at a pace that the other end can follow, received until it falls
 * silent. Nothing is checked: a lost character stays lost.
 */

export interface TextSendOptions extends Pace {
  /** What ends each line on the way; CR unless said, as a keyboard sends. */
  lineEnd?: LineEnd;
  /** After each line wait for this byte (a prompt, or the LF of an echo) as well. */
  waitFor?: number;
  /** Ms to wait for it before going on without; 10 000 unless said. */
  timeout?: number;
  /** Send SUB or EOT at the end, for a program that waits for it. */
  endWith?: "SUB" | "EOT";
}

const CR = 0x0d;
const LF = 0x0a;
const ENDS: Readonly<Record<Exclude<LineEnd, "keep">, readonly number[]>> = { cr: [CR], lf: [LF], crlf: [CR, LF] };

/** Lines of a text with their ends as asked for. CR LF, CR and LF each end a line; `keep` leaves them as they are. */
function linesOf(bytes: Uint8Array, end: LineEnd): Uint8Array[] {
  const lines: Uint8Array[] = [];
  let from = 0;
  for (let i = 0; i < bytes.length; i++) {
    if (bytes[i] !== CR && bytes[i] !== LF) continue;
    const next = bytes[i] === CR && bytes[i + 1] === LF ? i + 2 : i + 1;
    lines.push(end === "keep" ? bytes.subarray(from, next) : Uint8Array.of(...bytes.subarray(from, i), ...ENDS[end]));
    i = next - 1;
    from = next;
  }
  if (from < bytes.length) lines.push(bytes.subarray(from));
  return lines;
}

/** Sends a text. */
export class TextSender implements TransferMachine {
  readonly #file: TransferFile;
  readonly #options: TextSendOptions;
  readonly #lines: Uint8Array[];
  readonly #pacer: Pacer;
  readonly #length: number;
  #index = 0;
  #sent = 0;
  #waiting = false;
  #deadline = 0;
  #ended = false;
  #events: TransferEvent[] = [];

  constructor(file: TransferFile, options: TextSendOptions = {}) {
    this.#file = file;
    this.#options = options;
    this.#lines = linesOf(file.bytes, options.lineEnd ?? "cr");
    if (options.endWith) this.#lines.push(Uint8Array.of(options.endWith === "SUB" ? SUB : EOT));
    this.#length = this.#lines.reduce((sum, each) => sum + each.length, 0);
    this.#pacer = new Pacer(options);
  }

  get ended(): boolean {
    return this.#ended;
  }

  start(now: number): Step {
    this.#events.push({ kind: "file begins", name: this.#file.name, length: this.#length });
    return this.#go(now);
  }

  receive(bytes: Uint8Array, now: number): Step {
    if (this.#waiting && this.#options.waitFor !== undefined && bytes.includes(this.#options.waitFor))
      this.#waiting = false;
    return this.#go(now);
  }

  tick(now: number): Step {
    if (this.#waiting && now >= this.#deadline) {
      this.#waiting = false;
      this.#events.push({ kind: "retry", block: this.#index, why: "the other end did not answer the line" });
    }
    return this.#go(now);
  }

  cancel(_now: number): Step {
    if (!this.#ended) this.#events.push({ kind: "failed", why: "Cancelled here." });
    this.#ended = true;
    this.#pacer.drop();
    return this.#step(new Uint8Array(0));
  }

  #go(now: number): Step {
    const out: number[] = [];
    let wake: number | undefined;
    while (!this.#ended && !this.#waiting) {
      if (this.#pacer.waiting === 0) {
        const line = this.#lines[this.#index];
        if (!line) {
          this.#ended = true;
          this.#events.push({ kind: "file ends", file: this.#file, exact: false }, { kind: "done" });
          break;
        }
        this.#index++;
        this.#pacer.add(line);
      }
      const step = this.#pacer.take(now);
      out.push(...step.bytes);
      this.#sent += step.bytes.length;
      if (step.bytes.length > 0) this.#events.push({ kind: "progress", bytes: this.#sent, length: this.#length });
      wake = step.wake;
      if (wake !== undefined) break;
      if (this.#options.waitFor !== undefined && this.#index < this.#lines.length) {
        this.#waiting = true;
        wake = this.#deadline = now + (this.#options.timeout ?? 10_000);
      }
      // The last character of a line may have to be followed by a pause as well.
      else if (this.#pacer.free > now) {
        wake = this.#pacer.free;
        break;
      }
    }
    return this.#step(Uint8Array.from(out), this.#waiting ? this.#deadline : wake);
  }

  #step(send: Uint8Array, wake?: number): Step {
    const events = this.#events;
    this.#events = [];
    return { send, events, ...(wake === undefined || this.#ended ? {} : { wake }) };
  }
}

export interface TextReceiveOptions {
  name?: string;
  /** Ms of silence, once something has come, that end the text; 5 000 unless said. */
  quiet?: number;
  /** Ends the text too; not kept. */
  endsWith?: number;
  /** Largest text taken, in bytes; 64 MiB unless said. */
  most?: number;
  /** Text that came before: a capture that is gone on with. */
  before?: Uint8Array;
}

const MOST_TEXT = 64 << 20;

/** Keeps what comes as it is, until silence, the end byte, or `finish`. */
export class TextReceiver implements TransferMachine {
  readonly #options: TextReceiveOptions;
  #chunks: Uint8Array[];
  #bytes: number;
  #quietAt: number | undefined;
  #ended = false;
  #events: TransferEvent[] = [];

  constructor(options: TextReceiveOptions = {}) {
    this.#options = options;
    this.#chunks = options.before ? [options.before] : [];
    this.#bytes = options.before?.length ?? 0;
  }

  get ended(): boolean {
    return this.#ended;
  }

  start(_now: number): Step {
    this.#events.push({ kind: "file begins", name: this.#options.name ?? "received" });
    return this.#step();
  }

  receive(bytes: Uint8Array, now: number): Step {
    if (this.#ended || bytes.length === 0) return this.#step();
    const end = this.#options.endsWith === undefined ? -1 : bytes.indexOf(this.#options.endsWith);
    const piece = bytes.slice(0, end < 0 ? bytes.length : end);
    const most = this.#options.most ?? MOST_TEXT;
    this.#chunks.push(piece.subarray(0, Math.max(0, most - this.#bytes)));
    this.#bytes = Math.min(most, this.#bytes + piece.length);
    this.#events.push({ kind: "progress", bytes: this.#bytes });
    this.#quietAt = now + (this.#options.quiet ?? 5000);
    if (end >= 0 || this.#bytes >= most) this.#close();
    return this.#step();
  }

  tick(now: number): Step {
    if (!this.#ended && this.#quietAt !== undefined && now >= this.#quietAt) this.#close();
    return this.#step();
  }

  /** Ends it with what has come. */
  finish(): Step {
    if (!this.#ended) this.#close();
    return this.#step();
  }

  cancel(_now: number): Step {
    if (!this.#ended) this.#events.push({ kind: "failed", why: "Cancelled here." });
    this.#ended = true;
    return this.#step();
  }

  #close(): void {
    const bytes = new Uint8Array(this.#bytes);
    let at = 0;
    for (const chunk of this.#chunks) {
      bytes.set(chunk, at);
      at += chunk.length;
    }
    this.#ended = true;
    this.#events.push(
      { kind: "file ends", file: { name: this.#options.name ?? "received", bytes }, exact: false },
      { kind: "done" },
    );
  }

  #step(): Step {
    const events = this.#events;
    this.#events = [];
    const wake = this.#ended ? undefined : this.#quietAt;
    return { send: new Uint8Array(0), events, ...(wake === undefined ? {} : { wake }) };
  }
}
