import { BugError } from "../../errors/index.ts";
import { restoreFields, saveFields } from "../state.ts";
import { type Bus, type Condition, type Cpu, type CpuState, type Line, LONGEST, type Register } from "../types.ts";
import { A, B, CR, DR, ER, HR, IX, IY, LR } from "./flags.ts";
import { run } from "./run.ts";

/** Bits of `attention`: what keeps the CPU from simply running the next instruction. */
const NMI = 0x01;
const INT = 0x02;
const HALTED = 0x04;
/** No INT between EI and the end of the instruction after it. */
const SHADOW = 0x08;

/** What `attend` says. */
const NEXT = -1;
const DONE = -2;

const NMI_CYCLES = 11;
const INT_CYCLES = [2, 13, 19];
const HALT_CYCLES = 4;
/** Registers of bytes by the name that the manual gives them, and where they lie. */
const PAIRS: Readonly<Record<string, readonly [number, number]>> = {
  BC: [B, CR],
  DE: [DR, ER],
  HL: [HR, LR],
  IX: [IX, IX + 1],
  IY: [IY, IY + 1],
};
const FIELDS = [
  "f",
  "otherF",
  "sp",
  "pc",
  "wz",
  "i",
  "iff1",
  "iff2",
  "im",
  "attention",
  "nmiLine",
  "fetches",
  "refreshAhead",
  "refreshTop",
  "flagsAt",
] as const;
/** Places in `bytes`, the other set's as well. */
const PLACES = Array.from({ length: 12 }, (_, place) => String(place));
const SINGLE: Readonly<Record<string, "sp" | "pc" | "i" | "r" | "iff1" | "iff2" | "im">> = {
  SP: "sp",
  PC: "pc",
  I: "i",
  R: "r",
  IFF1: "iff1",
  IFF2: "iff2",
  IM: "im",
};

/**
 * The Z80, after the user manual UM0080, with the undocumented opcodes and flags. T states are exact for each instruction.
 * In interrupt mode 0 the acknowledged byte is run as a one-byte instruction (RST).
 */
export class CpuZ80 implements Cpu {
  readonly name = "Z80";
  readonly bus: Bus;
  readonly lines: readonly Line[] = ["NMI", "INT"];
  readonly registers: readonly Register[] = [
    { name: "PC", bits: 16 },
    { name: "SP", bits: 16 },
    { name: "A", bits: 8 },
    { name: "F", bits: 8, flags: "SZYHXPNC" },
    { name: "BC", bits: 16 },
    { name: "DE", bits: 16 },
    { name: "HL", bits: 16 },
    { name: "IX", bits: 16 },
    { name: "IY", bits: 16 },
    { name: "AF'", bits: 16 },
    { name: "BC'", bits: 16 },
    { name: "DE'", bits: 16 },
    { name: "HL'", bits: 16 },
    { name: "I", bits: 8 },
    { name: "R", bits: 8 },
    { name: "IM", bits: 2 },
    { name: "IFF1", bits: 1 },
    { name: "IFF2", bits: 1 },
  ];
  /** B C D E H L, a gap, A, then IX and IY, upper byte first. */
  readonly bytes = new Uint8Array(12);
  /** The other set: B' C' D' E' H' L', a gap, A'; IX and IY have no other. */
  private readonly others = new Uint8Array(12);
  f = 0;
  private otherF = 0;
  sp = 0xffff;
  pc = 0;
  /** The internal address register that shows in flags X and Y after BIT n,(HL). */
  wz = 0;
  i = 0;
  iff1 = 0;
  iff2 = 0;
  im = 0;
  /** What keeps the CPU from simply running the next instruction. */
  attention = 0;
  private nmiLine = 0;
  /** Opcode bytes fetched; wraps where R does, too. */
  private fetches = 0;
  /** The low seven bits of R are ahead of `fetches` by this; bit 7 is as it was loaded. */
  private refreshAhead = 0;
  private refreshTop = 0;
  /** `fetches` when F was last set, so that SCF and CCF know whether the instruction before did it. */
  private flagsAt = -1;
  /** The byte that `store` wrote last. */
  stored = 0;

