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
import { B, C, DR, H, HR, LR, P, S, SZXY, Z } from "./flags.ts";

/** Gets the address, value or target that the row's mode gives; see MODES. */
export type Operation = (cpu: CpuZ80, at: number) => void;

/**
 * Makes the operation of one opcode: `h` is where HL, IX or IY lies, then come the values of the row's letters; registers `r`
 * and `s` are places in `bytes`. Each operation calls its arithmetic by name: a function handed in would be called the slow way.
 */
type Maker = (h: number, first: number, second: number) => Operation;

/** The stack pointer among the pairs BC DE HL SP. */
const SP = 3;
const AF = 3;

const pair = (h: number, number: number): number => (number * 2 === HR ? h : number * 2);

const getPair = (cpu: CpuZ80, h: number, number: number): number =>
  number === SP ? cpu.sp : cpu.pair(pair(h, number));

function setPair(cpu: CpuZ80, h: number, number: number, value: number): void {
  if (number === SP) cpu.sp = value;
  else cpu.setPair(pair(h, number), value);
}

/** NZ Z NC C PO PE P M: the flag and whether it must be set. */
const FLAGS = [Z, C, P, S];

const condition = (number: number): readonly [mask: number, wanted: number] => {
  const mask = FLAGS[number >> 1]!;
  return [mask, number & 1 ? mask : 0];
};

function setByte(cpu: CpuZ80, place: number, value: number): void {
  cpu.bytes[place] = value;
}

const arithmetic: Record<string, Maker> = {
  ADD: (_h, s) => (cpu) => add(cpu, cpu.bytes[s]!, 0),
  ADC: (_h, s) => (cpu) => add(cpu, cpu.bytes[s]!, cpu.f & 1),
  SUB: (_h, s) => (cpu) => sub(cpu, cpu.bytes[s]!, 0),
  SBC: (_h, s) => (cpu) => sub(cpu, cpu.bytes[s]!, cpu.f & 1),
  AND: (_h, s) => (cpu) => and(cpu, cpu.bytes[s]!),
  XOR: (_h, s) => (cpu) => xor(cpu, cpu.bytes[s]!),
  OR: (_h, s) => (cpu) => or(cpu, cpu.bytes[s]!),
  CP: (_h, s) => (cpu) => cp(cpu, cpu.bytes[s]!),
  "ADD@": () => (cpu, at) => add(cpu, cpu.bus.read(at), 0),
  "ADC@": () => (cpu, at) => add(cpu, cpu.bus.read(at), cpu.f & 1),
  "SUB@": () => (cpu, at) => sub(cpu, cpu.bus.read(at), 0),
  "SBC@": () => (cpu, at) => sub(cpu, cpu.bus.read(at), cpu.f & 1),
  "AND@": () => (cpu, at) => and(cpu, cpu.bus.read(at)),
  "XOR@": () => (cpu, at) => xor(cpu, cpu.bus.read(at)),
  "OR@": () => (cpu, at) => or(cpu, cpu.bus.read(at)),
  "CP@": () => (cpu, at) => cp(cpu, cpu.bus.read(at)),
  ADDN: () => (cpu, n) => add(cpu, n, 0),
  ADCN: () => (cpu, n) => add(cpu, n, cpu.f & 1),
  SUBN: () => (cpu, n) => sub(cpu, n, 0),
  SBCN: () => (cpu, n) => sub(cpu, n, cpu.f & 1),
  ANDN: () => and,
  XORN: () => xor,
  ORN: () => or,
  CPN: () => cp,
  INC: (_h, r) => (cpu) => setByte(cpu, r, inc(cpu, cpu.bytes[r]!)),
  DEC: (_h, r) => (cpu) => setByte(cpu, r, dec(cpu, cpu.bytes[r]!)),
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
  RLCA: () => (cpu) => rotateA(cpu, ((cpu.a << 1) | (cpu.a >> 7)) & 0xff, cpu.a >> 7),
  RRCA: () => (cpu) => rotateA(cpu, ((cpu.a << 7) | (cpu.a >> 1)) & 0xff, cpu.a & C),
  RLA: () => (cpu) => rotateA(cpu, ((cpu.a << 1) | (cpu.f & C)) & 0xff, cpu.a >> 7),
  RRA: () => (cpu) => rotateA(cpu, ((cpu.f & C) << 7) | (cpu.a >> 1), cpu.a & C),
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
  ADDHL: (h, d) => (cpu) => addPair(cpu, h, getPair(cpu, h, d)),
  ADCHL: (h, d) => (cpu) => adcHl(cpu, getPair(cpu, h, d)),
  SBCHL: (h, d) => (cpu) => sbcHl(cpu, getPair(cpu, h, d)),
  INCD: (h, d) => (cpu) => setPair(cpu, h, d, (getPair(cpu, h, d) + 1) & 0xffff),
  DECD: (h, d) => (cpu) => setPair(cpu, h, d, (getPair(cpu, h, d) - 1) & 0xffff),
};

