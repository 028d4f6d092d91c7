import { Receiver, type Setting, sendFrame } from "./frames.ts";
import type { Host } from "./unit.ts";
import type { Ear, Wire } from "./wire.ts";

/** The pins of a serial part: what it sends on, what it hears, and its control inputs. */
export interface Pins {
  out: Wire;
  ear: Ear;
  /** Whether CTS is asserted now; where nothing of it is wired, the board ties it so. */
  clear(): boolean;
}

/** The two halves that every serial part has: a transmitter and a receiver with one register each beside the shift register. */
export class Serial {
  state = {
    /** Character that waits for the shift register, −1 where none does. */
    hold: -1,
    /** When the shift register is free. */
    free: 0,
    /** Received character that nobody has taken, −1 where there is none. */
    got: -1,
    last: 0,
    parity: false,
    framing: false,
    overrun: false,
    broken: false,
    breaking: false,
    sending: false,
    receiving: false,
  };
  /** How it is set; undefined until a program has set it. */
  setting: Setting | undefined;
  readonly pins: Pins;
  readonly receiver: Receiver;
  private readonly host: Host;

  constructor(host: Host, pins: Pins) {
    this.host = host;
    this.pins = pins;
    this.receiver = new Receiver(pins.ear);
  }

  get next(): number {
    const { state, setting } = this;
    if (!setting) return Number.POSITIVE_INFINITY;
    const sends = state.hold >= 0 && this.maySend ? state.free : Number.POSITIVE_INFINITY;
    return state.receiving ? Math.min(sends, this.receiver.next(setting)) : sends;
  }

  get canTake(): boolean {
    return this.state.hold < 0;
  }
  /** Nothing is being sent any more. */
  get idle(): boolean {
    return this.state.hold < 0 && this.host.now() >= this.state.free;
  }

  advance(now: number): void {
    const { state, setting } = this;
    if (!setting) return;
    if (state.receiving)
      for (let heard = this.receiver.take(setting, now); heard; heard = this.receiver.take(setting, now)) {
        if (state.got >= 0) {
          // The one that was not taken stays; this one is lost.
          state.overrun = true;
          continue;
        }
        state.got = state.last = heard.byte;
        state.parity = heard.parity;
        state.framing = heard.framing;
        state.broken = heard.broken;
      }
    if (state.hold >= 0 && this.maySend && state.free <= now) {
      const start = Math.max(state.free, now);
      state.free = sendFrame(this.pins.out, setting, state.hold, start);
      state.hold = -1;
      this.pins.out.forget(now - this.host.hertz);
    }
  }

  write(byte: number): void {
    this.state.hold = byte;
    this.advance(this.host.now());
    this.host.changed();
  }

  /** Takes the received character; what was read last where there is none. */
  read(): number {
    const { state } = this;
    state.got = -1;
    this.host.changed();
    return state.last;
  }

  clearErrors(): void {
    this.state.parity = this.state.framing = this.state.overrun = this.state.broken = false;
  }

  /** Sets rate and frame, and which halves are on. */
  set(setting: Setting | undefined, sending: boolean, receiving: boolean): void {
    const now = this.host.now();
    this.setting = setting;
    this.state.sending = sending;
    if (receiving && !this.state.receiving) this.receiver.reset(now);
    this.state.receiving = receiving;
    this.advance(now);
    this.host.changed();
  }

  /** Space for as long as it is held. */
  break(on: boolean): void {
    const { state } = this;
    if (on === state.breaking) return;
    state.breaking = on;
    this.pins.out.set(this.host.now(), on ? 0 : 1);
  }

  /** Empties both halves. */
  reset(): void {
    const { state } = this;
    this.break(false);
    state.hold = state.got = -1;
    state.sending = state.receiving = false;
    this.clearErrors();
    this.host.changed();
  }

  private get maySend(): boolean {
    return this.state.sending && !this.state.breaking && this.pins.clear();
  }
}
