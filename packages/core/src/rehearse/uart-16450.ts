import { frameOf, type Setting } from "./frames.ts";
import { type Pins, Serial } from "./serial.ts";
import type { BitOf, Uart } from "./uart.ts";
import type { Host } from "./unit.ts";

const PARITY = "OEMS";
const LOOP = 0x10;

/** The 16450: eight registers, the divisor behind bit 7 of line control. Data sheet, from memory. The modem inputs are tied on, CTS apart. */
export class Uart16450 implements Uart {
  readonly registers = 8;
  readonly serial: Serial;
  state;
  private readonly host: Host;
  private readonly bitOf: BitOf;

  constructor(host: Host, pins: Pins, bitOf: BitOf) {
    this.host = host;
    this.bitOf = bitOf;
    this.serial = new Serial(host, pins);
    this.state = {
      divisor: 0,
      enabled: 0,
      line: 0,
      modem: 0,
      scratch: 0,
      /** The interrupt for an empty transmit register was told and not yet cleared by a read of its identification. */
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
    return (this.state.modem & 2) !== 0;
  }
  get dtr(): boolean {
    return (this.state.modem & 1) !== 0;
  }
  get asks(): boolean {
    return this.identification !== 1;
  }

  advance(now: number): void {
    this.serial.advance(now);
    this.noteEmpty();
  }

  read(address: number): number {
    const { state } = this;
    const latches = (state.line & 0x80) !== 0;
    switch (address & 7) {
      case 0:
        return latches ? state.divisor & 0xff : this.serial.read();
      case 1:
        return latches ? state.divisor >> 8 : state.enabled;
      case 2: {
        const { identification } = this;
        if (identification === 2) {
          state.emptied = false;
          this.host.changed();
        }
        return identification;
      }
      case 3:
        return state.line;
      case 4:
        return state.modem;
      case 5:
        return this.lineStatus();
      case 6:
        return (this.serial.pins.clear() ? 0x10 : 0) | 0xa0;
      default:
        return state.scratch;
    }
  }

  write(address: number, value: number): void {
    const { state } = this;
    const latches = (state.line & 0x80) !== 0;
    switch (address & 7) {
      case 0:
        if (latches) state.divisor = (state.divisor & 0xff00) | value;
        else {
          state.emptied = false;
          state.wasEmpty = false;
          // Bit 4 of modem control joins output and input inside the part.
          if (state.modem & LOOP) {
            this.serial.state.got = this.serial.state.last = value;
            this.host.changed();
          } else this.serial.write(value);
          this.noteEmpty();
          return;
        }
        break;
      case 1:
        if (latches) state.divisor = (state.divisor & 0xff) | (value << 8);
        else {
          // Enabling it while the register is empty tells so at once.
          if (value & 2 && !(state.enabled & 2) && this.serial.canTake) state.emptied = true;
          state.enabled = value & 15;
        }
        break;
      case 3:
        state.line = value;
        break;
      case 4:
        state.modem = value & 0x1f;
        break;
      case 7:
        state.scratch = value;
    }
    this.apply();
  }

  apply(): void {
    const { setting } = this;
    this.serial.set(setting, setting !== undefined, setting !== undefined);
    this.serial.break((this.state.line & 0x40) !== 0);
  }

  private get setting(): Setting | undefined {
    const { divisor, line } = this.state;
    if (divisor === 0) return undefined;
    const data = 5 + (line & 3);
    const parity = line & 8 ? PARITY[(line >> 4) & 3]! : "N";
    const stop = line & 4 ? (data === 5 ? "1.5" : "2") : "1";
    return { frame: frameOf(`${data}${parity}${stop}`), bit: this.bitOf(16 * divisor) };
  }

  private get identification(): number {
    const { enabled, emptied } = this.state;
    const { state } = this.serial;
    if (enabled & 4 && (state.parity || state.framing || state.overrun || state.broken)) return 6;
    if (enabled & 1 && state.got >= 0) return 4;
    if (enabled & 2 && emptied) return 2;
    return 1;
  }

  private lineStatus(): number {
    const { state } = this.serial;
    const status =
      (state.got >= 0 ? 0x01 : 0) |
      (state.overrun ? 0x02 : 0) |
      (state.parity ? 0x04 : 0) |
      (state.framing ? 0x08 : 0) |
      (state.broken ? 0x10 : 0) |
      (this.serial.canTake ? 0x20 : 0) |
      (this.serial.idle ? 0x40 : 0);
    this.serial.clearErrors();
    this.host.changed();
    return status;
  }

  private noteEmpty(): void {
    const { state } = this;
    if (this.serial.canTake && !state.wasEmpty) state.emptied = true;
    state.wasEmpty = this.serial.canTake;
  }
}
