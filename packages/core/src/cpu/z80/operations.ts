import {
  adcHl,
  add,
  addPair,
  and,
  bit,
  cp,
  cpl,
  daa,
  dec,
  digits,
  inc,
  neg,
  or,
  rl,
  rlc,
  rotateA,
  rr,
  rrc,
  sbcHl,
  setCarry,
  sla,
  sll,
  sra,
  srl,
  sub,
  tested,
  xor,
} from "./arithmetic.ts";
import { compare, input, load, output } from "./blocks.ts";
import type { CpuZ80 } from "./cpu.ts";
import { A, B, C, DR, F, H, HR, P, S, SZXY, Z } from "./flags.ts";

/** `at` is the address of the operand, or the word or target that the mode gives. */
export type Operation = (cpu: CpuZ80, at: number) => void;

/** Makes the operation of one opcode: `h` is where HL, IX or IY lies, then come the values of the row's letters. */
type Maker = (h: number, first: number, second: number) => Operation;

/** The stack pointer among the pairs BC DE HL SP. */
const SP = 3;
const AF = 3;

/** H and L are replaced by the halves of the index register after DD and FD. */
const byte = (h: number, number: number): number => (number === HR || number === HR + 1 ? h + number - HR : number);
const pair = (h: number, number: number): number => (number * 2 === HR ? h : number * 2);

const getPair = (cpu: CpuZ80, h: number, number: number): number =>
  number === SP ? cpu.sp : cpu.pair(pair(h, number));

function setPair(cpu: CpuZ80, h: number, number: number, value: number): void {
  if (number === SP) cpu.sp = value;
  else cpu.setPair(pair(h, number), value);
}

/** NZ Z NC C PO PE P M: the flag and whether it must be set. */
const FLAGS = [Z, C, P, S];

function condition(number: number): (cpu: CpuZ80) => boolean {
  const mask = FLAGS[number >> 1]!;
  const wanted = number & 1 ? mask : 0;
  return (cpu) => (cpu.bytes[F]! & mask) === wanted;
}

/** One of the operations on A, with a register and with a byte at an address. */
const withA = (name: string, operate: (cpu: CpuZ80, value: number) => void): Record<string, Maker> => ({
  [name]: (h, s) => {
    const from = byte(h, s);
    return (cpu) => operate(cpu, cpu.bytes[from]!);
  },
  [`${name}@`]: () => (cpu, at) => operate(cpu, cpu.bus.read(at)),
});

/** One of the operations that change a byte in place, in a register and in memory. */
const inPlace = (name: string, change: (cpu: CpuZ80, value: number) => number): Record<string, Maker> => ({
  [name]: (h, r) => {
    const place = byte(h, r);
    return (cpu) => {
      cpu.bytes[place] = change(cpu, cpu.bytes[place]!);
    };
  },
  [`${name}@`]: () => (cpu, at) => cpu.store(at, change(cpu, cpu.bus.read(at))),
});

