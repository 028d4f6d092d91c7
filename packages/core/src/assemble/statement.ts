import type { Cpu, Instruction } from "./cpu.ts";
import { DIRECTIVES } from "./directives.ts";
import { Cursor } from "./expression.ts";
import type { Directive } from "./placer.ts";
import { nameAt, scan, skipBlank } from "./scan.ts";
import type { SourceLine } from "./source.ts";
import { LineError } from "./types.ts";

/** One line, read. An error in its operation leaves the label standing, so that one mistake is told once. */
export interface Statement {
  label?: { name: string; column: number };
  /** Column of the operation, from 1. */
  column: number;
  instruction?: Instruction;
  directive?: Directive;
  error?: LineError;
}

/** Reads a line for `cpu` (`undefined` where none is named yet). Never throws. */
export function readStatement(line: SourceLine, cpu: Cpu | undefined): Statement {
  const { text } = line;
  const statement: Statement = { column: 1 };
  // `*` in the first column is a comment line, as on the 6809 and 6502.
  if (text.startsWith("*")) return statement;
  try {
    let at = skipBlank(text, 0);
    if (at === text.length || text[at] === ";") return statement;
    let word = nameAt(text, at);
    if (!word)
      throw new LineError(
        "syntax",
        at + 1,
        `A line cannot begin with \`${text[at]}\``,
        "a label, an instruction or a directive",
      );
    const afterWord = skipBlank(text, at + word.length);
    const colon = text[afterWord] === ":";
    if (colon || (!isOperation(word, cpu) && (at === 0 || definesName(text, afterWord)))) {
      statement.label = { name: word, column: at + 1 };
      at = skipBlank(text, afterWord + (colon ? 1 : 0));
      if (at === text.length || text[at] === ";") return statement;
      word = text[at] === "=" ? "=" : nameAt(text, at);
      if (!word)
        throw new LineError("syntax", at + 1, `\`${text[at]}\` is no operation`, "an instruction or a directive");
    }
    statement.column = at + 1;
    readOperation(statement, text, word, at + word.length, cpu);
  } catch (error) {
    if (!(error instanceof LineError)) throw error;
    statement.error = error;
  }
  return statement;
}

const isOperation = (word: string, cpu: Cpu | undefined): boolean =>
  DIRECTIVES.has(word.toLowerCase()) || (cpu?.has(word.toUpperCase()) ?? false);

const definesName = (text: string, at: number): boolean => text[at] === "=" || nameAt(text, at).toLowerCase() === "equ";

const SCAN_RULES = {
  "6809": { quotedStrings: false },
  "6502": { quotedStrings: false },
  Z80: { quotedStrings: true },
} as const;

function readOperation(statement: Statement, text: string, word: string, after: number, cpu: Cpu | undefined): void {
  const { column } = statement;
  const directive = DIRECTIVES.get(word.toLowerCase());
  const rules = SCAN_RULES[cpu?.name ?? "6809"];
  if (directive) {
    const source = { text, after, rules, column, word: word.toLowerCase(), label: statement.label };
    statement.directive = directive(source);
    return;
  }
  const mnemonic = word.toUpperCase();
  if (!cpu)
    throw new LineError(
      "operand",
      column,
      "No CPU is named before the first instruction",
      "`cpu 6809`, `cpu 6502` or `cpu Z80`",
    );
  if (!cpu.has(mnemonic))
    throw new LineError(
      "unknown-operation",
      column,
      `\`${word}\` is neither an instruction of the ${cpu.name} nor a directive`,
      "an instruction or a directive; a label that is not in the first column ends with `:`",
    );
  statement.instruction = cpu.read(mnemonic, new Cursor(scan(text, after, rules)), column);
}
