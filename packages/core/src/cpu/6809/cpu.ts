import { BugError } from "../../errors/index.ts";
import { restoreFields, saveFields } from "../state.ts";
import { type Bus, type Condition, type Cpu, type CpuState, type Line, LONGEST, type Register } from "../types.ts";
import { E, F, I } from "./flags.ts";
import { run } from "./run.ts";
import { ALL, PC_AND_CC, push } from "./stack.ts";

/** Bits of `attention`: what keeps the CPU from simply running the next instruction. */
const NMI = 0x01;
const FIRQ = 0x02;
const IRQ = 0x04;
const SYNC = 0x08;
const CWAI = 0x10;
const STOPPED = 0x20;

const INTERRUPT_CYCLES = 19;
const FIRQ_CYCLES = 10;
/** After CWAI all is stacked already: the two bytes of the vector and one idle cycle are left of its 20. */
const AFTER_CWAI_CYCLES = 3;

const FIELDS = ["a", "b", "x", "y", "u", "s", "pc", "dp", "cc", "attention", "nmiArmed", "nmiLine"] as const;

/**
 * The 6809, after the MC6809 data sheet and the programming manual. The 6809E differs in its clock and bus pins only.
 * Undefined opcodes and postbytes stop it. Cycles are exact for each instruction; on the bus it makes only the accesses that
 * carry data, and CLR's read.
 */
export class Cpu6809 implements Cpu {
  readonly name = "6809";
  readonly bus: Bus;
  readonly lines: readonly Line[] = ["NMI", "FIRQ", "IRQ"];
  readonly registers: readonly Register[] = [
    { name: "PC", bits: 16 },
    { name: "A", bits: 8 },
    { name: "B", bits: 8 },
    { name: "X", bits: 16 },
    { name: "Y", bits: 16 },
    { name: "U", bits: 16 },
    { name: "S", bits: 16 },
    { name: "DP", bits: 8 },
    { name: "CC", bits: 8, flags: "EFHINZVC" },
  ];
  a = 0;
  b = 0;
  x = 0;
  y = 0;
  u = 0;
  s = 0;
  pc = 0;
  dp = 0;
  cc = 0;
  /** What keeps the CPU from simply running the next instruction. */
  attention = 0;
  private nmiArmed = 0;
  private nmiLine = 0;
  constructor(bus: Bus) {
    this.bus = bus;
  }

  get condition(): Condition {
    if (this.attention & STOPPED) return "stopped";
    return this.attention & (SYNC | CWAI) ? "waits" : "runs";
  }

  get(register: string): number {
    return this[this.field(register)];
  }

  set(register: string, value: number): void {
    const field = this.field(register);
    this[field] = value & ((field.length === 1 && field !== "a" && field !== "b") || field === "pc" ? 0xffff : 0xff);
    if (field === "s") this.armNmi();
  }

  /** DP is cleared, FIRQ and IRQ are masked, NMI waits for a load of S. The other registers keep what they hold. */
  reset(): void {
    this.dp = 0;
    this.cc |= I | F;
    this.nmiArmed = 0;
    this.attention &= FIRQ | IRQ;
    this.pc = this.read16(0xfffe);
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
    if (line === "FIRQ" || line === "IRQ") {
      const bit = line === "IRQ" ? IRQ : FIRQ;
      this.attention = asserted ? this.attention | bit : this.attention & ~bit;
    } else if (line === "NMI") {
      if (asserted && !this.nmiLine && this.nmiArmed) this.attention |= NMI;
      this.nmiLine = asserted ? 1 : 0;
    } else throw new BugError(`the 6809 has no ${line}`);
  }

  save(): CpuState {
    return saveFields(this, FIELDS);
  }

  restore(state: CpuState): void {
    restoreFields(this, FIELDS, state);
  }

  // What follows is for the operations.

  get d(): number {
    return (this.a << 8) | this.b;
  }

  set d(value: number) {
    this.a = value >> 8;
    this.b = value & 0xff;
  }

  read16(at: number): number {
    return (this.bus.read(at) << 8) | this.bus.read((at + 1) & 0xffff);
  }

  write16(at: number, value: number): void {
    this.bus.write(at, value >> 8);
    this.bus.write((at + 1) & 0xffff, value & 0xff);
  }

  stackAll(): void {
    this.s = push(this, ALL, this.s, this.u);
  }

  /** NMI is ignored from reset until a program loads S. */
  armNmi(): void {
    this.nmiArmed = 1;
  }

  sync(): void {
    this.attention |= SYNC;
  }

  waitStacked(): void {
    this.attention |= CWAI;
  }

  /** Something without a meaning, at `at`: PC stays on it. */
  stop(at: number): void {
    this.pc = at;
    this.attention |= STOPPED;
  }

  /** Takes an interrupt or waits. False where the next instruction is to be run after all. */
  attend(): boolean {
    if (this.attention & STOPPED) return this.idle();
    if (this.attention & SYNC) {
      if (!(this.attention & (NMI | FIRQ | IRQ))) return this.idle();
      this.attention &= ~SYNC;
    }
    if (this.attention & NMI) {
      this.attention &= ~NMI;
      return this.interrupt(0xfffc, ALL, INTERRUPT_CYCLES, I | F);
    }
    if (this.attention & FIRQ && !(this.cc & F)) return this.interrupt(0xfff6, PC_AND_CC, FIRQ_CYCLES, I | F);
    if (this.attention & IRQ && !(this.cc & I)) return this.interrupt(0xfff8, ALL, INTERRUPT_CYCLES, I);
    return (this.attention & CWAI) !== 0 && this.idle();
  }

  private interrupt(vector: number, list: number, takes: number, masks: number): true {
    if (this.attention & CWAI) {
      this.attention &= ~CWAI;
      this.bus.left -= AFTER_CWAI_CYCLES;
    } else {
      this.bus.left -= takes;
      this.cc = list === ALL ? this.cc | E : this.cc & ~E;
      this.s = push(this, list, this.s, this.u);
    }
    this.cc |= masks;
    this.pc = this.read16(vector);
    return true;
  }

  /** Nothing can happen before the deadline: whatever drives a line runs between the calls of `run`. */
  private idle(): true {
    this.bus.left = Math.min(this.bus.left - 1, 0);
    return true;
  }

  private field(register: string): "pc" | "a" | "b" | "x" | "y" | "u" | "s" | "dp" | "cc" {
    if (!this.registers.some(({ name }) => name === register))
      throw new BugError(`the 6809 has no register ${register}`);
    return register.toLowerCase() as "pc";
  }
}
