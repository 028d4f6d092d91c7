import type { Device } from "../cpu/index.ts";
import type { Host, Unit } from "./unit.ts";

const INTERRUPTS = 0x80;
const COUNTER = 0x40;
const BY_256 = 0x20;
const CONSTANT_FOLLOWS = 0x04;
const RESET = 0x02;
const CONTROL = 0x01;
const CHANNELS = 4;

/**
 * The Z80-CTC: four channels, as timers of the CPU's clock ÷ 16 or 256, or counting the pulses that the bench gives. Data sheet,
 * from memory. A timer starts with its time constant; the trigger that may start one is not simulated, nor is the chain of
 * priorities: an interrupt is over when the CPU has taken it.
 */
export class TimerCtc implements Unit, Device {
  readonly registers = CHANNELS;
  state = {
    control: Array(CHANNELS).fill(RESET) as number[],
    constant: Array(CHANNELS).fill(0) as number[],
    /** When a channel passes zero next; Infinity while it stands. */
    zero: Array(CHANNELS).fill(Number.POSITIVE_INFINITY) as number[],
    follows: Array(CHANNELS).fill(false) as boolean[],
    pending: Array(CHANNELS).fill(false) as boolean[],
    base: 0,
  };
  private readonly host: Host;
  private readonly every: number;

  constructor(host: Host, every = Number.POSITIVE_INFINITY) {
    this.host = host;
    this.every = every;
  }

  get next(): number {
    return Math.min(...this.state.zero);
  }
  get asks(): boolean {
    return this.state.pending.includes(true);
  }

  vector(): number | undefined {
    const channel = this.state.pending.indexOf(true);
    if (channel < 0) return undefined;
    this.state.pending[channel] = false;
    this.host.changed();
    return this.state.base | (channel << 1);
  }

  advance(now: number): void {
    const { state } = this;
    for (let channel = 0; channel < CHANNELS; channel++) {
      const zero = state.zero[channel]!;
      if (zero > now) continue;
      if (state.control[channel]! & INTERRUPTS) state.pending[channel] = true;
      const period = this.period(channel);
      state.zero[channel] = zero + (Math.floor((now - zero) / period) + 1) * period;
    }
  }

  read(address: number): number {
    const channel = address & 3;
    this.advance(this.host.now());
    const left = (this.state.zero[channel]! - this.host.now()) / this.unit(channel);
    return Number.isFinite(left) ? Math.ceil(left) & 0xff : 0;
  }

  write(address: number, value: number): void {
    const { state } = this;
    const channel = address & 3;
    this.advance(this.host.now());
    if (state.follows[channel]) {
      state.follows[channel] = false;
      state.constant[channel] = value || 256;
      state.control[channel]! &= ~RESET;
      const unit = this.unit(channel);
      // A counter waits for pulses of the machine's own time, a timer begins now.
      const start = state.control[channel]! & COUNTER ? Math.floor(this.host.now() / unit) * unit : this.host.now();
      state.zero[channel] = start + this.period(channel);
    } else if (value & CONTROL) {
      state.control[channel] = value;
      state.follows[channel] = (value & CONSTANT_FOLLOWS) !== 0;
      if (!(value & INTERRUPTS)) state.pending[channel] = false;
      if (value & RESET) state.zero[channel] = Number.POSITIVE_INFINITY;
    } else if (channel === 0) state.base = value & 0xf8;
    this.host.changed();
  }

  /** Cycles of one count. */
  private unit(channel: number): number {
    const control = this.state.control[channel]!;
    return control & COUNTER ? this.every : control & BY_256 ? 256 : 16;
  }

  private period(channel: number): number {
    return this.unit(channel) * this.state.constant[channel]!;
  }
}
