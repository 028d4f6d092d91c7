import { type Check, header, makeBlock } from "./block.ts";
import {
  ACK,
  ASK_CRC,
  CAN,
  CANCEL,
  EOT,
  NAK,
  type Protocol,
  type Step,
  type TransferEvent,
  type TransferFile,
  type TransferMachine,
  type TransferOptions,
} from "./types.ts";

type Phase =
  /** Waiting for the receiver to ask for the first block, or in a batch for the next file's block 0. */
  | "asked"
  /** A block is out. */
  | "block"
  /** Block 0 is confirmed: waiting for the receiver to ask for the data. */
  | "data asked"
  /** What went out more than once is confirmed: the other confirmations of it may still come. */
  | "draining"
  | "end"
  | "over";

/** Requests that come sooner after the first block were sent before it arrived. */
const STILL_ASKING = 500;
/** Silence after which no more confirmations of a block that went out twice are on their way. */
const QUIET = 1000;
const SMALL = 128;
const LARGE = 1024;
/** After so many wrong large blocks in a row the rest goes in small ones: a noisy line passes these more easily. */
const LARGE_TRIES = 3;

const END_REFUSED = "the end was not taken";

/** Sends files; all protocols but `ymodem` take exactly one. */
export class Sender implements TransferMachine {
  readonly #files: readonly TransferFile[];
  readonly #batch: boolean;
  readonly #retries: number;
  readonly #timeout: number;
  readonly #mayCrc: boolean;
  #large: boolean;
  #phase: Phase = "asked";
  #check: Check = "checksum";
  #agreed = false;
  #index = 0;
  /** Bytes of the file before the block that is out, and how many are in that. */
  #at = 0;
  #taken = 0;
  #number = 0;
  #out: Uint8Array = new Uint8Array(0);
  #tries = 0;
  #deadline = 0;
  #sentAt = 0;
  #cancels = 0;
  /** Block 0 or the end of a file went out more than once, and is confirmed: more confirmations of it may come. */
  #strays = false;
  /** What was asked for when the draining began, if anything was. */
  #wanted: { phase: "asked" | "data asked"; check: Check } | undefined;
  #send: number[] = [];
  #events: TransferEvent[] = [];

  constructor(protocol: Protocol, files: readonly TransferFile[], options: TransferOptions = {}) {
    this.#files = files;
    this.#batch = protocol === "ymodem";
    this.#mayCrc = protocol !== "xmodem";
    this.#large = protocol === "xmodem-1k" || protocol === "ymodem";
    this.#retries = options.retries ?? 10;
    this.#timeout = options.timeout ?? 10_000;
  }

  get ended(): boolean {
    return this.#phase === "over";
  }
  /** Files that have arrived whole. None of the protocols resumes within a file: a new batch takes those after these. */
  get confirmed(): number {
    return this.#index;
  }

  start(now: number): Step {
    this.#deadline = now + this.#timeout * this.#retries;
    return this.#step();
  }

