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

/** `at` is the address of the operand: in memory, or of the immediate byte; of a jump or branch, the target. */
export type Operation = (cpu: Cpu6502, at: number) => void;

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
    cpu.bus.clock += ((at ^ cpu.pc) & 0xff00) === 0 ? 1 : 2;
    cpu.pc = at;
  };

const documented: Record<string, Operation> = {
  BPL: branch(N, 0),
  BMI: branch(N, N),
  BVC: branch(V, 0),
  BVS: branch(V, V),
  BCC: branch(C, 0),
  BCS: branch(C, C),
  BNE: branch(Z, 0),
  BEQ: branch(Z, Z),

  LDA: (cpu, at) => setA(cpu, nz(cpu, cpu.bus.read(at))),
  LDX: (cpu, at) => setX(cpu, nz(cpu, cpu.bus.read(at))),
  LDY: (cpu, at) => setY(cpu, nz(cpu, cpu.bus.read(at))),
  STA: (cpu, at) => cpu.bus.write(at, cpu.a),
  STX: (cpu, at) => cpu.bus.write(at, cpu.x),
  STY: (cpu, at) => cpu.bus.write(at, cpu.y),
  AND: (cpu, at) => setA(cpu, nz(cpu, cpu.a & cpu.bus.read(at))),
  ORA: (cpu, at) => setA(cpu, nz(cpu, cpu.a | cpu.bus.read(at))),
  EOR: (cpu, at) => setA(cpu, nz(cpu, cpu.a ^ cpu.bus.read(at))),
  ADC: (cpu, at) => adc(cpu, cpu.bus.read(at)),
  SBC: (cpu, at) => sbc(cpu, cpu.bus.read(at)),
  CMP: (cpu, at) => compare(cpu, cpu.a, cpu.bus.read(at)),
  CPX: (cpu, at) => compare(cpu, cpu.x, cpu.bus.read(at)),
  CPY: (cpu, at) => compare(cpu, cpu.y, cpu.bus.read(at)),
  BIT: (cpu, at) => bit(cpu, cpu.bus.read(at)),

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
    const low = cpu.fetch();
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

const undocumented: Record<string, Operation> = {
  SKIP: (cpu, at) => void cpu.bus.read(at),
  JAM: (cpu) => cpu.stop(),
  LAX: (cpu, at) => laxed(cpu, cpu.bus.read(at)),
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
  ANC: (cpu, at) => {
    cpu.a = nz(cpu, cpu.a & cpu.bus.read(at));
    cpu.p = (cpu.p & ~C) | (cpu.a >> 7);
  },
  ALR: (cpu, at) => setA(cpu, lsr(cpu, cpu.a & cpu.bus.read(at))),
  ARR: (cpu, at) => arr(cpu, cpu.bus.read(at)),
  ANE: (cpu, at) => setA(cpu, nz(cpu, (cpu.a | UNSTABLE) & cpu.x & cpu.bus.read(at))),
  LXA: (cpu, at) => laxed(cpu, (cpu.a | UNSTABLE) & cpu.bus.read(at)),
  SBX: (cpu, at) => {
    const and = cpu.a & cpu.x;
    const value = cpu.bus.read(at);
    compare(cpu, and, value);
    cpu.x = (and - value) & 0xff;
  },
  LAS: (cpu, at) => {
    cpu.s = cpu.s & cpu.bus.read(at);
    laxed(cpu, cpu.s);
  },
  SHA: (cpu, at) => storeHigh(cpu, at, cpu.y, cpu.a & cpu.x),
  SHX: (cpu, at) => storeHigh(cpu, at, cpu.y, cpu.x),
  SHY: (cpu, at) => storeHigh(cpu, at, cpu.x, cpu.y),
  TAS: (cpu, at) => {
    cpu.s = cpu.a & cpu.x;
    storeHigh(cpu, at, cpu.y, cpu.s);
  },
};

export const OPERATIONS: Readonly<Record<string, Operation>> = { ...documented, ...undocumented };