/** LD A,I and LD A,R: the interrupt enable shows in P. */
function loadA(cpu: CpuZ80, value: number): void {
  cpu.a = value;
  cpu.setF((cpu.f & C) | SZXY[value]! | (cpu.iff2 ? P : 0));
}

/** The internal address register after a store of A: the low byte counts on, A is the high one. */
const afterStore = (cpu: CpuZ80, at: number): number => ((at + 1) & 0xff) | (cpu.a << 8);

const loads: Record<string, Maker> = {
  LD: (_h, r, s) => (cpu) => setByte(cpu, r, cpu.bytes[s]!),
  LDN: (_h, r) => (cpu, n) => setByte(cpu, r, n),
  LDRM: (_h, r) => (cpu, at) => setByte(cpu, r, cpu.bus.read(at)),
  LDMR: (_h, r) => (cpu, at) => cpu.bus.write(at, cpu.bytes[r]!),
  LDMN: (h) => (cpu, at) => {
    // With an index the address is formed while the value is fetched: 19 T states, not 22.
    if (h !== HR) cpu.bus.left += 3;
    cpu.bus.write(at, cpu.fetch());
  },
  LDD: (h, d) => (cpu, at) => setPair(cpu, h, d, at),
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
  LDANN: () => (cpu, at) => {
    cpu.a = cpu.bus.read(at);
    cpu.wz = (at + 1) & 0xffff;
  },
  LDNNA: () => (cpu, at) => {
    cpu.bus.write(at, cpu.a);
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
    cpu.i = cpu.a;
  },
  LDRA: () => (cpu) => {
    cpu.r = cpu.a;
  },
  LDAI: () => (cpu) => loadA(cpu, cpu.i),
  LDAR: () => (cpu) => loadA(cpu, cpu.r),
  PUSH: (h, q) => {
    const from = pair(h, q);
    return q === AF ? (cpu) => cpu.push((cpu.a << 8) | cpu.f) : (cpu) => cpu.push(cpu.pair(from));
  },
  POP: (h, q) => {
    const to = pair(h, q);
    if (q !== AF) return (cpu) => cpu.setPair(to, cpu.pop());
    return (cpu) => {
      const value = cpu.pop();
      cpu.a = value >> 8;
      cpu.f = value & 0xff;
    };
  },
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
    const [mask, wanted] = condition(c);
    return (cpu, at) => {
      cpu.wz = at;
      if ((cpu.f & mask) === wanted) cpu.pc = at;
    };
  },
  JR: () => jump,
  JRC: (_h, c) => {
    const [mask, wanted] = condition(c);
    return (cpu, at) => {
      if ((cpu.f & mask) !== wanted) return;
      cpu.bus.left -= TAKEN_JR_CYCLES;
      jump(cpu, at);
    };
  },
  DJNZ: () => (cpu, at) => {
    const b = (cpu.bytes[0]! - 1) & 0xff;
    cpu.bytes[0] = b;
    if (b === 0) return;
    cpu.bus.left -= TAKEN_JR_CYCLES;
    jump(cpu, at);
  },
  CALL: () => call,
  CALLC: (_h, c) => {
    const [mask, wanted] = condition(c);
    return (cpu, at) => {
      cpu.wz = at;
      if ((cpu.f & mask) !== wanted) return;
      cpu.bus.left -= TAKEN_CALL_CYCLES;
      call(cpu, at);
    };
  },
  RET: () => (cpu) => jump(cpu, cpu.pop()),
  RETC: (_h, c) => {
    const [mask, wanted] = condition(c);
    return (cpu) => {
      if ((cpu.f & mask) !== wanted) return;
      cpu.bus.left -= TAKEN_RET_CYCLES;
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
