import {
  adc,
  arr,
  asl,
  BREAK,
  bit,
  C,
  compare,
  D,
  dec,
  I,
  inc,
  lsr,
  N,
  nz,
  rol,
  ror,
  sbc,
  UNUSED,
  V,
  Z,
} from "./arithmetic.ts";
import type { Cpu6502 } from "./cpu.ts";

/** `operand` is its value for READING; else its address, or the target of a jump or branch. */
export type Operation = (cpu: Cpu6502, operand: number) => void;

function setA(cpu: Cpu6502, value: number): void {
  cpu.a = value;
}

function setX(cpu: Cpu6502, value: number): void {
  cpu.x = value;
}

function setY(cpu: Cpu6502, value: number): void {
  cpu.y = value;
}

function setS(cpu: Cpu6502, value: number): void {
  cpu.s = value;
}

function setP(cpu: Cpu6502, value: number): void {
  cpu.p = value;
}

/** Taken where the flag is (`set` its mask) or isn't (`set` 0): one cycle more, two into another page. */
const branch =
  (mask: number, set: number): Operation =>
  (cpu, at) => {
    if ((cpu.p & mask) !== set) return;
    cpu.bus.left -= ((at ^ cpu.pc) & 0xff00) === 0 ? 1 : 2;
    cpu.pc = at;
  };

/** Operations that get the operand's value. */
const documentedReading: Record<string, Operation> = {
  LDA: (cpu, value) => setA(cpu, nz(cpu, value)),
  LDX: (cpu, value) => setX(cpu, nz(cpu, value)),
  LDY: (cpu, value) => setY(cpu, nz(cpu, value)),
  AND: (cpu, value) => setA(cpu, nz(cpu, cpu.a & value)),
  ORA: (cpu, value) => setA(cpu, nz(cpu, cpu.a | value)),
  EOR: (cpu, value) => setA(cpu, nz(cpu, cpu.a ^ value)),
  ADC: adc,
  SBC: sbc,
  CMP: (cpu, value) => compare(cpu, cpu.a, value),
  CPX: (cpu, value) => compare(cpu, cpu.x, value),
  CPY: (cpu, value) => compare(cpu, cpu.y, value),
  BIT: bit,
};

/** Operations that get the operand's address, or none. */
const documented: Record<string, Operation> = {
  BPL: branch(N, 0),
  BMI: branch(N, N),
  BVC: branch(V, 0),
  BVS: branch(V, V),
  BCC: branch(C, 0),
  BCS: branch(C, C),
  BNE: branch(Z, 0),
  BEQ: branch(Z, Z),

  STA: (cpu, at) => cpu.bus.write(at, cpu.a),
  STX: (cpu, at) => cpu.bus.write(at, cpu.x),
  STY: (cpu, at) => cpu.bus.write(at, cpu.y),

  ASL: (cpu, at) => cpu.bus.write(at, asl(cpu, cpu.take(at))),
  LSR: (cpu, at) => cpu.bus.write(at, lsr(cpu, cpu.take(at))),
  ROL: (cpu, at) => cpu.bus.write(at, rol(cpu, cpu.take(at))),
  ROR: (cpu, at) => cpu.bus.write(at, ror(cpu, cpu.take(at))),
  INC: (cpu, at) => cpu.bus.write(at, inc(cpu, cpu.take(at))),
  DEC: (cpu, at) => cpu.bus.write(at, dec(cpu, cpu.take(at))),
  ASLA: (cpu) => setA(cpu, asl(cpu, cpu.a)),
  LSRA: (cpu) => setA(cpu, lsr(cpu, cpu.a)),
  ROLA: (cpu) => setA(cpu, rol(cpu, cpu.a)),
  RORA: (cpu) => setA(cpu, ror(cpu, cpu.a)),

  INX: (cpu) => setX(cpu, inc(cpu, cpu.x)),
  INY: (cpu) => setY(cpu, inc(cpu, cpu.y)),
  DEX: (cpu) => setX(cpu, dec(cpu, cpu.x)),
  DEY: (cpu) => setY(cpu, dec(cpu, cpu.y)),
  TAX: (cpu) => setX(cpu, nz(cpu, cpu.a)),
  TAY: (cpu) => setY(cpu, nz(cpu, cpu.a)),
  TSX: (cpu) => setX(cpu, nz(cpu, cpu.s)),
  TXA: (cpu) => setA(cpu, nz(cpu, cpu.x)),
  TYA: (cpu) => setA(cpu, nz(cpu, cpu.y)),
  TXS: (cpu) => setS(cpu, cpu.x),

  CLC: (cpu) => setP(cpu, cpu.p & ~C),
  CLD: (cpu) => setP(cpu, cpu.p & ~D),
  CLI: (cpu) => setP(cpu, cpu.p & ~I),
  CLV: (cpu) => setP(cpu, cpu.p & ~V),
  SEC: (cpu) => setP(cpu, cpu.p | C),
  SED: (cpu) => setP(cpu, cpu.p | D),
  SEI: (cpu) => setP(cpu, cpu.p | I),
  NOP: () => {},

  PHA: (cpu) => cpu.push(cpu.a),
  PHP: (cpu) => cpu.push(cpu.p | BREAK),
  PLA: (cpu) => setA(cpu, nz(cpu, cpu.pull())),
  PLP: (cpu) => setP(cpu, (cpu.pull() & ~BREAK) | UNUSED),
  JMP: (cpu, at) => {
    cpu.pc = at;
  },
  // The return address is that of the last byte of JSR, which is fetched after the push.
  JSR: (cpu) => {
    const low = cpu.bus.read(cpu.pc);
    cpu.pc = (cpu.pc + 1) & 0xffff;
    cpu.push16(cpu.pc);
    cpu.pc = low | (cpu.bus.read(cpu.pc) << 8);
  },
  RTS: (cpu) => {
    cpu.pc = (cpu.pull16() + 1) & 0xffff;
  },
  RTI: (cpu) => {
    cpu.p = (cpu.pull() & ~BREAK) | UNUSED;
    cpu.pc = cpu.pull16();
  },
  BRK: (cpu) => {
    cpu.pc = (cpu.pc + 1) & 0xffff;
    cpu.enter(0xfffe, BREAK);
  },
};

