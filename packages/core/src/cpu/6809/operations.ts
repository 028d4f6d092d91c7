import {
  add8,
  add16,
  asl,
  asr,
  clear,
  com,
  daa,
  dec,
  inc,
  lsr,
  mul,
  neg,
  rol,
  ror,
  sub8,
  sub16,
  test8,
  test16,
} from "./arithmetic.ts";
import type { Cpu6809 } from "./cpu.ts";
import { C, E, F, I, N, V, Z } from "./flags.ts";
import { pullFrame, pullReturn, pullS, pullU, pushReturn, pushS, pushU } from "./stack.ts";
import { PAGE2, PAGE3 } from "./table.ts";
import { exchange, transfer } from "./transfer.ts";

/** `at` is the address of the operand: in memory, or of the immediate byte or word; of a jump or branch, the target. */
export type Operation = (cpu: Cpu6809, at: number) => void;

/** Branch conditions by the low four bits of the opcode, from the manual: which of the 16 settings of NZVC take the branch. */
const CONDITIONS: Readonly<Record<string, (n: boolean, z: boolean, v: boolean, c: boolean) => boolean>> = {
  RA: () => true,
  RN: () => false,
  HI: (_n, z, _v, c) => !(c || z),
  LS: (_n, z, _v, c) => c || z,
  CC: (_n, _z, _v, c) => !c,
  CS: (_n, _z, _v, c) => c,
  NE: (_n, z) => !z,
  EQ: (_n, z) => z,
  VC: (_n, _z, v) => !v,
  VS: (_n, _z, v) => v,
  PL: (n) => !n,
  MI: (n) => n,
  GE: (n, _z, v) => n === v,
  LT: (n, _z, v) => n !== v,
  GT: (n, z, v) => !z && n === v,
  LE: (n, z, v) => z || n !== v,
};

const branches: Record<string, Operation> = {};
for (const [name, condition] of Object.entries(CONDITIONS)) {
  let taken = 0;
  for (let nzvc = 0; nzvc < 16; nzvc++)
    if (condition((nzvc & N) !== 0, (nzvc & Z) !== 0, (nzvc & V) !== 0, (nzvc & C) !== 0)) taken |= 1 << nzvc;
  branches[`B${name}`] = (cpu, at) => {
    if ((taken >> (cpu.cc & 0x0f)) & 1) cpu.pc = at;
  };
  branches[`LB${name}`] = (cpu, at) => {
    if (((taken >> (cpu.cc & 0x0f)) & 1) === 0) return;
    cpu.pc = at;
    cpu.bus.left--;
  };
}

const d = (cpu: Cpu6809): number => (cpu.a << 8) | cpu.b;

function setA(cpu: Cpu6809, value: number): void {
  cpu.a = value;
}

function setB(cpu: Cpu6809, value: number): void {
  cpu.b = value;
}

function setX(cpu: Cpu6809, value: number): void {
  cpu.x = value;
}

function setY(cpu: Cpu6809, value: number): void {
  cpu.y = value;
}

function setU(cpu: Cpu6809, value: number): void {
  cpu.u = value;
}

function setCC(cpu: Cpu6809, value: number): void {
  cpu.cc = value;
}

function setD(cpu: Cpu6809, value: number): void {
  cpu.a = value >> 8;
  cpu.b = value & 0xff;
}

function store16(cpu: Cpu6809, at: number, value: number): void {
  cpu.write16(at, test16(cpu, value));
}

function setZ(cpu: Cpu6809, value: number): number {
  cpu.cc = value === 0 ? cpu.cc | Z : cpu.cc & ~Z;
  return value;
}

function software(cpu: Cpu6809, vector: number, masks: number): void {
  cpu.cc |= E;
  cpu.stackAll();
  cpu.cc |= masks;
  cpu.pc = cpu.read16(vector);
}