const arithmetic: Record<string, Maker> = {
  ...withA("ADD", (cpu, value) => add(cpu, value, 0)),
  ...withA("ADC", (cpu, value) => add(cpu, value, cpu.bytes[F]! & C)),
  ...withA("SUB", (cpu, value) => sub(cpu, value, 0)),
  ...withA("SBC", (cpu, value) => sub(cpu, value, cpu.bytes[F]! & C)),
  ...withA("AND", and),
  ...withA("XOR", xor),
  ...withA("OR", or),
  ...withA("CP", cp),
  ...inPlace("INC", inc),
  ...inPlace("DEC", dec),
  ...inPlace("RLC", rlc),
  ...inPlace("RRC", rrc),
  ...inPlace("RL", rl),
  ...inPlace("RR", rr),
  ...inPlace("SLA", sla),
  ...inPlace("SRA", sra),
  ...inPlace("SLL", sll),
  ...inPlace("SRL", srl),
  BIT: (_h, b, s) => (cpu) => bit(cpu, cpu.bytes[s]!, 1 << b, cpu.bytes[s]!),
  RES: (_h, b, s) => (cpu) => {
    cpu.bytes[s]! &= ~(1 << b);
  },
  SET: (_h, b, s) => (cpu) => {
    cpu.bytes[s]! |= 1 << b;
  },
  "BIT@": (_h, b) => (cpu, at) => bit(cpu, cpu.bus.read(at), 1 << b, cpu.wz >> 8),
  "RES@": (_h, b) => (cpu, at) => cpu.store(at, cpu.bus.read(at) & ~(1 << b)),
  "SET@": (_h, b) => (cpu, at) => cpu.store(at, cpu.bus.read(at) | (1 << b)),
  RLCA: () => (cpu) => rotateA(cpu, ((cpu.bytes[A]! << 1) | (cpu.bytes[A]! >> 7)) & 0xff, cpu.bytes[A]! >> 7),
  RRCA: () => (cpu) => rotateA(cpu, ((cpu.bytes[A]! << 7) | (cpu.bytes[A]! >> 1)) & 0xff, cpu.bytes[A]! & C),
  RLA: () => (cpu) => rotateA(cpu, ((cpu.bytes[A]! << 1) | (cpu.bytes[F]! & C)) & 0xff, cpu.bytes[A]! >> 7),
  RRA: () => (cpu) => rotateA(cpu, ((cpu.bytes[F]! & C) << 7) | (cpu.bytes[A]! >> 1), cpu.bytes[A]! & C),
  DAA: () => daa,
  CPL: () => cpl,
  NEG: () => neg,
  SCF: () => (cpu) => setCarry(cpu, C, 0),
  CCF: () => (cpu) => setCarry(cpu, ~cpu.bytes[F]! & C, cpu.bytes[F]! & C ? H : 0),
  RLD: () => (cpu) => {
    const value = cpu.bus.read(cpu.pair(HR));
    digits(cpu, value >> 4, (value << 4) | (cpu.bytes[A]! & 0x0f));
  },
  RRD: () => (cpu) => {
    const value = cpu.bus.read(cpu.pair(HR));
    digits(cpu, value, (value >> 4) | (cpu.bytes[A]! << 4));
  },
  ADDHL: (h, d) => (cpu) => addPair(cpu, h, getPair(cpu, h, d)),
  ADCHL: (h, d) => (cpu) => adcHl(cpu, getPair(cpu, h, d)),
  SBCHL: (h, d) => (cpu) => sbcHl(cpu, getPair(cpu, h, d)),
  INCD: (h, d) => (cpu) => setPair(cpu, h, d, (getPair(cpu, h, d) + 1) & 0xffff),
  DECD: (h, d) => (cpu) => setPair(cpu, h, d, (getPair(cpu, h, d) - 1) & 0xffff),
};

/** LD A,I and LD A,R: the interrupt enable shows in P. */
function loadA(cpu: CpuZ80, value: number): void {
  cpu.bytes[A] = value;
  cpu.setF((cpu.bytes[F]! & C) | SZXY[value]! | (cpu.iff2 ? P : 0));
}

/** The internal address register after a store of A: the low byte counts on, A is the high one. */
const afterStore = (cpu: CpuZ80, at: number): number => ((at + 1) & 0xff) | (cpu.bytes[A]! << 8);