/** What ANE and LXA OR into A differs from part to part; EE is the value that public test vectors use. */
const UNSTABLE = 0xee;

function laxed(cpu: Cpu6502, value: number): void {
  cpu.x = cpu.a = nz(cpu, value);
}

/**
 * Stores a value ANDed with the operand's upper address byte, before indexing, plus one; where the index crosses a page, the
 * value replaces the upper address byte as well.
 */
function storeHigh(cpu: Cpu6502, at: number, index: number, value: number): void {
  const high = (at - index) >> 8;
  const stored = value & (high + 1) & 0xff;
  const crossed = ((at - index) & 0xff) + index > 0xff;
  cpu.bus.write(crossed ? (stored << 8) | (at & 0xff) : at, stored);
}

const undocumentedReading: Record<string, Operation> = {
  SKIP: () => {},
  LAX: laxed,
  ALR: (cpu, value) => setA(cpu, lsr(cpu, cpu.a & value)),
  ARR: arr,
  ANE: (cpu, value) => setA(cpu, nz(cpu, (cpu.a | UNSTABLE) & cpu.x & value)),
  LXA: (cpu, value) => laxed(cpu, (cpu.a | UNSTABLE) & value),
  ANC: (cpu, value) => {
    cpu.a = nz(cpu, cpu.a & value);
    cpu.p = (cpu.p & ~C) | (cpu.a >> 7);
  },
  SBX: (cpu, value) => {
    const and = cpu.a & cpu.x;
    compare(cpu, and, value);
    cpu.x = (and - value) & 0xff;
  },
  LAS: (cpu, value) => {
    cpu.s = cpu.s & value;
    laxed(cpu, cpu.s);
  },
};

const undocumented: Record<string, Operation> = {
  JAM: (cpu) => cpu.stop(),
  SAX: (cpu, at) => cpu.bus.write(at, cpu.a & cpu.x),
  SLO: (cpu, at) => {
    const value = asl(cpu, cpu.take(at));
    cpu.bus.write(at, value);
    cpu.a = nz(cpu, cpu.a | value);
  },
  RLA: (cpu, at) => {
    const value = rol(cpu, cpu.take(at));
    cpu.bus.write(at, value);
    cpu.a = nz(cpu, cpu.a & value);
  },
  SRE: (cpu, at) => {
    const value = lsr(cpu, cpu.take(at));
    cpu.bus.write(at, value);
    cpu.a = nz(cpu, cpu.a ^ value);
  },
  RRA: (cpu, at) => {
    const value = ror(cpu, cpu.take(at));
    cpu.bus.write(at, value);
    adc(cpu, value);
  },
  DCP: (cpu, at) => {
    const value = dec(cpu, cpu.take(at));
    cpu.bus.write(at, value);
    compare(cpu, cpu.a, value);
  },
  ISC: (cpu, at) => {
    const value = inc(cpu, cpu.take(at));
    cpu.bus.write(at, value);
    sbc(cpu, value);
  },
  SHA: (cpu, at) => storeHigh(cpu, at, cpu.y, cpu.a & cpu.x),
  SHX: (cpu, at) => storeHigh(cpu, at, cpu.y, cpu.x),
  SHY: (cpu, at) => storeHigh(cpu, at, cpu.x, cpu.y),
  TAS: (cpu, at) => {
    cpu.s = cpu.a & cpu.x;
    storeHigh(cpu, at, cpu.y, cpu.s);
  },
};

/** The CPU reads the operand for these. */
export const READING: Readonly<Record<string, Operation>> = { ...documentedReading, ...undocumentedReading };

/** These get an address, and read or write there themselves. */
export const ADDRESSING: Readonly<Record<string, Operation>> = { ...documented, ...undocumented };
