import { BugError } from "../../errors/index.ts";
import { restoreFields, saveFields } from "../state.ts";
import { type Bus, type Condition, type Cpu, type CpuState, type Line, LONGEST, type Register } from "../types.ts";
import { A, B, CR, DR, ER, HR, IX, IY, LR } from "./flags.ts";
import { MAKERS, type Operation } from "./operations.ts";
import { BASE, CB, ED, MODES, type Row } from "./table.ts";

/** Bits of `attention`: what keeps the CPU from simply running the next instruction. */
const NMI = 0x01;
const INT = 0x02;
const HALTED = 0x04;
/** No INT between EI and the end of the instruction after it. */
const SHADOW = 0x08;

const NMI_CYCLES = 11;
const INT_CYCLES = [2, 13, 19];
const HALT_CYCLES = 4;
/** What a displacement adds: after DD or FD, and after DD CB or FD CB, whose opcode is fetched meanwhile. */
const DISPLACEMENT_CYCLES = 8;
const DISPLACEMENT_CB_CYCLES = 4;

/** Bytes after the opcode by mode; `mem` has one with an index register only. */
const MEM = MODES.indexOf("mem");
const OPERAND_BYTES = [0, 1, 2, 1, 1, 0];

interface Instruction {
  mode: number;
  cycles: number;
  operation: Operation;
}

/** A table spread out for the run, with HL, IX or IY in HL's place. */
const instructions = (rows: readonly Row[], h: number): readonly Instruction[] =>
  rows.map(({ operation, letters, values, mode, cycles }) => {
    const maker = MAKERS[operation];
    if (!maker) throw new BugError(`Z80: no operation ${operation}`);
    // H and L become the index register's halves, except beside an operand that it points to.
    const [first = 0, second = 0] = values.map((value, i) =>
      /[rs]/.test(letters[i]!) && MODES[mode] !== "mem" && (value === HR || value === LR) ? h + value - HR : value,
    );
    return { mode, cycles, operation: maker(h, first, second) };
  });