const accumulators: Record<string, Operation> = {
  NEGA: (cpu) => setA(cpu, neg(cpu, cpu.a)),
  COMA: (cpu) => setA(cpu, com(cpu, cpu.a)),
  LSRA: (cpu) => setA(cpu, lsr(cpu, cpu.a)),
  RORA: (cpu) => setA(cpu, ror(cpu, cpu.a)),
  ASRA: (cpu) => setA(cpu, asr(cpu, cpu.a)),
  ASLA: (cpu) => setA(cpu, asl(cpu, cpu.a)),
  ROLA: (cpu) => setA(cpu, rol(cpu, cpu.a)),
  DECA: (cpu) => setA(cpu, dec(cpu, cpu.a)),
  INCA: (cpu) => setA(cpu, inc(cpu, cpu.a)),
  TSTA: (cpu) => void test8(cpu, cpu.a),
  CLRA: (cpu) => setA(cpu, clear(cpu)),
  NEGB: (cpu) => setB(cpu, neg(cpu, cpu.b)),
  COMB: (cpu) => setB(cpu, com(cpu, cpu.b)),
  LSRB: (cpu) => setB(cpu, lsr(cpu, cpu.b)),
  RORB: (cpu) => setB(cpu, ror(cpu, cpu.b)),
  ASRB: (cpu) => setB(cpu, asr(cpu, cpu.b)),
  ASLB: (cpu) => setB(cpu, asl(cpu, cpu.b)),
  ROLB: (cpu) => setB(cpu, rol(cpu, cpu.b)),
  DECB: (cpu) => setB(cpu, dec(cpu, cpu.b)),
  INCB: (cpu) => setB(cpu, inc(cpu, cpu.b)),
  TSTB: (cpu) => void test8(cpu, cpu.b),
  CLRB: (cpu) => setB(cpu, clear(cpu)),

  SUBA: (cpu, at) => setA(cpu, sub8(cpu, cpu.a, cpu.bus.read(at), 0)),
  CMPA: (cpu, at) => void sub8(cpu, cpu.a, cpu.bus.read(at), 0),
  SBCA: (cpu, at) => setA(cpu, sub8(cpu, cpu.a, cpu.bus.read(at), cpu.cc & C)),
  ANDA: (cpu, at) => setA(cpu, test8(cpu, cpu.a & cpu.bus.read(at))),
  BITA: (cpu, at) => void test8(cpu, cpu.a & cpu.bus.read(at)),
  LDA: (cpu, at) => setA(cpu, test8(cpu, cpu.bus.read(at))),
  STA: (cpu, at) => cpu.bus.write(at, test8(cpu, cpu.a)),
  EORA: (cpu, at) => setA(cpu, test8(cpu, cpu.a ^ cpu.bus.read(at))),
  ADCA: (cpu, at) => setA(cpu, add8(cpu, cpu.a, cpu.bus.read(at), cpu.cc & C)),
  ORA: (cpu, at) => setA(cpu, test8(cpu, cpu.a | cpu.bus.read(at))),
  ADDA: (cpu, at) => setA(cpu, add8(cpu, cpu.a, cpu.bus.read(at), 0)),
  SUBB: (cpu, at) => setB(cpu, sub8(cpu, cpu.b, cpu.bus.read(at), 0)),
  CMPB: (cpu, at) => void sub8(cpu, cpu.b, cpu.bus.read(at), 0),
  SBCB: (cpu, at) => setB(cpu, sub8(cpu, cpu.b, cpu.bus.read(at), cpu.cc & C)),
  ANDB: (cpu, at) => setB(cpu, test8(cpu, cpu.b & cpu.bus.read(at))),
  BITB: (cpu, at) => void test8(cpu, cpu.b & cpu.bus.read(at)),
  LDB: (cpu, at) => setB(cpu, test8(cpu, cpu.bus.read(at))),
  STB: (cpu, at) => cpu.bus.write(at, test8(cpu, cpu.b)),
  EORB: (cpu, at) => setB(cpu, test8(cpu, cpu.b ^ cpu.bus.read(at))),
  ADCB: (cpu, at) => setB(cpu, add8(cpu, cpu.b, cpu.bus.read(at), cpu.cc & C)),
  ORB: (cpu, at) => setB(cpu, test8(cpu, cpu.b | cpu.bus.read(at))),
  ADDB: (cpu, at) => setB(cpu, add8(cpu, cpu.b, cpu.bus.read(at), 0)),
};

const memory: Record<string, Operation> = {
  NEG: (cpu, at) => cpu.bus.write(at, neg(cpu, cpu.bus.read(at))),
  COM: (cpu, at) => cpu.bus.write(at, com(cpu, cpu.bus.read(at))),
  LSR: (cpu, at) => cpu.bus.write(at, lsr(cpu, cpu.bus.read(at))),
  ROR: (cpu, at) => cpu.bus.write(at, ror(cpu, cpu.bus.read(at))),
  ASR: (cpu, at) => cpu.bus.write(at, asr(cpu, cpu.bus.read(at))),
  ASL: (cpu, at) => cpu.bus.write(at, asl(cpu, cpu.bus.read(at))),
  ROL: (cpu, at) => cpu.bus.write(at, rol(cpu, cpu.bus.read(at))),
  DEC: (cpu, at) => cpu.bus.write(at, dec(cpu, cpu.bus.read(at))),
  INC: (cpu, at) => cpu.bus.write(at, inc(cpu, cpu.bus.read(at))),
  TST: (cpu, at) => void test8(cpu, cpu.bus.read(at)),
  // CLR reads before it writes (data sheet, cycle-by-cycle table): a device notices.
  CLR: (cpu, at) => {
    cpu.bus.read(at);
    cpu.bus.write(at, clear(cpu));
  },
};

