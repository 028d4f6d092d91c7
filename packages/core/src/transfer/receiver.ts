import { type Check, checkLength, type Header, readBlock, readHeader } from "./block.ts";
import {
  ACK,
  ASK_CRC,
  BS,
  CAN,
  CANCEL,
  EOT,
  NAK,
  type Protocol,
  SOH,
  STX,
  type Step,
  SUB,
  type TransferEvent,
  type TransferMachine,
  type TransferOptions,
} from "./types.ts";

export interface ReceiverOptions extends TransferOptions {
  /** Name of the file where the protocol has none. */
  name?: string;
  /** Take SUB off the end of a file whose length is not told: right for text, wrong for binary. Off unless said. */
  trim?: boolean;
  /** Largest file taken, in bytes; 64 MiB unless said. */
  most?: number;
  /** Ms to stay after the end, to confirm it again where the confirmation was lost; none unless said. */
  linger?: number;
}

/** Times that CRC is asked for before a plain receiver falls back on the checksum (Forsberg: 3). */
const CRC_TRIES = 3;
/** Silence after which the rest of a bad block is taken to be over: common practice, one second. */
const QUIET = 1000;
/** How long the first requests wait. */
const ASK_EVERY = 3000;
const MOST = 64 << 20;
/** Silence after EOT or CAN CAN by which it is known to be meant, and no byte of a block whose start was lost. */
const MEANT = 200;
/** As many CAN at the end of something broken off are meant as well. */
const MANY_CANCELS = 5;
/** Fewer bytes that begin nothing may be an EOT gone wrong. */
const PART_OF_BLOCK = 4;

type Phase =
  /** Nothing of the first block yet: the request goes out again and again. */
  | "asking"
  | "between"
  | "block"
  /** Waiting for quiet after something wrong. */
  | "purging"
  /** EOT, or CAN CAN, has come: waiting for quiet after it. */
  | "end?"
  | "cancel?"
  /** All is done; a lost confirmation may have to be given again. */
  | "lingering"
  | "over";

/** Receives a file, or with `ymodem` a batch. */
export class Receiver implements TransferMachine {
  readonly #batch: boolean;
  readonly #fallsBack: boolean;
  readonly #retries: number;
  readonly #timeout: number;
  readonly #options: ReceiverOptions;
  #check: Check;
  #phase: Phase = "asking";
  #tries = 0;
  #deadline = 0;
  #block: Uint8Array = new Uint8Array(3 + 1024 + 2);
  #have = 0;
  #need = 0;
  /** Number of the block that comes next, from 0 where a header is awaited. */
  #next: number;
  #chunks: Uint8Array[] = [];
  #bytes = 0;
  #header: Header | undefined;
  #cancels = 0;
  #endings = 0;
  /** What was wrong with the block whose rest is being passed over. */
  #fault: string | undefined;
  /** Bytes passed over since the last good block: so many are a block that was harmed. */
  #passedOver = 0;
  #damaged = false;
  /** A confirmation that waits for quiet. */
  #owed = false;
  #asksAgain = false;
  /** When lingering ends. */
  #last = 0;
  #send: number[] = [];
  #events: TransferEvent[] = [];

  constructor(protocol: Protocol, options: ReceiverOptions = {}) {
    this.#batch = protocol === "ymodem";
    this.#check = protocol === "xmodem" ? "checksum" : "CRC";
    this.#fallsBack = protocol === "xmodem-crc" || protocol === "xmodem-1k";
    this.#retries = options.retries ?? 10;
    this.#timeout = options.timeout ?? 10_000;
    this.#options = options;
    this.#next = this.#batch ? 0 : 1;
  }

  get ended(): boolean {
    return this.#phase === "over";
  }

  start(now: number): Step {
    this.#ask(now);
    return this.#step();
  }

