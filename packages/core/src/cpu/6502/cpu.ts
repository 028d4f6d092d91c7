import { BugError } from "../../errors/index.ts";
import { restoreFields, saveFields } from "../state.ts";
import type { Bus, Condition, Cpu, CpuState, Line, Register } from "../types.ts";
import { BREAK, I, UNUSED } from "./arithmetic.ts";
import { OPERATIONS, type Operation } from "./operations.ts";
import { MODES, ROWS } from "./table.ts";

/** Bits of `attention`: what keeps the CPU from simply running the next instruction. */
const NMI = 0x01;
const IRQ = 0x02;
const STOPPED = 0x04;

const INTERRUPT_CYCLES = 7;
const STACK = 0x100;

const [NONE, IMM, ZP, ZPX, ZPY, ABS, ABX, ABXW, ABY, ABYW, IND, IZX, IZY, IZYW] = MODES.map((_, number) => number);
const { mode, cycles } = ROWS;
const operations: readonly Operation[] = ROWS.operation.map((name) => {
  const operation = OPERATIONS[name ?? ""];
  if (!operation) throw new BugError(`6502: no operation ${name}`);
  return operation;
});

const FIELDS = ["a", "x", "y", "s", "p", "pc", "attention", "nmiLine"] as const;

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
  p = UNUSED;
  pc = 0;
  private attention = 0;
  private nmiLine = 0;

  constructor(bus: Bus) {
    this.bus = bus;
  }

  get condition(): Condition {
    return this.attention & STOPPED ? "stopped" : "runs";
  }

  get(register: string): number {
    return this[this.field(register)];
  }

  set(register: string, value: number): void {
    const field = this.field(register);
    this[field] = value & (field === "pc" ? 0xffff : 0xff);
    this.p = (this.p & ~BREAK) | UNUSED;
  }

  /** IRQ is masked and S goes down by three, as by an interrupt that writes nothing. The other registers keep what they hold. */
  reset(): void {
    this.s = (this.s - 3) & 0xff;
    this.p |= I;
    this.attention &= IRQ;
    this.pc = this.read16(0xfffc);
  }

  step(): number {
    const before = this.bus.clock;
    this.bus.deadline = before;
    this.advance();
    return this.bus.clock - before;
  }

  run(until: number): void {
    const bus = this.bus;
    bus.deadline = until;
    while (bus.clock < bus.deadline) this.advance();
  }

  drive(line: Line, asserted: boolean): void {
    if (line === "IRQ") this.attention = asserted ? this.attention | IRQ : this.attention & ~IRQ;
    else if (line === "NMI") {
      if (asserted && !this.nmiLine) this.attention |= NMI;
      this.nmiLine = asserted ? 1 : 0;
    } else throw new BugError(`the 6502 has no ${line}`);
  }

  save(): CpuState {
    return saveFields(this, FIELDS);
  }

  restore(state: CpuState): void {
    restoreFields(this, FIELDS, state);
  }

  // What follows is for the operations.

  fetch(): number {
    const at = this.pc;
    this.pc = (at + 1) & 0xffff;
    return this.bus.read(at);
  }

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
    this.p |= I;
    this.pc = this.read16(vector);
  }

  /** A jam: PC stays on the opcode. */
  stop(): void {
    this.pc = (this.pc - 1) & 0xffff;
    this.attention |= STOPPED;
  }

  private advance(): void {
    if (this.attention !== 0 && this.attend()) return;
    const opcode = this.fetch();
    this.bus.clock += cycles[opcode]!;
    operations[opcode]!(this, this.address(mode[opcode]!));
  }

  private address(how: number): number {
    switch (how) {
      case NONE:
        return 0;
      case IMM: {
        const at = this.pc;
        this.pc = (at + 1) & 0xffff;
        return at;
      }
      case ZP:
        return this.fetch();
      case ZPX:
        return (this.fetch() + this.x) & 0xff;
      case ZPY:
        return (this.fetch() + this.y) & 0xff;
      case ABS:
        return this.fetch16();
      case ABX:
        return this.indexed(this.fetch16(), this.x);
      case ABXW:
        return this.indexedWrite(this.fetch16(), this.x);
      case ABY:
        return this.indexed(this.fetch16(), this.y);
      case ABYW:
        return this.indexedWrite(this.fetch16(), this.y);
      case IND:
        return this.wrapped16(this.fetch16());
      case IZX:
        return this.wrapped16((this.fetch() + this.x) & 0xff);
      case IZY:
        return this.indexed(this.wrapped16(this.fetch()), this.y);
      case IZYW:
        return this.indexedWrite(this.wrapped16(this.fetch()), this.y);
      default: {
        const offset = (this.fetch() << 24) >> 24;
        return (this.pc + offset) & 0xffff;
      }
    }
  }

  private fetch16(): number {
    const low = this.fetch();
    return low | (this.fetch() << 8);
  }

  private read16(at: number): number {
    return this.bus.read(at) | (this.bus.read((at + 1) & 0xffff) << 8);
  }

  /** Both bytes from one page: in page zero, and the NMOS part's JMP (nnFF). */
  private wrapped16(at: number): number {
    return this.bus.read(at) | (this.bus.read((at & 0xff00) | ((at + 1) & 0xff)) << 8);
  }

  /** Where the index crosses a page: one cycle more, in which the part reads without the carry. */
  private indexed(base: number, index: number): number {
    const at = (base + index) & 0xffff;
    if (((at ^ base) & 0xff00) !== 0) {
      this.bus.clock++;
      this.bus.read((base & 0xff00) | (at & 0xff));
    }
    return at;
  }

  private indexedWrite(base: number, index: number): number {
    const at = (base + index) & 0xffff;
    this.bus.read((base & 0xff00) | (at & 0xff));
    return at;
  }

  /** Takes an interrupt or waits. False where the next instruction is to be run after all. */
  private attend(): boolean {
    const { bus } = this;
    if (this.attention & STOPPED) {
      bus.clock = Math.max(bus.clock + 1, bus.deadline);
      return true;
    }
    const nmi = (this.attention & NMI) !== 0;
    if (!nmi && this.p & I) return false;
    this.attention &= ~NMI;
    bus.clock += INTERRUPT_CYCLES;
    this.enter(nmi ? 0xfffa : 0xfffe, 0);
    return true;
  }

  private field(register: string): "pc" | "a" | "x" | "y" | "s" | "p" {
    if (!this.registers.some(({ name }) => name === register))
      throw new BugError(`the 6502 has no register ${register}`);
    return register.toLowerCase() as "pc";
  }
}