  constructor(bus: Bus) {
    this.bus = bus;
    this.bytes[A] = this.f = 0xff;
  }

  get condition(): Condition {
    return this.attention & HALTED ? "waits" : "runs";
  }

  get(register: string): number {
    const single = SINGLE[register];
    if (single) return this[single];
    if (register === "A") return this.bytes[A]!;
    if (register === "F") return this.f;
    if (register === "AF'") return (this.others[A]! << 8) | this.otherF;
    const [high, low, from] = this.place(register);
    return (from[high]! << 8) | from[low]!;
  }

  set(register: string, value: number): void {
    const single = SINGLE[register];
    if (single) {
      const { bits } = this.registers.find(({ name }) => name === register)!;
      this[single] = value & ((1 << bits) - 1);
    } else if (register === "A") this.bytes[A] = value;
    else if (register === "F") this.f = value & 0xff;
    else if (register === "AF'") {
      this.others[A] = value >> 8;
      this.otherF = value & 0xff;
    } else {
      const [high, low, from] = this.place(register);
      from[high] = value >> 8;
      from[low] = value;
    }
  }

  /** PC, I, R, the interrupt mode and enables are cleared. SP, A and F are set to ones, as after power-on; the others stay. */
  reset(): void {
    this.pc = this.i = this.r = this.im = this.iff1 = this.iff2 = 0;
    this.sp = 0xffff;
    this.bytes[A] = this.f = 0xff;
    this.attention &= INT;
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
    if (line === "INT") this.attention = asserted ? this.attention | INT : this.attention & ~INT;
    else if (line === "NMI") {
      if (asserted && !this.nmiLine) this.attention |= NMI;
      this.nmiLine = asserted ? 1 : 0;
    } else throw new BugError(`the Z80 has no ${line}`);
  }

  save(): CpuState {
    return {
      ...saveFields(this, FIELDS),
      ...saveFields(this.bytes, PLACES, "main"),
      ...saveFields(this.others, PLACES, "other"),
    };
  }

  restore(state: CpuState): void {
    restoreFields(this, FIELDS, state);
    restoreFields(this.bytes, PLACES, state, "main");
    restoreFields(this.others, PLACES, state, "other");
  }

  // What follows is for the operations.

  fetch(): number {
    const at = this.pc;
    this.pc = (at + 1) & 0xffff;
    return this.bus.read(at);
  }

  get a(): number {
    return this.bytes[7]!;
  }

  set a(value: number) {
    this.bytes[7] = value;
  }

  /** Counts with each opcode byte, in seven bits. */
  get r(): number {
    return this.refreshTop | ((this.fetches + this.refreshAhead) & 0x7f);
  }

  set r(value: number) {
    this.refreshTop = value & 0x80;
    this.refreshAhead = (value - this.fetches) & 0x7f;
  }

  /** F where the instruction before set it, else 0. For instructions of one byte. */
  get flagsBefore(): number {
    return this.flagsAt === ((this.fetches - 1) & 0x3fff_ffff) ? this.f : 0;
  }

  get hl(): number {
    return (this.bytes[4]! << 8) | this.bytes[5]!;
  }

  /** The value of two register bytes, the upper one at `place`. */
  pair(place: number): number {
    return (this.bytes[place]! << 8) | this.bytes[place + 1]!;
  }

  setPair(place: number, value: number): void {
    this.bytes[place] = value >> 8;
    this.bytes[place + 1] = value;
  }

  setF(flags: number): void {
    this.f = flags;
    this.flagsAt = this.fetches;
  }

  read16(at: number): number {
    const next = (at + 1) & 0xffff;
    this.wz = next;
    return this.bus.read(at) | (this.bus.read(next) << 8);
  }

