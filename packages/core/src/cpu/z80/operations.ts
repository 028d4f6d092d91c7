import {
  adcHl,
  bit,
  cpl,
  daa,
  dec,
  digits,
  inc,
  neg,
  rl,
  rlc,
  rr,
  rrc,
  sbcHl,
  setCarry,
  sla,
  sll,
  sra,
  srl,
  tested,
} from "./arithmetic.ts";
import { compare, input, load, output } from "./blocks.ts";
import type { CpuZ80 } from "./cpu.ts";
import { B, C, DR, H, HR, LR, P, SZXY } from "./flags.ts";

/** Gets the address, value or target that the row's mode gives; see MODES. */
export type Operation = (cpu: CpuZ80, at: number) => void;

/**
 * Makes the operation of one opcode: `h` is where HL, IX or IY lies, then come the values of the row's letters; registers `r`
 * and `s` are places in `bytes`. Each operation calls its arithmetic by name: a function handed in would be called the slow way.
 */
type Maker = (h: number, first: number, second: number) => Operation;

/** The stack pointer among the pairs BC DE HL SP. */
const SP = 3;

const pair = (h: number, number: number): number => (number * 2 === HR ? h : number * 2);

const getPair = (cpu: CpuZ80, h: number, number: number): number =>
  number === SP ? cpu.sp : cpu.pair(pair(h, number));

function setPair(cpu: CpuZ80, h: number, number: number, value: number): void {
  if (number === SP) cpu.sp = value;
  else cpu.setPair(pair(h, number), value);
}

function setByte(cpu: CpuZ80, place: number, value: number): void {
  cpu.bytes[place] = value;
}

const arithmetic: Record<string, Maker> = {
  RLC: (_h, r) => (cpu) => setByte(cpu, r, rlc(cpu, cpu.bytes[r]!)),
  RRC: (_h, r) => (cpu) => setByte(cpu, r, rrc(cpu, cpu.bytes[r]!)),
  RL: (_h, r) => (cpu) => setByte(cpu, r, rl(cpu, cpu.bytes[r]!)),
  RR: (_h, r) => (cpu) => setByte(cpu, r, rr(cpu, cpu.bytes[r]!)),
  SLA: (_h, r) => (cpu) => setByte(cpu, r, sla(cpu, cpu.bytes[r]!)),
  SRA: (_h, r) => (cpu) => setByte(cpu, r, sra(cpu, cpu.bytes[r]!)),
  SLL: (_h, r) => (cpu) => setByte(cpu, r, sll(cpu, cpu.bytes[r]!)),
  SRL: (_h, r) => (cpu) => setByte(cpu, r, srl(cpu, cpu.bytes[r]!)),
  "INC@": () => (cpu, at) => cpu.store(at, inc(cpu, cpu.bus.read(at))),
  "DEC@": () => (cpu, at) => cpu.store(at, dec(cpu, cpu.bus.read(at))),
  "RLC@": () => (cpu, at) => cpu.store(at, rlc(cpu, cpu.bus.read(at))),
  "RRC@": () => (cpu, at) => cpu.store(at, rrc(cpu, cpu.bus.read(at))),
  "RL@": () => (cpu, at) => cpu.store(at, rl(cpu, cpu.bus.read(at))),
  "RR@": () => (cpu, at) => cpu.store(at, rr(cpu, cpu.bus.read(at))),
  "SLA@": () => (cpu, at) => cpu.store(at, sla(cpu, cpu.bus.read(at))),
  "SRA@": () => (cpu, at) => cpu.store(at, sra(cpu, cpu.bus.read(at))),
  "SLL@": () => (cpu, at) => cpu.store(at, sll(cpu, cpu.bus.read(at))),
  "SRL@": () => (cpu, at) => cpu.store(at, srl(cpu, cpu.bus.read(at))),
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
  DAA: () => daa,
  CPL: () => cpl,
  NEG: () => neg,
  SCF: () => (cpu) => setCarry(cpu, C, 0),
  CCF: () => (cpu) => setCarry(cpu, ~cpu.f & C, cpu.f & C ? H : 0),
  RLD: () => (cpu) => {
    const value = cpu.bus.read(cpu.hl);
    digits(cpu, value >> 4, (value << 4) | (cpu.a & 0x0f));
  },
  RRD: () => (cpu) => {
    const value = cpu.bus.read(cpu.hl);
    digits(cpu, value, (value >> 4) | (cpu.a << 4));
  },
  ADCHL: (h, d) => (cpu) => adcHl(cpu, getPair(cpu, h, d)),
  SBCHL: (h, d) => (cpu) => sbcHl(cpu, getPair(cpu, h, d)),
};

/** LD A,I and LD A,R: the interrupt enable shows in P. */
function loadA(cpu: CpuZ80, value: number): void {
  cpu.a = value;
  cpu.setF((cpu.f & C) | SZXY[value]! | (cpu.iff2 ? P : 0));
}

/** The internal address register after a store of A: the low byte counts on, A is the high one. */
const afterStore = (cpu: CpuZ80, at: number): number => ((at + 1) & 0xff) | (cpu.a << 8);

const loads: Record<string, Maker> = {
  LDMN: (h) => (cpu, at) => {
    // With an index the address is formed while the value is fetched: 19 T states, not 22.
    if (h !== HR) cpu.bus.left += 3;
    cpu.bus.write(at, cpu.fetch());
  },
  LDAM: (_h, d) => (cpu) => {
    const at = cpu.pair(d * 2);
    cpu.a = cpu.bus.read(at);
    cpu.wz = (at + 1) & 0xffff;
  },
  LDMA: (_h, d) => (cpu) => {
    const at = cpu.pair(d * 2);
    cpu.bus.write(at, cpu.a);
    cpu.wz = afterStore(cpu, at);
  },
  LDDNN: (h, d) => (cpu, at) => setPair(cpu, h, d, cpu.read16(at)),
  LDNND: (h, d) => (cpu, at) => cpu.write16(at, getPair(cpu, h, d)),
  LDSP: (h) => (cpu) => {
    cpu.sp = cpu.pair(h);
  },
  LDIA: () => (cpu) => {
    cpu.i = cpu.a;
  },
  LDRA: () => (cpu) => {
    cpu.r = cpu.a;
  },
  LDAI: () => (cpu) => loadA(cpu, cpu.i),
  LDAR: () => (cpu) => loadA(cpu, cpu.r),
  EXAF: () => (cpu) => cpu.swapAf(),
  EXX: () => (cpu) => cpu.swap(B, LR + 1),
  EXDEHL: () => (cpu) => {
    const hl = cpu.hl;
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

export function jump(cpu: CpuZ80, at: number): void {
  cpu.pc = at;
  cpu.wz = at;
}

export function call(cpu: CpuZ80, at: number): void {
  cpu.push(cpu.pc);
  jump(cpu, at);
}

const flow: Record<string, Maker> = {
  NOP: () => () => {},
  HALT: () => (cpu) => cpu.halt(),
  JPHL: (h) => (cpu) => {
    cpu.pc = cpu.pair(h);
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
  INAN: () => (cpu, n) => {
    const port = (cpu.a << 8) | n;
    cpu.wz = (port + 1) & 0xffff;
    cpu.a = cpu.bus.input(port);
  },
  OUTNA: () => (cpu, n) => {
    const port = (cpu.a << 8) | n;
    cpu.wz = afterStore(cpu, port);
    cpu.bus.output(port, cpu.a);
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
