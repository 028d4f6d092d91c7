import { readCycles } from "./table.ts";
import { INSTRUCTIONS_Z80, REGISTERS_Z80 } from "./tables/z80.ts";
import type { Cycles } from "./types.ts";

/** The Z80's table with every register written out: one form for `LD B,C`, one for `LD B,D` … */

/** What an expression in an operand becomes. */
export type Field = "n" | "nn" | "d" | "e" | "b" | "p" | "m";

export interface FormZ80 {
  mnemonic: string;
  /** As written, registers in capitals, `n` `nn` `d` `e` `b` `p` `m` where an expression stands: `(IX+d)`. */
  operands: readonly string[];
  /** The expressions in the order of the operands. */
  fields: readonly Field[];
  bytes: readonly { base: number; field?: Field }[];
  cycles: Cycles;
}

const FIELDS: ReadonlySet<string> = new Set(["n", "nn", "d", "e", "b", "p", "m"]);
/** One letter group of an operand: `X` and `d` of `(X+d)`. */
const GROUP = /[A-Z]+'?|[a-z]+/g;

function expand(mnemonic: string, operands: string, bytes: string, cycles: Cycles): FormZ80[] {
  const varying = new Set(operands.match(GROUP)?.filter((group) => group in REGISTERS_Z80));
  let choices: { operands: string; values: ReadonlyMap<string, number> }[] = [{ operands, values: new Map() }];
  for (const group of varying)
    choices = choices.flatMap((choice) =>
      REGISTERS_Z80[group]!.map(([name, value]) => ({
        // Names are put in with a mark before them, lest `C` put in for `r` be taken for a group again.
        operands: choice.operands.replace(GROUP, (found) => (found === group ? `\u0000${name}\u0000` : found)),
        values: new Map([...choice.values, [group, value]]),
      })),
    );
  return choices.map((choice) => {
    const written = choice.operands.replaceAll("\u0000", "");
    const list = written ? written.split(",") : [];
    return {
      mnemonic,
      operands: list,
      fields: list.flatMap((operand) => (operand.match(/[a-z]+/g) ?? []) as Field[]),
      bytes: bytes.split(" ").map((part) => byte(part, choice.values)),
      cycles,
    };
  });
}

function byte(text: string, values: ReadonlyMap<string, number>): { base: number; field?: Field } {
  const [first, ...terms] = text.split("+");
  if (FIELDS.has(first!)) return { base: 0, field: first as Field };
  let base = values.get(first!) ?? Number.parseInt(first!, 16);
  let field: Field | undefined;
  for (const term of terms) {
    const [, factor, name] = /^(\d*)([a-z]+)$/.exec(term)!;
    const value = values.get(name!);
    if (value === undefined) field = name as Field;
    else base += value * Number(factor || 1);
  }
  return field ? { base, field } : { base };
}

/** The key of a form: what the operands look like, with expressions as `n`. */
export const shapeOf = (operand: string): string => operand.replace(/[a-z]+/g, "n");

export const FORMS_Z80: readonly FormZ80[] = INSTRUCTIONS_Z80.trim()
  .split("\n")
  .flatMap((line) => {
    const [head, bytes, cycles] = line.split(/\s{2,}/);
    const [mnemonic, operands = ""] = head!.split(" ");
    return expand(mnemonic!, operands, bytes!, readCycles(cycles!));
  });
