import type { Device } from "../cpu/index.ts";
import type { Host, Unit } from "./unit.ts";

/**
 * A 6821 whose CA1 is pulsed every so many cycles: the usual way to a tick from the mains or a divider. MC6821 data sheet, from
 * memory. Ports are latches with nothing on their pins; a pulse has both edges at one moment, so either choice of edge hears it.
 */
export class Port6821 implements Unit, Device {
  readonly registers = 4;
  state = { direction: [0, 0], output: [0, 0], control: [0, 0], flag: false, pulses: 0 };
  private readonly host: Host;
  private readonly every: number;

  constructor(host: Host, every = Number.POSITIVE_INFINITY) {
    this.host = host;
    this.every = every;
  }

  get next(): number {
    return (this.state.pulses + 1) * this.every;
  }
  get asks(): boolean {
    return this.state.flag && (this.state.control[0]! & 1) !== 0;
  }

  advance(now: number): void {
    const pulses = Math.floor(now / this.every);
    if (pulses > this.state.pulses) this.state.flag = true;
    this.state.pulses = pulses;
  }

  read(address: number): number {
    const { state } = this;
    this.advance(this.host.now());
    const side = (address >> 1) & 1;
    if (address & 1) return state.control[side]! | (side === 0 && state.flag ? 0x80 : 0);
    if (!(state.control[side]! & 4)) return state.direction[side]!;
    if (side === 0) {
      state.flag = false;
      this.host.changed();
    }
    return (state.output[side]! & state.direction[side]!) | (~state.direction[side]! & 0xff);
  }

  write(address: number, value: number): void {
    const { state } = this;
    const side = (address >> 1) & 1;
    if (address & 1) state.control[side] = value & 0x3f;
    else if (state.control[side]! & 4) state.output[side] = value;
    else state.direction[side] = value;
    this.host.changed();
  }
}
