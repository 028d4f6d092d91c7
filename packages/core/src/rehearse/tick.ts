import type { Device } from "../cpu/index.ts";
import type { Host, Unit } from "./unit.ts";

/** A divider on the CPU's clock: a bit is set every so many cycles from power-on, and cleared by any write. */
export class Tick implements Unit, Device {
  state = { cleared: 0 };
  private readonly host: Host;
  private readonly every: number;
  private readonly bit: number;
  private readonly interrupts: boolean;

  constructor(
    host: Host,
    { every, bit = 7, interrupts = false }: { every: number; bit?: number; interrupts?: boolean },
  ) {
    this.host = host;
    this.every = every;
    this.bit = bit;
    this.interrupts = interrupts;
  }

  get next(): number {
    return this.interrupts && !this.come ? (this.state.cleared + 1) * this.every : Number.POSITIVE_INFINITY;
  }
  get asks(): boolean {
    return this.interrupts && this.come;
  }

  advance(): void {}

  read(): number {
    return this.come ? 1 << this.bit : 0;
  }

  write(): void {
    this.state.cleared = Math.floor(this.host.now() / this.every);
    this.host.changed();
  }

  private get come(): boolean {
    return this.host.now() >= (this.state.cleared + 1) * this.every;
  }
}
