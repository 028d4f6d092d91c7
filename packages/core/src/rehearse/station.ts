import type { BenchTerminal } from "../bench/index.ts";
import { abilityOf, idealAbility, Screen } from "../terminal/index.ts";
import { Receiver, type Setting, sendFrame } from "./frames.ts";
import type { Host, Unit } from "./unit.ts";
import type { Ear, Wire } from "./wire.ts";

const FIRST_ROOM = 4096;

/** A terminal with a person at it: shows what the line brings, and sends what is typed, a key at a time. */
export class Station implements Unit {
  readonly terminal: BenchTerminal;
  readonly setting: Setting;
  readonly asks = false;
  state = {
    /** Keys that wait to be sent, from `firstKey` on. */
    keys: [] as number[],
    nextKey: 0,
    free: 0,
    /** Characters received, whole or not. */
    count: 0,
    faults: 0,
  };
  readonly receiver: Receiver;
  private readonly host: Host;
  private readonly out: Wire;
  private readonly clear: () => boolean;
  private readonly keyTime: number;
  private seen: Screen;
  /** All that was received; the screen follows from it. */
  private taken = new Uint8Array(FIRST_ROOM);

  /** `keyTime`: cycles from key to key of the person who types. */
  constructor(
    host: Host,
    terminal: BenchTerminal,
    setting: Setting,
    { out, ear, clear, keyTime }: { out: Wire; ear: Ear; clear: () => boolean; keyTime: number },
  ) {
    this.host = host;
    this.terminal = terminal;
    this.setting = setting;
    this.out = out;
    this.clear = clear;
    this.keyTime = keyTime;
    this.receiver = new Receiver(ear);
    this.seen = this.blank();
  }

  get screen(): Screen {
    return this.seen;
  }
  /** Every character received so far. */
  get received(): Uint8Array {
    return this.taken.subarray(0, this.state.count);
  }

  get next(): number {
    const { keys, nextKey, free } = this.state;
    const key = keys.length > 0 && this.clear() ? Math.max(nextKey, free) : Number.POSITIVE_INFINITY;
    return Math.min(key, this.receiver.next(this.setting));
  }

  advance(now: number): void {
    const { state, setting } = this;
    for (let heard = this.receiver.take(setting, now); heard; heard = this.receiver.take(setting, now)) {
      if (heard.parity || heard.framing) state.faults++;
      if (!heard.broken) this.show(heard.byte);
    }
    while (state.keys.length > 0 && this.clear() && Math.max(state.nextKey, state.free) <= now) {
      const start = Math.max(now, state.free);
      state.free = sendFrame(this.out, setting, state.keys.shift()!, start);
      state.nextKey = start + this.keyTime;
      this.out.forget(now - this.host.hertz);
    }
  }

  type(bytes: Iterable<number>): void {
    const { state } = this;
    if (state.keys.length === 0) state.nextKey = Math.max(state.nextKey, this.host.now() + this.keyTime);
    for (const byte of bytes) state.keys.push(byte);
    this.host.changed();
  }

  /** Keeps all that was received, for `putBack`. */
  keep(): Uint8Array {
    return this.received.slice();
  }

  putBack(received: Uint8Array): void {
    this.taken = new Uint8Array(Math.max(FIRST_ROOM, received.length * 2));
    this.taken.set(received);
    this.seen = this.blank();
    this.seen.write(this.taken, 0, received.length);
    this.seen.takeReplies();
  }

  private show(byte: number): void {
    const { state } = this;
    if (state.count === this.taken.length) {
      const more = new Uint8Array(2 * this.taken.length);
      more.set(this.taken);
      this.taken = more;
    }
    this.taken[state.count++] = byte;
    this.seen.write(this.taken, state.count - 1, state.count);
    const replies = this.seen.takeReplies();
    if (replies.length > 0) {
      state.keys.unshift(...replies);
      state.nextKey = this.host.now();
    }
  }

  private blank(): Screen {
    const { class: known, columns, rows } = this.terminal;
    const size = {
      ...(columns ? { columns: columns.value } : {}),
      ...(rows ? { rows: rows.value } : {}),
    };
    return new Screen(known ? abilityOf(known, size) : idealAbility(columns?.value, rows?.value));
  }
}
