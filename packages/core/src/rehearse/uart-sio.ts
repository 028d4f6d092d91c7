import { frameOf, type Setting } from "./frames.ts";
import { type Pins, Serial } from "./serial.ts";
import type { BitOf, Uart } from "./uart.ts";
import type { Host } from "./unit.ts";

const RATIOS = [1, 16, 32, 64];
/** Two bits in this order for 5, 7, 6, 8 data bits. */
const LENGTHS = [5, 7, 6, 8];
const STOPS = ["1", "1", "1.5", "2"];

/**
 * One channel of a Z80-SIO: data at 0, control at 1. Data sheet, from memory. Asynchronous only; the vector of WR2 is given as it
 * stands, without the status in its bits, and each channel keeps its own.
 */
export class UartSio implements Uart {
  readonly registers = 2;
  readonly serial: Serial;
  state;
  private readonly host: Host;
  private readonly bitOf: BitOf;

  constructor(host: Host, pins: Pins, bitOf: BitOf) {
    this.host = host;
    this.bitOf = bitOf;
    this.serial = new Serial(host, pins);
    this.state = {
      pointer: 0,
      written: [0, 0, 0, 0, 0, 0, 0, 0],
      /** The transmit register has become empty since the program last filled it or reset the interrupt. */
      emptied: false,
      wasEmpty: true,
      serial: this.serial.state,
      receiver: this.serial.receiver.state,
    };
  }

  get next(): number {
    return this.serial.next;
  }
  get rts(): boolean {
    return (this.state.written[5]! & 2) !== 0;
  }
  get dtr(): boolean {
    return (this.state.written[5]! & 0x80) !== 0;
  }
  get asks(): boolean {
    const mode = this.state.written[1]!;
    return ((mode & 0x18) !== 0 && this.serial.state.got >= 0) || ((mode & 2) !== 0 && this.state.emptied);
  }

  vector(): number {
    return this.state.written[2]!;
  }

  advance(now: number): void {
    this.serial.advance(now);
    this.noteEmpty();
  }

  read(address: number): number {
    const { state } = this.serial;
    if (!(address & 1)) return this.serial.read();
    const { pointer } = this.state;
    this.state.pointer = 0;
    if (pointer === 1)
      return (
        (this.serial.idle ? 0x01 : 0) |
        (state.parity ? 0x10 : 0) |
        (state.overrun ? 0x20 : 0) |
        (state.framing ? 0x40 : 0)
      );
    if (pointer === 2) return this.state.written[2]!;
    return (
      (state.got >= 0 ? 0x01 : 0) |
      (this.asks ? 0x02 : 0) |
      (this.serial.canTake ? 0x04 : 0) |
      0x08 |
      (this.serial.pins.clear() ? 0x20 : 0) |
      (state.broken ? 0x80 : 0)
    );
  }

  write(address: number, value: number): void {
    const { state } = this;
    if (!(address & 1)) {
      state.emptied = state.wasEmpty = false;
      this.serial.write(value);
      this.noteEmpty();
      return;
    }
    const register = state.pointer;
    state.pointer = 0;
    if (register !== 0) {
      state.written[register] = value;
      this.apply();
      return;
    }
    state.pointer = value & 7;
    const command = (value >> 3) & 7;
    if (command === 3) {
      state.written.fill(0);
      state.emptied = false;
      this.serial.reset();
    } else if (command === 5) state.emptied = false;
    else if (command === 6) this.serial.clearErrors();
    this.host.changed();
  }

  apply(): void {
    const [, , , receive, , send] = this.state.written as [number, number, number, number, number, number];
    const { setting } = this;
    // Both halves have the receiver's length here; programs set both alike.
    this.serial.set(setting, setting !== undefined && (send & 8) !== 0, setting !== undefined && (receive & 1) !== 0);
    this.serial.break((send & 0x10) !== 0);
  }

  private get setting(): Setting | undefined {
    const mode = this.state.written[4]!;
    const stop = (mode >> 2) & 3;
    if (stop === 0) return undefined;
    const parity = mode & 1 ? (mode & 2 ? "E" : "O") : "N";
    const length = LENGTHS[(this.state.written[3]! >> 6) & 3]!;
    return { frame: frameOf(`${length}${parity}${STOPS[stop]!}`), bit: this.bitOf(RATIOS[mode >> 6]!) };
  }

  private noteEmpty(): void {
    const { state } = this;
    if (this.serial.canTake && !state.wasEmpty) state.emptied = true;
    state.wasEmpty = this.serial.canTake;
  }
}