  /** What has come of a file that is not complete: worth keeping when a transfer fails. */
  get partial(): { name: string; bytes: Uint8Array } | undefined {
    return this.#bytes === 0 ? undefined : { name: this.#name(), bytes: this.#joined() };
  }

  receive(bytes: Uint8Array, now: number): Step {
    for (const byte of bytes) if (!this.ended) this.#take(byte, now);
    return this.#step();
  }

  tick(now: number): Step {
    if (this.ended || now < this.#deadline) return this.#step();
    switch (this.#phase) {
      case "purging":
        if (this.#cancels >= MANY_CANCELS) this.#fail("The other end cancelled.");
        else this.#answerBad(now);
        break;
      case "end?":
        this.#end(now);
        break;
      case "cancel?":
        this.#fail("The other end cancelled.");
        break;
      case "lingering":
        this.#linger(now);
        break;
      case "asking":
        this.#askAgain(now);
        break;
      case "block":
        if (this.#endsInCancel()) this.#fail("The other end cancelled.");
        else {
          if (this.#have >= PART_OF_BLOCK) this.#damaged = true;
          this.#bad("the block stopped short", now);
        }
        break;
      default:
        if (this.#owed) this.#confirmOwed(now);
        else this.#bad("nothing came", now);
    }
    return this.#step();
  }

  cancel(_now: number): Step {
    if (!this.ended) this.#giveUp("Cancelled here.");
    return this.#step();
  }

  #step(): Step {
    const step: Step = { send: Uint8Array.from(this.#send), events: this.#events };
    this.#send = [];
    this.#events = [];
    return this.ended ? step : { ...step, wake: this.#deadline };
  }

  #atFirst(): boolean {
    return this.#bytes === 0 && this.#next <= 1;
  }

  #ask(now: number): void {
    this.#phase = "asking";
    this.#have = 0;
    this.#send.push(this.#check === "CRC" ? ASK_CRC : NAK);
    this.#deadline = now + Math.min(ASK_EVERY, this.#timeout);
  }

  #askAgain(now: number): void {
    this.#tries++;
    if (this.#fallsBack && this.#tries === CRC_TRIES && this.#atFirst()) this.#check = "checksum";
    if (this.#tries <= this.#retries) this.#ask(now);
    else this.#giveUp("The other end sends nothing. Is it set to send, and by the same protocol?");
  }

  #take(byte: number, now: number): void {
    switch (this.#phase) {
      case "lingering":
        this.#asksAgain = true;
        this.#deadline = now + QUIET;
        return;
      case "purging":
        this.#deadline = now + QUIET;
        if (++this.#passedOver >= PART_OF_BLOCK) this.#damaged = true;
        this.#countCancel(byte, now);
        return;
      case "block":
        this.#block[this.#have++] = byte;
        // Within a block no byte is longer in coming than this (Forsberg: one second).
        this.#deadline = now + Math.min(QUIET, this.#timeout);
        if (this.#have === this.#need) this.#whole(now);
        return;
      case "end?":
        if (byte !== EOT) this.#noise(now);
        return;
      case "cancel?":
        if (byte !== CAN && byte !== BS) this.#noise(now);
        else this.#countCancel(byte, now);
        return;
      default:
        this.#opening(byte, now);
    }
  }

  /** The first byte of something. */
  #opening(byte: number, now: number): void {
    if (byte === SOH || byte === STX) {
      this.#phase = "block";
      this.#block[0] = byte;
      this.#have = 1;
      this.#need = 3 + (byte === SOH ? 128 : 1024) + checkLength(this.#check);
      this.#deadline = now + Math.min(QUIET, this.#timeout);
      this.#cancels = 0;
    } else if (byte === EOT) {
      this.#phase = "end?";
      this.#deadline = now + MEANT;
    } else if (byte === CAN) this.#countCancel(byte, now);
    // Before the first block other text may come, from the program that is about to send.
    else if (this.#phase === "between") this.#noise(now);
  }

  /** CAN followed by nothing but CAN and BS, and then quiet, is meant. */
  #countCancel(byte: number, now: number): void {
    if (byte === CAN) this.#cancels++;
    else if (byte !== BS || this.#cancels === 0) this.#cancels = 0;
    if (this.#cancels < 2 || this.#phase === "purging") return;
    this.#phase = "cancel?";
    this.#deadline = now + MEANT;
  }

  /** Bytes that begin nothing: most likely a block whose first byte was lost. */
  #noise(now: number): void {
    this.#phase = "purging";
    this.#cancels = 0;
    this.#deadline = now + QUIET;
  }

  #endsInCancel(): boolean {
    let cancels = 0;
    for (let i = this.#have - 1; i > 0 && (this.#block[i] === CAN || this.#block[i] === BS); i--)
      if (this.#block[i] === CAN) cancels++;
    return cancels >= MANY_CANCELS;
  }

  /** A whole block is here. */
  #whole(now: number): void {
    const block = readBlock(this.#block.subarray(0, this.#need), this.#check);
    this.#have = 0;
    if (typeof block === "string") {
      this.#damaged = true;
      this.#fault = block;
      this.#noise(now);
      return;
    }
    const { number, data } = block;
    this.#damaged = false;
    this.#passedOver = 0;
    this.#endings = 0;
    if (this.#batch && this.#next === 0) {
      if (number === 0) this.#heading(data, now);
      else {
        this.#fault = "a data block where a file's name was due";
        this.#noise(now);
      }
      return;
    }
    if (this.#batch && number === 0 && this.#isComplete() && readHeader(data)?.name !== undefined) {
      // The next file begins: the end of this one went astray.
      this.#close();
      this.#heading(data, now);
    } else if (number === (this.#next & 0xff)) {
      this.#keep(data);
      if (this.ended) return;
      this.#next++;
      this.#confirm(now, false);
    } else if (number === ((this.#next - 1) & 0xff)) {
      // It came before, and our confirmation was lost: confirm it again.
      this.#confirm(now, true);
    } else {
      // Neither the next nor the last: the two ends have lost one another, and no answer can mend it.
      this.#giveUp(`Block ${number} came where ${this.#next & 0xff} was due: the transfer is out of step.`);
    }
  }

  /** All bytes of a file of known length are here. */
  #isComplete(): boolean {
    const length = this.#header?.length;
    return length !== undefined && this.#next > 1 && this.#bytes >= length;
  }

  #heading(data: Uint8Array, now: number): void {
    const head = readHeader(data);
    if (!head) {
      this.#send.push(ACK);
      this.#done(now);
      return;
    }
    this.#header = head;
    this.#next = 1;
    this.#tries = 0;
    this.#events.push({ kind: "file begins", ...head });
    this.#send.push(ACK);
    this.#ask(now);
  }

  #keep(data: Uint8Array): void {
    const length = this.#header?.length;
    const wanted = length === undefined ? data.length : Math.max(0, Math.min(data.length, length - this.#bytes));
    const most = this.#options.most ?? MOST;
    if (this.#bytes + wanted > most) {
      this.#giveUp(`The file is larger than ${most} bytes, the most that is taken.`);
      return;
    }
    this.#chunks.push(data.slice(0, wanted));
    this.#bytes += wanted;
    this.#events.push({ kind: "progress", bytes: this.#bytes, ...(length === undefined ? {} : { length }) });
  }

  /**
   * Confirms a block. After trouble, or for one that came before, only once the line is quiet: copies of it that are on
   * their way would each be confirmed, and the sender would count those as confirmations of the next ones.
   */
  #confirm(now: number, again: boolean): void {
    this.#phase = "between";
    if (again || this.#tries > 0) {
      this.#owed = true;
      this.#deadline = now + QUIET;
    } else {
      this.#owed = false;
      this.#send.push(ACK);
      this.#deadline = now + this.#timeout;
    }
    this.#tries = 0;
  }

  #confirmOwed(now: number): void {
    this.#owed = false;
    this.#phase = "between";
    this.#have = 0;
    this.#send.push(ACK);
    // After a file's name the data are asked for as well.
    if (this.#batch && this.#next === 1 && this.#bytes === 0) this.#send.push(ASK_CRC);
    this.#deadline = now + this.#timeout;
  }

  /** EOT, with quiet after it. It is refused once and then taken (Forsberg), since a single byte is easily false. */
  #end(now: number): void {
    if (this.#batch && this.#next === 0) {
      // Our confirmation of the last file's end was lost.
      this.#send.push(ACK);
      this.#ask(now);
      return;
    }
    if (this.#damaged && !this.#isComplete()) {
      // A sender whose block was refused sends it again. This one counted a stray byte as our confirmation.
      this.#giveUp(`The end came where block ${this.#next & 0xff} was still due: the transfer is out of step.`);
      return;
    }
    this.#owed = false;
    this.#endings++;
    if (this.#endings === 1) {
      this.#send.push(NAK);
      this.#phase = "between";
      this.#deadline = now + this.#timeout;
      return;
    }
    this.#endings = 0;
    this.#send.push(ACK);
    this.#close();
    if (this.#batch) this.#ask(now);
    else this.#done(now);
  }

  #name(): string {
    return this.#header?.name ?? this.#options.name ?? "received";
  }

  #joined(): Uint8Array {
    const bytes = new Uint8Array(this.#bytes);
    let at = 0;
    for (const chunk of this.#chunks) {
      bytes.set(chunk, at);
      at += chunk.length;
    }
    return bytes;
  }

  /** The file is complete. */
  #close(): void {
    const bytes = this.#joined();
    const head = this.#header;
    let end = bytes.length;
    if (head?.length === undefined && this.#options.trim) while (end > 0 && bytes[end - 1] === SUB) end--;
    const modified = head?.modified === undefined ? {} : { modified: head.modified };
    const file = { name: this.#name(), bytes: bytes.subarray(0, end), ...modified };
    this.#events.push({ kind: "file ends", file, exact: head?.length === bytes.length });
    this.#chunks = [];
    this.#bytes = 0;
    this.#header = undefined;
    this.#next = this.#batch ? 0 : 1;
    this.#tries = 0;
  }

  #done(now: number): void {
    this.#events.push({ kind: "done" });
    const linger = this.#options.linger ?? 0;
    this.#phase = linger > 0 ? "lingering" : "over";
    this.#last = this.#deadline = now + linger;
  }

  #linger(now: number): void {
    if (this.#asksAgain) this.#send.push(ACK);
    this.#asksAgain = false;
    if (now >= this.#last) this.#phase = "over";
    else this.#deadline = this.#last;
  }

  #bad(why: string, now: number): void {
    if (this.#owed) {
      // What was harmed can only have been another copy of the block that is still to be confirmed.
      this.#confirmOwed(now);
      return;
    }
    this.#tries++;
    if (this.#tries >= this.#retries) {
      this.#giveUp(`Block ${this.#next & 0xff} failed ${this.#tries} times; the last time: ${why}.`);
      return;
    }
    this.#events.push({ kind: "retry", block: this.#next & 0xff, why });
    this.#phase = "between";
    this.#have = 0;
    // Before the first block the request itself is repeated, so that the check stays agreed.
    this.#send.push(this.#check === "CRC" && this.#atFirst() ? ASK_CRC : NAK);
    this.#deadline = now + this.#timeout;
  }

  #answerBad(now: number): void {
    const why = this.#fault ?? "bytes that begin no block";
    this.#fault = undefined;
    this.#bad(why, now);
  }

  #giveUp(why: string): void {
    this.#send.push(...CANCEL);
    this.#fail(why);
  }

  #fail(why: string): void {
    this.#phase = "over";
    this.#events.push({ kind: "failed", why });
  }
}
