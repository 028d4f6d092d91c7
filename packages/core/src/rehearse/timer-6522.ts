import type { Device } from "../cpu/index.ts";
import type { Host, Unit } from "./unit.ts";

const T1 = 0x40;
const T2 = 0x20;
const FREE_RUNNING = 0x40;

/**
 * The 6522's two timers, its interrupt registers, and its ports as latches with nothing on their pins. Data sheet, from memory: a
 * timer loaded with n asks n + 1.5 cycles later (2 are taken here), and runs free every n + 2. T2 counts cycles only; the shift
 * register and the control lines do nothing.
 */
export class Timer6522 implements Unit, Device {
  readonly registers = 16;
  state = {
    /** What was written to each register. */
    written: Array(16).fill(0) as number[],
    latch: 0xffff,
    /** When timer 1 and timer 2 pass zero; whether they then still tell it. */
    zero1: 0x10001,
    zero2: 0x10001,
    armed1: false,
    armed2: false,
    flags: 0,
    enabled: 0,
  };
  private readonly host: Host;

  constructor(host: Host) {
    this.host = host;
  }

  get next(): number {
    const { armed1, armed2, zero1, zero2 } = this.state;
    return Math.min(armed1 ? zero1 : Number.POSITIVE_INFINITY, armed2 ? zero2 : Number.POSITIVE_INFINITY);
  }
  get asks(): boolean {
    return (this.state.flags & this.state.enabled & 0x7f) !== 0;
  }

  advance(now: number): void {
    const { state } = this;
    if (state.armed1 && state.zero1 <= now) {
      state.flags |= T1;
      if (state.written[11]! & FREE_RUNNING) {
        const period = state.latch + 2;
        state.zero1 += Math.ceil((now - state.zero1 + 1) / period) * period;
      } else state.armed1 = false;
    }
    if (state.armed2 && state.zero2 <= now) {
      state.flags |= T2;
      state.armed2 = false;
    }
  }

  read(address: number): number {
    const { state } = this;
    const now = this.host.now();
    this.advance(now);
    const count1 = (state.zero1 - 2 - now) & 0xffff;
    const count2 = (state.zero2 - 2 - now) & 0xffff;
    switch (address & 15) {
      case 4:
        this.clear(T1);
        return count1 & 0xff;
      case 5:
        return count1 >> 8;
      case 6:
        return state.latch & 0xff;
      case 7:
        return state.latch >> 8;
      case 8:
        this.clear(T2);
        return count2 & 0xff;
      case 9:
        return count2 >> 8;
      case 13:
        return state.flags | (this.asks ? 0x80 : 0);
      case 14:
        return state.enabled | 0x80;
      case 0:
        return (state.written[0]! & state.written[2]!) | (~state.written[2]! & 0xff);
      case 1:
      case 15:
        return (state.written[1]! & state.written[3]!) | (~state.written[3]! & 0xff);
      default:
        return state.written[address & 15]!;
    }
  }

  write(address: number, value: number): void {
    const { state } = this;
    const now = this.host.now();
    this.advance(now);
    const register = address & 15;
    state.written[register === 15 ? 1 : register] = value;
    switch (register) {
      case 4:
      case 6:
        state.latch = (state.latch & 0xff00) | value;
        break;
      case 5:
        state.latch = (state.latch & 0xff) | (value << 8);
        state.zero1 = now + state.latch + 2;
        state.armed1 = true;
        this.clear(T1);
        break;
      case 7:
        state.latch = (state.latch & 0xff) | (value << 8);
        this.clear(T1);
        break;
      case 9:
        state.zero2 = now + ((value << 8) | state.written[8]!) + 2;
        state.armed2 = true;
        this.clear(T2);
        break;
      case 13:
        this.clear(value);
        break;
      case 14:
        state.enabled = value & 0x80 ? state.enabled | (value & 0x7f) : state.enabled & ~value & 0x7f;
    }
    this.host.changed();
  }

  private clear(flags: number): void {
    this.state.flags &= ~flags & 0x7f;
    this.host.changed();
  }
}
