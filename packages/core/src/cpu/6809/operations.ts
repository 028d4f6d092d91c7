import { daa, mul } from "./arithmetic.ts";
import type { Cpu6809 } from "./cpu.ts";
import { E, F, I, N, Z } from "./flags.ts";
import { pullFrame, pullU, pushU } from "./stack.ts";
import { exchange, transfer } from "./transfer.ts";

/** `operand` is the immediate byte, where there is one. */
export type Operation = (cpu: Cpu6809, operand: number) => void;

function software(cpu: Cpu6809, vector: number, masks: number): void {
  cpu.cc |= E;
  cpu.stackAll();
  cpu.cc |= masks;
  cpu.pc = cpu.read16(vector);
}

function setCC(cpu: Cpu6809, value: number): void {
  cpu.cc = value;
}

/** What the switch of `run` does not have. */
export const OPERATIONS: Readonly<Record<string, Operation>> = {
  NOP: () => {},
  RTI: pullFrame,
  SWI: (cpu) => software(cpu, 0xfffa, I | F),
  SWI2: (cpu) => software(cpu, 0xfff4, 0),
  SWI3: (cpu) => software(cpu, 0xfff2, 0),
  SYNC: (cpu) => cpu.sync(),
  CWAI: (cpu, mask) => {
    cpu.cc = (cpu.cc & mask) | E;
    cpu.stackAll();
    cpu.waitStacked();
  },
  ORCC: (cpu, mask) => setCC(cpu, cpu.cc | mask),
  ANDCC: (cpu, mask) => setCC(cpu, cpu.cc & mask),
  DAA: daa,
  MUL: mul,
  SEX: (cpu) => {
    cpu.a = cpu.b & 0x80 ? 0xff : 0;
    cpu.cc = (cpu.cc & ~(N | Z)) | (cpu.b & 0x80 ? N : 0) | (cpu.b === 0 ? Z : 0);
  },
  EXG: exchange,
  TFR: transfer,
  PSHU: pushU,
  PULU: pullU,
};
