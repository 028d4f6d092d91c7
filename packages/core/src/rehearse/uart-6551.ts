import { frameOf, type Setting } from "./frames.ts";
import { type Pins, Serial } from "./serial.ts";
import type { BitOf, Uart } from "./uart.ts";
import type { Host } from "./unit.ts";

const PARITY = "OEMS";

/** The 6551: data, status (a write is a program reset), command, control. Data sheet, from memory. DCD and DSR are tied on. */
export class Uart6551 implements Uart {
  readonly registers = 4;
  readonly serial: Serial;
  state;
  private readonly bitOf: BitOf;

  /** `bitOf` takes a rate code. */
  constructor(host: Host, pins: Pins, bitOf: BitOf) {
    this.bitOf = bitOf;
    this.serial = new Serial(host, pins);
    this.state = {
      command: 0x02,
      control: 0,
      asked: false,
      serial: this.serial.state,
      receiver: this.serial.receiver.state,
    };
  }

  get next(): number {
    return this.serial.next;
  }
  get rts(): boolean {
    return (this.state.command & 0x0c) !== 0;
  }
  get dtr(): boolean {
    return (this.state.command & 1) !== 0;
  }
  get asks(): boolean {
    const { command } = this.state;
    if (!(command & 1)) return false;
    return (!(command & 0x02) && this.serial.state.got >= 0) || ((command & 0x0c) === 0x04 && this.empty);
  }

  advance(now: number): void {
    this.serial.advance(now);
  }

  read(address: number): number {
    const { state } = this.serial;
    switch (address & 3) {
      case 0:
        this.serial.clearErrors();
        return this.serial.read();
      case 1:
        return (
          (state.parity ? 0x01 : 0) |
          (state.framing ? 0x02 : 0) |
          (state.overrun ? 0x04 : 0) |
          (state.got >= 0 ? 0x08 : 0) |
          (this.empty ? 0x10 : 0) |
          (this.asks ? 0x80 : 0)
        );
      case 2:
        return this.state.command;
      default:
        return this.state.control;
    }
  }

  write(address: number, value: number): void {
    switch (address & 3) {
      case 0:
        this.serial.write(value);
        return;
      case 1:
        this.state.command = (this.state.command & 0xe0) | 0x02;
        this.serial.state.overrun = false;
        break;
      case 2:
        this.state.command = value;
        break;
      default:
        this.state.control = value;
    }
    this.apply();
  }

  apply(): void {
    const { command } = this.state;
    const on = (command & 1) !== 0;
    this.serial.set(this.setting, on && (command & 0x0c) !== 0, on);
    this.serial.break((command & 0x0c) === 0x0c);
  }

  private get setting(): Setting {
    const { command, control } = this.state;
    const data = 8 - ((control >> 5) & 3);
    const parity = command & 0x20 ? PARITY[command >> 6]! : "N";
    const stop =
      control & 0x80 ? (data === 8 && parity !== "N" ? "1" : data === 5 && parity === "N" ? "1.5" : "2") : "1";
    return { frame: frameOf(`${data}${parity}${stop}`), bit: this.bitOf(control & 15) };
  }

  private get empty(): boolean {
    return this.serial.canTake && this.serial.pins.clear();
  }
}