const words: Record<string, Operation> = {
  ADDD: (cpu, at) => setD(cpu, add16(cpu, d(cpu), cpu.read16(at))),
  SUBD: (cpu, at) => setD(cpu, sub16(cpu, d(cpu), cpu.read16(at))),
  CMPD: (cpu, at) => void sub16(cpu, d(cpu), cpu.read16(at)),
  CMPX: (cpu, at) => void sub16(cpu, cpu.x, cpu.read16(at)),
  CMPY: (cpu, at) => void sub16(cpu, cpu.y, cpu.read16(at)),
  CMPU: (cpu, at) => void sub16(cpu, cpu.u, cpu.read16(at)),
  CMPS: (cpu, at) => void sub16(cpu, cpu.s, cpu.read16(at)),
  LDD: (cpu, at) => setD(cpu, test16(cpu, cpu.read16(at))),
  LDX: (cpu, at) => setX(cpu, test16(cpu, cpu.read16(at))),
  LDY: (cpu, at) => setY(cpu, test16(cpu, cpu.read16(at))),
  LDU: (cpu, at) => setU(cpu, test16(cpu, cpu.read16(at))),
  LDS: (cpu, at) => {
    cpu.s = test16(cpu, cpu.read16(at));
    cpu.armNmi();
  },
  STD: (cpu, at) => store16(cpu, at, d(cpu)),
  STX: (cpu, at) => store16(cpu, at, cpu.x),
  STY: (cpu, at) => store16(cpu, at, cpu.y),
  STU: (cpu, at) => store16(cpu, at, cpu.u),
  STS: (cpu, at) => store16(cpu, at, cpu.s),
  LEAX: (cpu, at) => setX(cpu, setZ(cpu, at)),
  LEAY: (cpu, at) => setY(cpu, setZ(cpu, at)),
  LEAU: (cpu, at) => setU(cpu, at),
  LEAS: (cpu, at) => {
    cpu.s = at;
    cpu.armNmi();
  },
};

const jump: Operation = (cpu, at) => {
  cpu.pc = at;
};

const call: Operation = (cpu, at) => {
  pushReturn(cpu);
  cpu.pc = at;
};

const others: Record<string, Operation> = {
  PAGE2: (cpu) => cpu.execute(PAGE2 + cpu.fetch()),
  PAGE3: (cpu) => cpu.execute(PAGE3 + cpu.fetch()),
  NOP: () => {},
  JMP: jump,
  LBRA: jump,
  JSR: call,
  BSR: call,
  LBSR: call,
  RTS: pullReturn,
  RTI: pullFrame,
  SWI: (cpu) => software(cpu, 0xfffa, I | F),
  SWI2: (cpu) => software(cpu, 0xfff4, 0),
  SWI3: (cpu) => software(cpu, 0xfff2, 0),
  SYNC: (cpu) => cpu.sync(),
  CWAI: (cpu, at) => {
    cpu.cc = (cpu.cc & cpu.bus.read(at)) | E;
    cpu.stackAll();
    cpu.waitStacked();
  },
  ORCC: (cpu, at) => setCC(cpu, cpu.cc | cpu.bus.read(at)),
  ANDCC: (cpu, at) => setCC(cpu, cpu.cc & cpu.bus.read(at)),
  DAA: daa,
  MUL: mul,
  SEX: (cpu) => {
    cpu.a = cpu.b & 0x80 ? 0xff : 0;
    cpu.cc = (cpu.cc & ~(N | Z)) | (cpu.b & 0x80 ? N : 0) | (cpu.b === 0 ? Z : 0);
  },
  ABX: (cpu) => setX(cpu, (cpu.x + cpu.b) & 0xffff),
  EXG: (cpu, at) => exchange(cpu, cpu.bus.read(at)),
  TFR: (cpu, at) => transfer(cpu, cpu.bus.read(at)),
  PSHS: (cpu, at) => pushS(cpu, cpu.bus.read(at)),
  PULS: (cpu, at) => pullS(cpu, cpu.bus.read(at)),
  PSHU: (cpu, at) => pushU(cpu, cpu.bus.read(at)),
  PULU: (cpu, at) => pullU(cpu, cpu.bus.read(at)),
};

export const OPERATIONS: Readonly<Record<string, Operation>> = {
  ...branches,
  ...accumulators,
  ...memory,
  ...words,
  ...others,
};