const base = instructions(BASE, HR);
const withIx = instructions(BASE, IX);
const withIy = instructions(BASE, IY);
const cb = instructions(CB, HR);
const ed = instructions(ED, HR);

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
  private attention = 0;
  private nmiLine = 0;
  /** Opcode bytes fetched; wraps where R does, too. */
  private fetches = 0;
  /** The low seven bits of R are ahead of `fetches` by this; bit 7 is as it was loaded. */
  private refreshAhead = 0;
  private refreshTop = 0;
  /** `fetches` when F was last set, so that SCF and CCF know whether the instruction before did it. */
  private flagsAt = -1;
  private stored = 0;

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
    this.sp = (this.sp - 1) & 0xffff;
    this.bus.write(this.sp, value >> 8);
    this.sp = (this.sp - 1) & 0xffff;
    this.bus.write(this.sp, value & 0xff);
  }

  pop(): number {
    const low = this.bus.read(this.sp);
    const high = this.bus.read((this.sp + 1) & 0xffff);
    this.sp = (this.sp + 2) & 0xffff;
    return low | (high << 8);
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

  executeCb(): void {
    this.perform(cb, HR);
  }

  executeEd(): void {
    this.perform(ed, HR);
  }

  executeIx(): void {
    this.perform(withIx, IX);
  }

  executeIy(): void {
    this.perform(withIy, IY);
  }

  /** DD CB d op: on memory, whatever register the opcode names; that one takes a copy of the result (undocumented). */
  executeIndexedCb(h: number): void {
    const at = this.displaced(h, this.fetch());
    const opcode = this.fetch();
    const { cycles, operation } = cb[(opcode & 0xf8) | 6]!;
    this.bus.left -= cycles + DISPLACEMENT_CB_CYCLES;
    operation(this, at);
    const register = opcode & 7;
    const isBit = opcode >> 6 === 1;
    if (register !== 6 && !isBit) this.bytes[register] = this.stored;
  }

  private advance(): void {
    if (this.attention !== 0 && this.attend()) return;
    const { pc } = this;
    const word = this.bus.ahead(pc);
    if (word === -1) {
      this.perform(base, HR);
      return;
    }
    this.refresh(1);
    const instruction = base[word & 0xff]!;
    if (instruction.mode === 5 /* pre */) this.afterPrefix(instruction.cycles, word);
    else this.execute(instruction, word >> 8, (pc + 1) & 0xffff, 4 /* HR */);
  }

  /** Runs a prefixed instruction whose first four bytes are at hand, the prefix lowest. */
  private afterPrefix(cycles: number, word: number): void {
    const prefix = word & 0xff;
    const rows = prefix === 0xdd ? withIx : prefix === 0xfd ? withIy : prefix === 0xcb ? cb : ed;
    const h = prefix === 0xdd ? 8 /* IX */ : prefix === 0xfd ? 10 /* IY */ : 4; /* HR */
    this.bus.left -= cycles;
    this.refresh(1);
    this.execute(rows[(word >> 8) & 0xff]!, word >> 16, (this.pc + 2) & 0xffff, h);
  }

  /** Runs the instruction whose opcode, after a prefix, is at PC. */
  private perform(rows: readonly Instruction[], h: number): void {
    const { pc } = this;
    this.refresh(1);
    let word = this.bus.ahead(pc);
    if (word === -1) word = this.collect(rows, h);
    this.execute(rows[word & 0xff]!, word >> 8, (pc + 1) & 0xffff, h);
  }

  /** The bytes of the instruction at PC read one by one, the opcode lowest. */
  private collect(rows: readonly Instruction[], h: number): number {
    const { bus, pc } = this;
    let word = bus.read(pc);
    const { mode } = rows[word]!;
    const more = mode === MEM && h === HR ? 0 : OPERAND_BYTES[mode]!;
    for (let i = 1; i <= more; i++) word |= bus.read((pc + i) & 0xffff) << (8 * i);
    return word;
  }

  /**
   * `rest` holds the bytes from `next` on, the first one lowest. The cases are places in MODES, written out: a bundler turns a
   * name into a variable that is looked up each time.
   */
  private execute({ mode, cycles, operation }: Instruction, rest: number, next: number, h: number): void {
    this.bus.left -= cycles;
    let operand = 0;
    switch (mode) {
      case 0 /* none */:
        this.pc = next;
        break;
      case 1 /* imm */:
        this.pc = (next + 1) & 0xffff;
        operand = rest & 0xff;
        break;
      case 2 /* nn */:
        this.pc = (next + 2) & 0xffff;
        operand = rest & 0xffff;
        break;
      case 3 /* mem */:
        if (h === 4 /* HR */) {
          this.pc = next;
          operand = this.hl;
        } else {
          this.pc = (next + 1) & 0xffff;
          operand = this.displaced(h, rest);
          this.bus.left -= DISPLACEMENT_CYCLES;
        }
        break;
      case 4 /* rel */:
        this.pc = (next + 1) & 0xffff;
        operand = (next + 1 + ((rest << 24) >> 24)) & 0xffff;
        break;
      default: // pre
        this.pc = next;
    }
    operation(this, operand);
  }

  private refresh(count: number): void {
    this.fetches = (this.fetches + count) & 0x3fff_ffff;
  }

  /** IX or IY and the signed byte at the bottom of `offset`. */
  private displaced(h: number, offset: number): number {
    const at = (this.pair(h) + ((offset << 24) >> 24)) & 0xffff;
    this.wz = at;
    return at;
  }

  /** Takes an interrupt or waits. False where the next instruction is to be run after all. */
  private attend(): boolean {
    const shadowed = (this.attention & SHADOW) !== 0;
    this.attention &= ~SHADOW;
    if (this.attention & NMI) {
      this.attention &= ~(NMI | HALTED);
      this.iff1 = 0;
      this.refresh(1);
      this.bus.left -= NMI_CYCLES;
      this.enter(0x66);
      return true;
    }
    if (this.attention & INT && this.iff1 && !shadowed) {
      this.attention &= ~HALTED;
      this.interrupt();
      return true;
    }
    if (!(this.attention & HALTED)) return false;
    // HALT fetches and drops opcodes. Nothing can happen before the deadline: lines are driven between the calls of `run`.
    const turns = Math.max(1, (this.bus.left + HALT_CYCLES - 1) >> 2);
    this.refresh(turns & 0x7f);
    this.bus.left -= turns * HALT_CYCLES;
    return true;
  }

  private interrupt(): void {
    this.iff1 = this.iff2 = 0;
    this.refresh(1);
    this.bus.left -= INT_CYCLES[this.im]!;
    const byte = this.bus.acknowledge();
    if (this.im === 0) this.execute(base[byte]!, 0, this.pc, HR);
    else if (this.im === 1) this.enter(0x38);
    else {
      this.push(this.pc);
      this.pc = this.read16((this.i << 8) | byte);
      this.wz = this.pc;
    }
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