  write16(at: number, value: number): void {
    const next = (at + 1) & 0xffff;
    this.wz = next;
    this.bus.write(at, value & 0xff);
    this.bus.write(next, value >> 8);
  }

  /** Writes a changed byte and keeps it for the undocumented copy into a register. */
  store(at: number, value: number): void {
    this.stored = value;
    this.bus.write(at, value);
  }

  push(value: number): void {
    const { bus, sp } = this;
    this.sp = (sp - 2) & 0xffff;
    bus.write((sp - 1) & 0xffff, value >> 8);
    bus.write((sp - 2) & 0xffff, value & 0xff);
  }

  pop(): number {
    const { bus, sp } = this;
    this.sp = (sp + 2) & 0xffff;
    return bus.read(sp) | (bus.read((sp + 1) & 0xffff) << 8);
  }

  popAf(): void {
    const value = this.pop();
    this.a = value >> 8;
    this.f = value & 0xff;
  }

  /** Exchanges register bytes from `first` on, before `end`, with the other set. */
  swap(first: number, end: number): void {
    for (let i = first; i < end; i++) {
      const held = this.bytes[i]!;
      this.bytes[i] = this.others[i]!;
      this.others[i] = held;
    }
  }

  swapAf(): void {
    this.swap(A, A + 1);
    [this.f, this.otherF] = [this.otherF, this.f];
  }

  halt(): void {
    this.attention |= HALTED;
  }

  enable(): void {
    this.iff1 = this.iff2 = 1;
    this.attention |= SHADOW;
  }

  refresh(count: number): void {
    this.fetches = (this.fetches + count) & 0x3fff_ffff;
  }

  /** IX or IY and the signed byte at the bottom of `offset`. */
  displaced(h: number, offset: number): number {
    const at = (this.pair(h) + ((offset << 24) >> 24)) & 0xffff;
    this.wz = at;
    return at;
  }

  /** Takes an interrupt or waits: −2. Where the next instruction is to be run after all: −1; or the opcode that a device gave. */
  attend(): number {
    const shadowed = (this.attention & SHADOW) !== 0;
    this.attention &= ~SHADOW;
    if (this.attention & NMI) {
      this.attention &= ~(NMI | HALTED);
      this.iff1 = 0;
      this.refresh(1);
      this.bus.left -= NMI_CYCLES;
      this.enter(0x66);
      return DONE;
    }
    if (this.attention & INT && this.iff1 && !shadowed) {
      this.attention &= ~HALTED;
      return this.interrupt();
    }
    if (!(this.attention & HALTED)) return NEXT;
    // HALT fetches and drops opcodes. Nothing can happen before the deadline: lines are driven between the calls of `run`.
    const turns = Math.max(1, (this.bus.left + HALT_CYCLES - 1) >> 2);
    this.refresh(turns & 0x7f);
    this.bus.left -= turns * HALT_CYCLES;
    return DONE;
  }

  private interrupt(): number {
    this.iff1 = this.iff2 = 0;
    this.bus.left -= INT_CYCLES[this.im]!;
    const byte = this.bus.acknowledge();
    if (this.im === 0) return byte;
    this.refresh(1);
    if (this.im === 1) this.enter(0x38);
    else {
      this.push(this.pc);
      this.pc = this.read16((this.i << 8) | byte);
      this.wz = this.pc;
    }
    return DONE;
  }

  private enter(at: number): void {
    this.push(this.pc);
    this.pc = at;
    this.wz = at;
  }

  private place(register: string): [high: number, low: number, from: Uint8Array] {
    const other = register.endsWith("'");
    const places = PAIRS[other ? register.slice(0, -1) : register];
    if (!places || !this.registers.some(({ name }) => name === register))
      throw new BugError(`the Z80 has no register ${register}`);
    return [...places, other ? this.others : this.bytes];
  }
}