  receive(bytes: Uint8Array, now: number): Step {
    for (const byte of bytes) {
      // What came together with the answer that lets the next block go cannot be an answer to that block.
      if (this.ended || this.#send.length > 0) break;
      this.#take(byte, now);
    }
    return this.#step();
  }

  tick(now: number): Step {
    if (this.ended || now < this.#deadline) return this.#step();
    if (this.#phase === "draining") this.#drained(now);
    else if (this.#phase === "asked" && this.#tries === 0 && this.#index === 0)
      this.#fail("The other end never asked for the file. Is it set to receive, and by the same protocol?");
    else if (this.#phase === "asked" || this.#phase === "data asked") this.#fail("The other end no longer answers.");
    else this.#again("no answer", now);
    return this.#step();
  }

  cancel(_now: number): Step {
    if (!this.ended) {
      this.#send.push(...CANCEL);
      this.#fail("Cancelled here.");
    }
    return this.#step();
  }

  #step(): Step {
    const step: Step = { send: Uint8Array.from(this.#send), events: this.#events };
    this.#send = [];
    this.#events = [];
    return this.ended ? step : { ...step, wake: this.#deadline };
  }

  #take(byte: number, now: number): void {
    // Two CAN in a row end it; a single one may be noise.
    this.#cancels = byte === CAN ? this.#cancels + 1 : 0;
    if (this.#cancels >= 2) {
      this.#fail("The other end cancelled.");
      return;
    }
    switch (this.#phase) {
      case "asked":
      case "data asked":
        if (byte === ASK_CRC && this.#mayCrc) this.#asked("CRC", now);
        // NAK asks for the checksum, or where CRC was agreed upon says that the answer went astray.
        else if (byte === NAK) this.#asked(this.#agreed ? this.#check : "checksum", now);
        return;
      case "block":
        if (byte === ACK) this.#confirmed(now);
        else if (byte === NAK) this.#again("the other end refused it", now);
        // Asked again before the first block: it did not arrive.
        else if (byte === ASK_CRC && this.#atFirst() && now - this.#sentAt >= STILL_ASKING)
          this.#again("the other end is still asking", now);
        return;
      case "draining":
        this.#deadline = now + QUIET;
        return;
      case "end":
        if (byte === ACK) this.#fileDone(now);
        else if (byte === NAK) this.#again(END_REFUSED, now);
    }
  }

  #atFirst(): boolean {
    return this.#number === 0 || (this.#number === 1 && this.#at === 0);
  }

  #asked(check: Check, now: number): void {
    if (!this.#strays) {
      this.#begin(check, now);
      return;
    }
    // A late confirmation of the end would pass for that of the next file's block 0, and the file be lost unseen.
    this.#wanted = { phase: this.#phase === "asked" ? "asked" : "data asked", check };
    this.#strays = false;
    this.#phase = "draining";
    this.#deadline = now + QUIET;
  }

  #drained(now: number): void {
    const wanted = this.#wanted;
    this.#wanted = undefined;
    if (!wanted) {
      this.#next(now);
      return;
    }
    this.#phase = wanted.phase;
    this.#begin(wanted.check, now);
  }

  #begin(check: Check, now: number): void {
    this.#check = check;
    this.#agreed = true;
    this.#tries = 0;
    const file = this.#files[this.#index];
    if (this.#batch && this.#phase === "asked") {
      this.#number = 0;
      const data = header(file);
      this.#put(makeBlock(0, data, data.length > SMALL ? LARGE : SMALL, this.#check, 0), now);
      if (file) this.#beginsWith(file);
      return;
    }
    if (!this.#batch && file) this.#beginsWith(file);
    this.#number = 1;
    this.#at = 0;
    this.#next(now);
  }

  #beginsWith({ name, bytes, modified }: TransferFile): void {
    const event = { kind: "file begins" as const, name, length: bytes.length };
    this.#events.push(modified === undefined ? event : { ...event, modified });
  }

  /** The next block of the file, or its end. */
  #next(now: number): void {
    const { bytes } = this.#files[this.#index]!;
    if (this.#at >= bytes.length) {
      this.#phase = "end";
      this.#tries = 0;
      this.#out = Uint8Array.of(EOT);
      this.#resend(now);
      return;
    }
    const left = bytes.length - this.#at;
    // A large block for a rest that small ones hold would be mostly filling.
    const size = this.#large && this.#check === "CRC" && left > LARGE - SMALL ? LARGE : SMALL;
    this.#taken = Math.min(size, left);
    this.#tries = 0;
    this.#put(makeBlock(this.#number, bytes.subarray(this.#at, this.#at + size), size, this.#check), now);
  }

  #put(block: Uint8Array, now: number): void {
    this.#phase = "block";
    this.#out = block;
    this.#resend(now);
  }

  #resend(now: number): void {
    for (const byte of this.#out) this.#send.push(byte);
    this.#sentAt = now;
    this.#deadline = now + this.#timeout;
  }

  #confirmed(now: number): void {
    if (this.#batch && this.#number === 0) {
      if (this.#index >= this.#files.length) {
        this.#finish();
        return;
      }
      this.#phase = "data asked";
      this.#strays = this.#tries > 0;
      this.#deadline = now + this.#timeout * this.#retries;
      return;
    }
    this.#at += this.#taken;
    this.#number = (this.#number + 1) & 0xff;
    const { bytes } = this.#files[this.#index]!;
    this.#events.push({ kind: "progress", bytes: this.#at, length: bytes.length });
    if (this.#tries === 0) this.#next(now);
    else {
      // Counted as that of the next block, a second confirmation of this one would put the two ends out of step.
      this.#phase = "draining";
      this.#deadline = now + QUIET;
    }
  }

  #fileDone(now: number): void {
    this.#events.push({ kind: "file ends", file: this.#files[this.#index]!, exact: this.#batch });
    this.#index++;
    if (!this.#batch) {
      this.#finish();
      return;
    }
    this.#phase = "asked";
    this.#strays = this.#tries > 0;
    this.#deadline = now + this.#timeout * this.#retries;
  }

  #again(why: string, now: number): void {
    this.#tries++;
    // Receivers refuse the first EOT to be sure of it: no trouble of the line.
    const custom = why === END_REFUSED && this.#tries === 1;
    if (!custom && this.#tries >= this.#retries) {
      this.#send.push(...CANCEL);
      this.#fail(
        `${this.#name()} failed ${this.#tries === 1 ? "once" : `${this.#tries} times; the last time`}: ${why}.`,
      );
      return;
    }
    if (!custom) this.#events.push({ kind: "retry", block: this.#number, why });
    // Only the blocks after this one: the receiver may have this one, and then the same number means the same bytes.
    if (this.#tries === LARGE_TRIES && this.#phase === "block" && this.#number > 0) this.#large = false;
    this.#resend(now);
  }

  #name(): string {
    return this.#phase === "end" ? "The end of the file" : `Block ${this.#number}`;
  }

  #finish(): void {
    this.#phase = "over";
    this.#events.push({ kind: "done" });
  }

  #fail(why: string): void {
    this.#phase = "over";
    this.#events.push({ kind: "failed", why });
  }
}
