import { frameOf, type Setting } from "./frames.ts";
import { type Pins, Serial } from "./serial.ts";
import type { BitOf, Uart } from "./uart.ts";
import type { Host } from "./unit.ts";

const RATIOS = [0, 1, 16, 64];
const STOPS = ["1", "1", "1.5", "2"];

/**
 * The 8251: data at 0, mode and command at 1 (8080 system user's manual). After a reset the first control byte is the mode; in
 * synchronous mode one or two synchronising characters follow, and nothing is sent or received. It has no interrupt of its own:
 * boards wire RxRDY or TxRDY to one, which is not simulated.
 */
export class Uart8251 implements Uart {
  readonly registers = 2;
  readonly serial: Serial;
  state;
  private readonly bitOf: BitOf;

  constructor(host: Host, pins: Pins, bitOf: BitOf) {
    this.bitOf = bitOf;
    this.serial = new Serial(host, pins);
    this.state = {
      /** What the next control byte is: −1 the mode, 1 or 2 so many synchronising characters, 0 a command. */
      expects: -1,
      mode: 0,
      command: 0,
      serial: this.serial.state,
      receiver: this.serial.receiver.state,
    };
  }

  get next(): number {
    return this.serial.next;
  }
  get rts(): boolean {
    return (this.state.command & 0x20) !== 0;
  }
  get dtr(): boolean {
    return (this.state.command & 0x02) !== 0;
  }
  readonly asks = false;

  advance(now: number): void {
    this.serial.advance(now);
  }

  read(address: number): number {
    const { state } = this.serial;
    if (!(address & 1)) return this.serial.read();
    return (
      (this.serial.canTake ? 0x01 : 0) |
      (state.got >= 0 ? 0x02 : 0) |
      (this.serial.idle ? 0x04 : 0) |
      (state.parity ? 0x08 : 0) |
      (state.overrun ? 0x10 : 0) |
      (state.framing ? 0x20 : 0) |
      (state.broken ? 0x40 : 0) |
      0x80
    );
  }

  write(address: number, value: number): void {
    const { state } = this;
    if (!(address & 1)) {
      this.serial.write(value);
      return;
    }
    if (state.expects === -1) {
      state.mode = value;
      state.expects = value & 3 ? 0 : value & 0x80 ? 1 : 2;
    } else if (state.expects > 0) state.expects--;
    else if (value & 0x40) {
      state.expects = -1;
      state.command = state.mode = 0;
      this.serial.reset();
    } else {
      state.command = value;
      if (value & 0x10) this.serial.clearErrors();
    }
    this.apply();
  }

  apply(): void {
    const { mode, command } = this.state;
    const { setting } = this;
    const works = setting !== undefined && this.state.expects === 0;
    this.serial.set(setting, works && (command & 1) !== 0, works && (command & 4) !== 0);
    this.serial.break(works && (command & 8) !== 0);
    if (mode === 0) this.serial.break(false);
  }

  private get setting(): Setting | undefined {
    const { mode } = this.state;
    const ratio = RATIOS[mode & 3]!;
    if (ratio === 0) return undefined;
    const parity = mode & 0x10 ? (mode & 0x20 ? "E" : "O") : "N";
    return { frame: frameOf(`${5 + ((mode >> 2) & 3)}${parity}${STOPS[mode >> 6]!}`), bit: this.bitOf(ratio) };
  }
}
