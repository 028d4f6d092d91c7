import { BugError } from "../../errors/index.ts";
import { restoreFields, saveFields } from "../state.ts";
import { type Bus, type Condition, type Cpu, type CpuState, type Line, LONGEST, type Register } from "../types.ts";
import { BREAK, I, UNUSED } from "./arithmetic.ts";
import { ADDRESSING, type Operation, READING } from "./operations.ts";
import { MODES, ROWS } from "./table.ts";

/** Bits of `attention`: what keeps the CPU from simply running the next instruction. */
const NMI = 0x01;
const IRQ = 0x02;
const STOPPED = 0x04;

const INTERRUPT_CYCLES = 7;
const STACK = 0x100;

interface Instruction {
  mode: number;
  cycles: number;
  /** Whether the operand's value is to be read at its address. */
  reads: boolean;
  operation: Operation;
}

const INSTRUCTIONS: readonly Instruction[] = ROWS.operation.map((name = "", opcode) => {
  const mode = ROWS.mode[opcode]!;
  const operation = READING[name] ?? ADDRESSING[name];
  if (!operation) throw new BugError(`6502: no operation ${name}`);
  return { mode, cycles: ROWS.cycles[opcode]!, reads: name in READING && MODES[mode] !== "imm", operation };
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
    const { bus } = this;
    do {
      const slice = Math.min(Math.ceil(until), bus.clock + LONGEST);
      bus.deadline = slice;
      while (bus.left > 0) this.advance();
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
    return saveFields(this, FIELDS);
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
    this.p |= I;
    this.pc = this.read16(vector);
  }

  /** A jam: PC stays on the opcode. */
  stop(): void {
    this.pc = (this.pc - 1) & 0xffff;
    this.attention |= STOPPED;
  }

  /**
   * `mode` is a place in MODES, written out: a bundler turns a name into a variable that is looked up each time. As the part
   * does, it reads the byte after the opcode whether it needs it or not.
   */
  private advance(): void {
    if (this.attention !== 0 && this.attend()) return;
    const { bus, pc } = this;
    let word = bus.ahead(pc);
    if (word === -1) word = this.collect();
    const { mode, cycles, reads, operation } = INSTRUCTIONS[word & 0xff]!;
    bus.left -= cycles;
    let operand = (word >> 8) & 0xff;
    if (mode > 8 /* those of three bytes */) {
      this.pc = (pc + 3) & 0xffff;
      operand = (word >> 8) & 0xffff;
      if (mode > 9 /* abs */) operand = this.absolute(mode, operand);
    } else if (mode === 0 /* none */) this.pc = (pc + 1) & 0xffff;
    else {
      const next = (pc + 2) & 0xffff;
      this.pc = next;
      if (mode === 8 /* rel */) operand = (next + ((operand << 24) >> 24)) & 0xffff;
      else if (mode > 2 /* zp */) operand = this.zeroPage(mode, operand);
    }
    operation(this, reads ? bus.read(operand) : operand);
  }

  /** The bytes of the instruction at PC read one by one, the opcode lowest. */
  private collect(): number {
    const { bus, pc } = this;
    const word = bus.read(pc) | (bus.read((pc + 1) & 0xffff) << 8);
    const isLong = INSTRUCTIONS[word & 0xff]!.mode > 8;
    return isLong ? word | (bus.read((pc + 2) & 0xffff) << 16) : word;
  }

  private zeroPage(mode: number, low: number): number {
    switch (mode) {
      case 3 /* zpx */:
        return (low + this.x) & 0xff;
      case 4 /* zpy */:
        return (low + this.y) & 0xff;
      case 5 /* izx */:
        return this.wrapped16((low + this.x) & 0xff);
      case 6 /* izy */:
        return this.indexed(this.wrapped16(low), this.y);
      default:
        /* izyw */ return this.indexedWrite(this.wrapped16(low), this.y);
    }
  }

  private absolute(mode: number, word: number): number {
    switch (mode) {
      case 10 /* abx */:
        return this.indexed(word, this.x);
      case 11 /* abxw */:
        return this.indexedWrite(word, this.x);
      case 12 /* aby */:
        return this.indexed(word, this.y);
      case 13 /* abyw */:
        return this.indexedWrite(word, this.y);
      default:
        /* ind */ return this.wrapped16(word);
    }
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
      this.bus.left--;
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
      bus.left = Math.min(bus.left - 1, 0);
      return true;
    }
    const nmi = (this.attention & NMI) !== 0;
    if (!nmi && this.p & I) return false;
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
