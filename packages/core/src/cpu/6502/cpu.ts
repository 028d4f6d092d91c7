import { BugError } from "../../errors/index.ts";
import { restoreFields, saveFields } from "../state.ts";
import { type Bus, type Condition, type Cpu, type CpuState, type Line, LONGEST, type Register } from "../types.ts";
import { C, D, I, N, UNUSED, V, Z } from "./arithmetic.ts";
import { run } from "./run.ts";

/** Bits of `attention`: what keeps the CPU from simply running the next instruction. */
const NMI = 0x01;
const IRQ = 0x02;
const STOPPED = 0x04;

const INTERRUPT_CYCLES = 7;
const STACK = 0x100;

const FIELDS = ["a", "x", "y", "s", "n", "z", "c", "rest", "pc", "attention", "nmiLine"] as const;

/**
 * The NMOS 6502, after the MCS6500 hardware and programming manuals, with the undocumented opcodes. Those that jam it stop it.
 * Cycles are exact for each instruction. Of the accesses whose data are thrown away it makes those that a device can notice:
 * the read at the address before a carry into its upper byte, and the write of the old value by read-modify-write.
 */
export class Cpu6502 implements Cpu {
  readonly name = "6502";
  readonly bus: Bus;
  readonly lines: readonly Line[] = ["NMI", "IRQ"];
  readonly registers: readonly Register[] = [
    { name: "PC", bits: 16 },
    { name: "A", bits: 8 },
    { name: "X", bits: 8 },
    { name: "Y", bits: 8 },
    { name: "S", bits: 8 },
    { name: "P", bits: 8, flags: "NV1BDIZC" },
  ];
  a = 0;
  x = 0;
  y = 0;
  s = 0;
  /** The last result, whose bit 7 is the flag N. */
  n = 0;
  /** The last result, of which 0 is the flag Z. */
  z = 1;
  c = 0;
  /** The other flags where they lie in P: V D I, and the bit that is always one. */
  rest = UNUSED;
  pc = 0;
  /** What keeps the CPU from simply running the next instruction. */
  attention = 0;
  private nmiLine = 0;

  constructor(bus: Bus) {
    this.bus = bus;
  }

  get condition(): Condition {
    return this.attention & STOPPED ? "stopped" : "runs";
  }

  get p(): number {
    return (this.n & N) | this.rest | (this.z === 0 ? Z : 0) | this.c;
  }

  set p(flags: number) {
    this.n = flags;
    this.z = ~flags & Z;
    this.c = flags & C;
    this.rest = (flags & (V | D | I)) | UNUSED;
  }

  get(register: string): number {
    return this[this.field(register)];
  }

  set(register: string, value: number): void {
    const field = this.field(register);
    this[field] = value & (field === "pc" ? 0xffff : 0xff);
  }

  /** IRQ is masked and S goes down by three, as by an interrupt that writes nothing. The other registers keep what they hold. */
  reset(): void {
    this.s = (this.s - 3) & 0xff;
    this.rest |= I;
    this.attention &= IRQ;
    this.pc = this.read16(0xfffc);
  }

  step(): number {
    const before = this.bus.clock;
    this.bus.deadline = before;
    run(this);
    return this.bus.clock - before;
  }

  run(until: number): void {
    const { bus } = this;
    do {
      const slice = Math.min(Math.ceil(until), bus.clock + LONGEST);
      bus.deadline = slice;
      if (bus.left > 0) run(this);
      if (bus.deadline !== slice) return;
    } while (bus.clock < until);
  }

  drive(line: Line, asserted: boolean): void {
    if (line === "IRQ") this.attention = asserted ? this.attention | IRQ : this.attention & ~IRQ;
    else if (line === "NMI") {
      if (asserted && !this.nmiLine) this.attention |= NMI;
      this.nmiLine = asserted ? 1 : 0;
    } else throw new BugError(`the 6502 has no ${line}`);
  }

  save(): CpuState {
    // The same flags are the same state, whatever the last result was.
    return { ...saveFields(this, FIELDS), n: this.n & N, z: this.z === 0 ? 0 : 1 };
  }

  restore(state: CpuState): void {
    restoreFields(this, FIELDS, state);
  }

  // What follows is for the operations.

  /** Reads a byte that is to be changed; the part writes it back as it is before it writes the new one. */
  take(at: number): number {
    const value = this.bus.read(at);
    this.bus.write(at, value);
    return value;
  }

  push(value: number): void {
    this.bus.write(STACK | this.s, value);
    this.s = (this.s - 1) & 0xff;
  }

  push16(value: number): void {
    this.push(value >> 8);
    this.push(value & 0xff);
  }

  pull(): number {
    this.s = (this.s + 1) & 0xff;
    return this.bus.read(STACK | this.s);
  }

  pull16(): number {
    const low = this.pull();
    return low | (this.pull() << 8);
  }

  /** Stacks PC and P and goes through a vector with IRQ masked. */
  enter(vector: number, breakBit: number): void {
    this.push16(this.pc);
    this.push(this.p | breakBit);
    this.rest |= I;
    this.pc = this.read16(vector);
  }

  /** A jam: PC stays on the opcode. */
  stop(): void {
    this.pc = (this.pc - 1) & 0xffff;
    this.attention |= STOPPED;
  }

  private read16(at: number): number {
    return this.bus.read(at) | (this.bus.read((at + 1) & 0xffff) << 8);
  }

  /** Takes an interrupt or waits. False where the next instruction is to be run after all. */
  attend(): boolean {
    const { bus } = this;
    if (this.attention & STOPPED) {
      bus.left = Math.min(bus.left - 1, 0);
      return true;
    }
    const nmi = (this.attention & NMI) !== 0;
    if (!nmi && this.rest & I) return false;
    this.attention &= ~NMI;
    bus.left -= INTERRUPT_CYCLES;
    this.enter(nmi ? 0xfffa : 0xfffe, 0);
    return true;
  }

  private field(register: string): "pc" | "a" | "x" | "y" | "s" | "p" {
    if (!this.registers.some(({ name }) => name === register))
      throw new BugError(`the 6502 has no register ${register}`);
    return register.toLowerCase() as "pc";
  }
}