const loads: Record<string, Maker> = {
  LD: (h, r, s) => {
    const to = byte(h, r);
    const from = byte(h, s);
    return (cpu) => {
      cpu.bytes[to] = cpu.bytes[from]!;
    };
  },
  LDN: (h, r) => {
    const to = byte(h, r);
    return (cpu, at) => {
      cpu.bytes[to] = cpu.bus.read(at);
    };
  },
  LDRM: (_h, r) => (cpu, at) => {
    cpu.bytes[r] = cpu.bus.read(at);
  },
  LDMR: (_h, r) => (cpu, at) => cpu.bus.write(at, cpu.bytes[r]!),
  LDMN: (h) => (cpu, at) => {
    // With an index the address is formed while the value is fetched: 19 T states, not 22.
    if (h !== HR) cpu.bus.clock -= 3;
    cpu.bus.write(at, cpu.fetch());
  },
  LDD: (h, d) => (cpu, at) => setPair(cpu, h, d, at),
  LDAM: (_h, d) => (cpu) => {
    const at = cpu.pair(d * 2);
    cpu.bytes[A] = cpu.bus.read(at);
    cpu.wz = (at + 1) & 0xffff;
  },
  LDMA: (_h, d) => (cpu) => {
    const at = cpu.pair(d * 2);
    cpu.bus.write(at, cpu.bytes[A]!);
    cpu.wz = afterStore(cpu, at);
  },
  LDANN: () => (cpu, at) => {
    cpu.bytes[A] = cpu.bus.read(at);
    cpu.wz = (at + 1) & 0xffff;
  },
  LDNNA: () => (cpu, at) => {
    cpu.bus.write(at, cpu.bytes[A]!);
    cpu.wz = afterStore(cpu, at);
  },
  LDHLNN: (h) => (cpu, at) => cpu.setPair(h, cpu.read16(at)),
  LDNNHL: (h) => (cpu, at) => cpu.write16(at, cpu.pair(h)),
  LDDNN: (h, d) => (cpu, at) => setPair(cpu, h, d, cpu.read16(at)),
  LDNND: (h, d) => (cpu, at) => cpu.write16(at, getPair(cpu, h, d)),
  LDSP: (h) => (cpu) => {
    cpu.sp = cpu.pair(h);
  },
  LDIA: () => (cpu) => {
    cpu.i = cpu.bytes[A]!;
  },
  LDRA: () => (cpu) => {
    cpu.r = cpu.bytes[A]!;
  },
  LDAI: () => (cpu) => loadA(cpu, cpu.i),
  LDAR: () => (cpu) => loadA(cpu, cpu.r),
  PUSH: (h, q) => {
    const from = pair(h, q);
    return q === AF ? (cpu) => cpu.push((cpu.bytes[A]! << 8) | cpu.bytes[F]!) : (cpu) => cpu.push(cpu.pair(from));
  },
  POP: (h, q) => {
    const to = pair(h, q);
    if (q !== AF) return (cpu) => cpu.setPair(to, cpu.pop());
    return (cpu) => {
      const value = cpu.pop();
      cpu.bytes[A] = value >> 8;
      cpu.bytes[F] = value;
    };
  },
  EXAF: () => (cpu) => cpu.swap(F, F + 2),
  EXX: () => (cpu) => cpu.swap(B, F),
  EXDEHL: () => (cpu) => {
    const hl = cpu.pair(HR);
    cpu.setPair(HR, cpu.pair(DR));
    cpu.setPair(DR, hl);
  },
  EXSP: (h) => (cpu) => {
    const value = cpu.pop();
    cpu.push(cpu.pair(h));
    cpu.setPair(h, value);
    cpu.wz = value;
  },
  LDI: () => (cpu) => load(cpu, 1, false),
  LDD_: () => (cpu) => load(cpu, -1, false),
  LDIR: () => (cpu) => load(cpu, 1, true),
  LDDR: () => (cpu) => load(cpu, -1, true),
  CPI: () => (cpu) => compare(cpu, 1, false),
  CPD: () => (cpu) => compare(cpu, -1, false),
  CPIR: () => (cpu) => compare(cpu, 1, true),
  CPDR: () => (cpu) => compare(cpu, -1, true),
};

const TAKEN_JR_CYCLES = 5;
const TAKEN_RET_CYCLES = 6;
const TAKEN_CALL_CYCLES = 7;

function jump(cpu: CpuZ80, at: number): void {
  cpu.pc = at;
  cpu.wz = at;
}

function call(cpu: CpuZ80, at: number): void {
  cpu.push(cpu.pc);
  jump(cpu, at);
}

