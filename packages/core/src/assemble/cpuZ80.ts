import type { Cpu, Instruction, Site } from "./cpu.ts";
import type { Cursor, Expression } from "./expression.ts";
import { branchByte, byteValue, displacement, within, wordValue } from "./place.ts";
import { REGISTERS_Z80 } from "./tables/z80.ts";
import { type Field, FORMS_Z80, type FormZ80, shapeOf } from "./tableZ80.ts";
import { LineError, problem } from "./types.ts";

/** Forms by mnemonic, and in it by the shapes of the operands. */
const FORMS = new Map<string, Map<string, FormZ80>>();
for (const form of FORMS_Z80) {
  let forms = FORMS.get(form.mnemonic);
  if (!forms) {
    forms = new Map();
    FORMS.set(form.mnemonic, forms);
  }
  forms.set(form.operands.map(shapeOf).join(), form);
}

const REGISTERS: ReadonlySet<string> = new Set([
  ...Object.values(REGISTERS_Z80).flatMap((names) => names.map(([name]) => name)),
  "AF'",
  "I",
  "R",
]);
const POINTERS: ReadonlySet<string> = new Set(["BC", "DE", "HL", "SP", "C", "IX", "IY"]);

/** An operand as read: its shape, the shape it also has if it is a name, and the expression in it. */
interface Operand {
  shape: string;
  /** Shape and expression where the register's name is taken for a label's. */
  other?: { shape: string; expression: Expression };
  expression?: Expression;
  column: number;
}

export const CPU_Z80: Cpu = {
  name: "Z80",
  bigEndian: false,
  has: (mnemonic) => FORMS.has(mnemonic),
  read(mnemonic, cursor, column) {
    const operands: Operand[] = [];
    if (!cursor.done())
      do operands.push(readOperand(cursor));
      while (cursor.accept(","));
    cursor.needEnd();
    const found = match(FORMS.get(mnemonic)!, operands);
    if (found) return instruction(found.form, found.expressions);
    throw new LineError("operand", operands[0]?.column ?? column, ...complaint(mnemonic, operands));
  },
};

function readOperand(cursor: Cursor): Operand {
  const { column } = cursor.token;
  const word = cursor.word();
  const next = cursor.peek();
  if (REGISTERS.has(word) && (next.kind === "end" || next.text === ",")) {
    const { text } = cursor.take();
    return { shape: word, column, other: { shape: "n", expression: { kind: "name", name: text, column } } };
  }
  if (!cursor.is("(") || !cursor.spansOperand()) return { shape: "n", expression: cursor.expression(), column };
  cursor.need("(");
  const pointer = cursor.word();
  const after = cursor.peek();
  if (POINTERS.has(pointer) && after.text === ")" && after.kind === "op") {
    cursor.take();
    cursor.need(")");
    // `(IX)` is `(IX+0)` where there is no form of its own.
    if (pointer[0] === "I")
      return {
        shape: `(${pointer})`,
        column,
        other: { shape: `(${pointer}+n)`, expression: { kind: "number", value: 0, column } },
      };
    return { shape: `(${pointer})`, column };
  }
  if ((pointer === "IX" || pointer === "IY") && (after.text === "+" || after.text === "-")) {
    cursor.take();
    const expression = cursor.expression();
    cursor.need(")");
    return { shape: `(${pointer}+n)`, expression, column };
  }
  const expression = cursor.expression();
  cursor.need(")");
  return { shape: "(n)", expression, column };
}

/** Takes names for registers first, and for labels where no form has that register there. */
function match(
  forms: Map<string, FormZ80>,
  operands: Operand[],
): { form: FormZ80; expressions: Expression[] } | undefined {
  if (operands.length > 2) return undefined;
  for (let choice = 0; choice < 1 << operands.length; choice++) {
    const chosen = operands.map((operand, i) => (choice & (1 << i) ? operand.other : operand));
    if (chosen.some((operand) => operand === undefined)) continue;
    const form = forms.get(chosen.map((operand) => operand!.shape).join());
    if (form) return { form, expressions: chosen.flatMap((operand) => operand!.expression ?? []) };
  }
  return undefined;
}

function complaint(mnemonic: string, operands: Operand[]): [sentence: string, expected: string] {
  const shapes = operands.map(({ shape }) => shape).join();
  const sentence = shapes ? `${mnemonic} has no form ${mnemonic} ${shapes}` : `${mnemonic} needs an operand`;
  const first = operands[0]?.shape;
  const forms = [...FORMS.get(mnemonic)!.values()].map((form) => form.operands);
  const near = forms.filter((form) => form[0] !== undefined && shapeOf(form[0]) === first);
  const shown = (near.length ? near : forms)
    .slice(0, MOST_SHOWN)
    .map((form) => [mnemonic, form.join()].join(" ").trim());
  return [sentence, `${shown.join(" or ")}${(near.length ? near : forms).length > MOST_SHOWN ? " …" : ""}`];
}

const MOST_SHOWN = 6;

function instruction(form: FormZ80, expressions: Expression[]): Instruction {
  const { cycles } = form;
  const parts = form.bytes.map(({ base, field }) => ({
    base,
    field,
    expression: field && expressions[form.fields.indexOf(field)]!,
  }));
  const length = parts.reduce((total, { field }) => total + (field === "nn" ? 2 : 1), 0);
  return (site) => {
    const bytes: number[] = [];
    for (const { base, field, expression } of parts) {
      if (!field) bytes.push(base);
      else if (field === "nn") {
        const word = wordValue(site, expression!);
        bytes.push(word & 0xff, word >> 8);
      } else bytes.push(base + fieldByte(site, field, expression!, length));
    }
    return { bytes, cycles };
  };
}

const MODES = [0x46, 0x56, 0x5e] as const;

function fieldByte(site: Site, field: Exclude<Field, "nn">, expression: Expression, length: number): number {
  switch (field) {
    case "n":
      return byteValue(site, expression);
    case "d":
      return displacement(site, expression);
    case "e":
      return branchByte(site, expression, site.address + length, "JP, which reaches everywhere");
    case "b":
      return within(site, expression, 0, 7, "a bit number") * 8;
    case "m":
      return MODES[within(site, expression, 0, 2, "an interrupt mode")]!;
    case "p": {
      const value = within(site, expression, 0, 0x38, "an address of RST");
      if (value & 7)
        site.fail(problem("range", expression.column, `RST does not reach ${value}`, "0, 8, 10h, 18h … 38h"));
      return value & 0x38;
    }
  }
}
