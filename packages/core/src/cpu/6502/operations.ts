import { adc, arr, asl, BREAK, compare, D, dec, I, inc, lsr, nz, rol, ror, sbc, V } from "./arithmetic.ts";
import type { Cpu6502 } from "./cpu.ts";

/** Operations in the CPU's own switch that get the operand's value. Their places are the switch's cases. */
const SWITCHED_READING = ["LDA", "LDX", "LDY", "AND", "ORA", "EOR", "ADC", "SBC", "CMP", "CPX", "CPY", "BIT"];

/** Operations in the CPU's own switch, in the order of its cases; what they do stands there. */
export const SWITCHED: readonly string[] = [
  ...SWITCHED_READING,
  "STA",
  "STX",
  "STY",
  "BPL",
  "BMI",
  "BVC",
  "BVS",
  "BCC",
  "BCS",
  "BNE",
  "BEQ",
  "INX",
  "INY",
  "DEX",
  "DEY",
  "TAX",
  "TAY",
  "TXA",
  "TYA",
  "ASL",
  "LSR",
  "ROL",
  "ROR",
  "INC",
  "DEC",
  "ASLA",
  "LSRA",
  "ROLA",
  "RORA",
  "CLC",
  "SEC",
  "PHA",
  "PLA",
  "JMP",
  "JSR",
  "RTS",
];

/** `operand` is its value for READING; else its address, or the target of a jump or branch. */
export type Operation = (cpu: Cpu6502, operand: number) => void;

function setA(cpu: Cpu6502, value: number): void {
  cpu.a = value;
}

function setX(cpu: Cpu6502, value: number): void {
  cpu.x = value;
}

function setS(cpu: Cpu6502, value: number): void {
  cpu.s = value;
}

function setRest(cpu: Cpu6502, flags: number): void {
  cpu.rest = flags;
}

function setP(cpu: Cpu6502, value: number): void {
  cpu.p = value;
}

/** Operations that get the operand's address, or none. */
const documented: Record<string, Operation> = {
  TSX: (cpu) => setX(cpu, nz(cpu, cpu.s)),
  TXS: (cpu) => setS(cpu, cpu.x),
  CLD: (cpu) => setRest(cpu, cpu.rest & ~D),
  CLI: (cpu) => setRest(cpu, cpu.rest & ~I),
  CLV: (cpu) => setRest(cpu, cpu.rest & ~V),
  SED: (cpu) => setRest(cpu, cpu.rest | D),
  SEI: (cpu) => setRest(cpu, cpu.rest | I),
  NOP: () => {},
  PHP: (cpu) => cpu.push(cpu.p | BREAK),
  PLP: (cpu) => setP(cpu, cpu.pull()),
  RTI: (cpu) => {
    cpu.p = cpu.pull();
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
    cpu.c = cpu.a >> 7;
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
export const READING: ReadonlySet<string> = new Set([...SWITCHED_READING, ...Object.keys(undocumentedReading)]);

/** What the switch does not have. */
export const OPERATIONS: Readonly<Record<string, Operation>> = {
  ...documented,
  ...undocumented,
  ...undocumentedReading,
};