const flow: Record<string, Maker> = {
  NOP: () => () => {},
  HALT: () => (cpu) => cpu.halt(),
  JP: () => jump,
  JPHL: (h) => (cpu) => {
    cpu.pc = cpu.pair(h);
  },
  JPC: (_h, c) => {
    const met = condition(c);
    return (cpu, at) => {
      cpu.wz = at;
      if (met(cpu)) cpu.pc = at;
    };
  },
  JR: () => jump,
  JRC: (_h, c) => {
    const met = condition(c);
    return (cpu, at) => {
      if (!met(cpu)) return;
      cpu.bus.clock += TAKEN_JR_CYCLES;
      jump(cpu, at);
    };
  },
  DJNZ: () => (cpu, at) => {
    cpu.bytes[B]!--;
    if (cpu.bytes[B] === 0) return;
    cpu.bus.clock += TAKEN_JR_CYCLES;
    jump(cpu, at);
  },
  CALL: () => call,
  CALLC: (_h, c) => {
    const met = condition(c);
    return (cpu, at) => {
      cpu.wz = at;
      if (!met(cpu)) return;
      cpu.bus.clock += TAKEN_CALL_CYCLES;
      call(cpu, at);
    };
  },
  RET: () => (cpu) => jump(cpu, cpu.pop()),
  RETC: (_h, c) => {
    const met = condition(c);
    return (cpu) => {
      if (!met(cpu)) return;
      cpu.bus.clock += TAKEN_RET_CYCLES;
      jump(cpu, cpu.pop());
    };
  },
  // RETI is one of these opcodes: only the interrupting device tells it from RETN.
  RETN: () => (cpu) => {
    cpu.iff1 = cpu.iff2;
    jump(cpu, cpu.pop());
  },
  RST: (_h, b) => (cpu) => call(cpu, b * 8),
  DI: () => (cpu) => {
    cpu.iff1 = cpu.iff2 = 0;
  },
  EI: () => (cpu) => cpu.enable(),
  IM: (_h, b) => {
    const mode = [0, 0, 1, 2][b & 3]!;
    return (cpu) => {
      cpu.im = mode;
    };
  },
  PREFIXCB: (h) => (h === HR ? (cpu) => cpu.executeCb() : (cpu) => cpu.executeIndexedCb(h)),
  PREFIXED: () => (cpu) => cpu.executeEd(),
  PREFIXDD: () => (cpu) => cpu.executeIx(),
  PREFIXFD: () => (cpu) => cpu.executeIy(),
};

function readPort(cpu: CpuZ80): number {
  const port = cpu.pair(B);
  cpu.wz = (port + 1) & 0xffff;
  return tested(cpu, cpu.bus.input(port));
}

function writePort(cpu: CpuZ80, value: number): void {
  const port = cpu.pair(B);
  cpu.wz = (port + 1) & 0xffff;
  cpu.bus.output(port, value);
}

const ports: Record<string, Maker> = {
  INAN: () => (cpu, at) => {
    const port = (cpu.bytes[A]! << 8) | cpu.bus.read(at);
    cpu.wz = (port + 1) & 0xffff;
    cpu.bytes[A] = cpu.bus.input(port);
  },
  OUTNA: () => (cpu, at) => {
    const port = (cpu.bytes[A]! << 8) | cpu.bus.read(at);
    cpu.wz = afterStore(cpu, port);
    cpu.bus.output(port, cpu.bytes[A]!);
  },
  IN: (_h, r) => (cpu) => {
    cpu.bytes[r] = readPort(cpu);
  },
  INF: () => readPort,
  OUT: (_h, r) => (cpu) => writePort(cpu, cpu.bytes[r]!),
  OUT0: () => (cpu) => writePort(cpu, 0),
  INI: () => (cpu) => input(cpu, 1, false),
  IND: () => (cpu) => input(cpu, -1, false),
  INIR: () => (cpu) => input(cpu, 1, true),
  INDR: () => (cpu) => input(cpu, -1, true),
  OUTI: () => (cpu) => output(cpu, 1, false),
  OUTD: () => (cpu) => output(cpu, -1, false),
  OTIR: () => (cpu) => output(cpu, 1, true),
  OTDR: () => (cpu) => output(cpu, -1, true),
};

export const MAKERS: Readonly<Record<string, Maker>> = { ...arithmetic, ...loads, ...flow, ...ports };
