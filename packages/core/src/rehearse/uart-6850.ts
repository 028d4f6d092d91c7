import { frameOf, type Setting } from "./frames.ts";
import { type Pins, Serial } from "./serial.ts";
import type { BitOf, Uart } from "./uart.ts";
import type { Host } from "./unit.ts";

/** Control bits 4 to 2 count through these (MC6850 data sheet). */
const FRAMES = ["7E2", "7O2", "7E1", "7O1", "8N2", "8N1", "8E1", "8O1"];
const RATIOS = [1, 16, 64];
const MASTER_RESET = 3;

/** The 6850: status and control at 0, data at 1. DCD is tied on. */
export class Uart6850 implements Uart {
  readonly registers = 2;
  readonly serial: Serial;
  state;
  private readonly bitOf: BitOf;

  constructor(host: Host, pins: Pins, bitOf: BitOf) {
    this.bitOf = bitOf;
    this.serial = new Serial(host, pins);
    this.state = { control: MASTER_RESET, serial: this.serial.state, receiver: this.serial.receiver.state };
  }

  get next(): number {
    return this.serial.next;
  }
  get rts(): boolean {
    return (this.state.control & 0x60) !== 0x40;
  }
  readonly dtr = true;

  get asks(): boolean {
    const { control } = this.state;
    const { state } = this.serial;
    return ((control & 0x80) !== 0 && (state.got >= 0 || state.overrun)) || ((control & 0x60) === 0x20 && this.empty);
  }

  advance(now: number): void {
    this.serial.advance(now);
  }

  read(address: number): number {
    const { state } = this.serial;
    if (address & 1) {
      state.overrun = false;
      return this.serial.read();
    }
    return (
      (state.got >= 0 ? 0x01 : 0) |
      (this.empty ? 0x02 : 0) |
      (this.serial.pins.clear() ? 0 : 0x08) |
      (state.framing ? 0x10 : 0) |
      (state.overrun ? 0x20 : 0) |
      (state.parity ? 0x40 : 0) |
      (this.asks ? 0x80 : 0)
    );
  }

  write(address: number, value: number): void {
    if (address & 1) {
      if ((this.state.control & 3) !== MASTER_RESET) this.serial.write(value);
      return;
    }
    this.state.control = value;
    this.apply();
  }

  /** Makes the halves follow the control register; also after a return to a kept moment. */
  apply(): void {
    const { control } = this.state;
    if ((control & 3) === MASTER_RESET) {
      this.serial.reset();
      return;
    }
    this.serial.set(this.setting, true, true);
    this.serial.break((control & 0x60) === 0x60);
  }

  private get setting(): Setting {
    const { control } = this.state;
    return { frame: frameOf(FRAMES[(control >> 2) & 7]!), bit: this.bitOf(RATIOS[control & 3]!) };
  }

  /** The transmit register can take a character; never while CTS is off, nor in reset. */
  private get empty(): boolean {
    return (this.state.control & 3) !== MASTER_RESET && this.serial.canTake && this.serial.pins.clear();
  }
}
