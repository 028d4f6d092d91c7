import type { Cursor, Expression } from "./expression.ts";
import type { CpuName, Cycles, Problem } from "./types.ts";

/** What a CPU's file gives the assembler: which mnemonics it has, and how to read and place one instruction. */
export interface Cpu {
  name: CpuName;
  /** Order of the bytes of a word in memory. */
  bigEndian: boolean;
  /** `mnemonic` in capitals. */
  has(mnemonic: string): boolean;
  /** Reads the operand once; throws a `LineError`. `column` is that of the mnemonic. */
  read(mnemonic: string, cursor: Cursor, column: number): Instruction;
}

/** Called once a pass; must always give as many bytes for the same size class. */
export type Instruction = (site: Site) => Encoded;

export interface Encoded {
  bytes: number[];
  cycles: Cycles;
}

/** Where an instruction is being placed. */
export interface Site {
  address: number;
  /** The assumed direct page register, 0 to 255. */
  directPage: number;
  evaluate(expression: Expression): number | undefined;
  /**
   * Size class of this instruction, 0 the shortest: the larger of `needed` and what earlier passes chose. It only grows,
   * so the passes come to an end.
   */
  size(needed: number): number;
  fail(error: Problem): void;
}
