import type { Segment } from "../bytes/index.ts";

/** What the assembler gives back. Errors are data: assembling never throws on any text. */

export type CpuName = "6809" | "6502" | "Z80";

/** Something wrong in the source. Lines and columns count from 1. */
export interface SourceIssue {
  /** Stable: `syntax`, `unknown-operation`, `operand`, `range`, `undefined`, `twice`, `structure`, `limit`, `include`, `assert`. */
  code: string;
  file: string;
  line: number;
  column: number;
  sentence: string;
  /** What would have been right there, where that can be said. */
  expected?: string;
  /** The source line and, under it, a caret at the column. */
  caret: string;
}

/** Cycles of one execution by the data sheet; `most` where a taken branch or a crossed page costs more. */
export interface Cycles {
  least: number;
  most: number;
}

export interface ListedLine {
  file: string;
  line: number;
  source: string;
  /** Where the line's bytes or its label lie; behind `org` the new address. Left out where there is none. */
  address?: number;
  /** A view into the whole output. */
  bytes: Uint8Array;
  cycles?: Cycles;
}

export interface Assembly {
  /** The CPU named last; left out where the source names none. */
  cpu?: CpuName;
  /** In order of address, apart from one another: between two of them nothing was stored. */
  segments: Segment[];
  /** Labels and `equ` names; a local label `.x` after `main` is `main.x`. */
  symbols: ReadonlyMap<string, number>;
  listing: ListedLine[];
  errors: SourceIssue[];
  /** Start address given to `end`. */
  start?: number;
  /** Passes over the source until every size held still. */
  passes: number;
}

export interface AssembleOptions {
  /** Name of the source in errors and listing; `source` if left out. */
  file?: string;
  /** Gives the text of an included file, `undefined` where there is none. */
  include?: (name: string) => string | undefined;
  /** Names that are defined before the first line. */
  defines?: Readonly<Record<string, number>>;
}

/** An issue before its line is known. A plain value: a source may have very many, and an `Error` costs its stack. */
export interface Problem {
  code: string;
  column: number;
  message: string;
  expected: string | undefined;
}

export const problem = (code: string, column: number, message: string, expected?: string): Problem => ({
  code,
  column,
  message,
  expected,
});

/** Thrown inside the room while one line is read, and caught there. */
export class LineError extends Error implements Problem {
  readonly code: string;
  readonly column: number;
  readonly expected: string | undefined;

  constructor(code: string, column: number, sentence: string, expected?: string) {
    super(sentence);
    this.code = code;
    this.column = column;
    this.expected = expected;
  }
}
