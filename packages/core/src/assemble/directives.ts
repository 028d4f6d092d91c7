import { asciiCode, Cursor, type Expression } from "./expression.ts";
import { readModule, readModuleName } from "./module.ts";
import { byteValue, within, wordValue } from "./place.ts";
import type { Directive } from "./placer.ts";
import { nameAt, type ScanRules, scan, skipBlank, stringAt, type Token } from "./scan.ts";
import { LineError, problem } from "./types.ts";

/** The directives: what stands in their operands, and what they do in a pass. */

/** A directive's line: its operand starts at index `after` of `text`. */
export interface DirectiveSource {
  text: string;
  after: number;
  rules: ScanRules;
  /** Column of the directive's word. */
  column: number;
  word: string;
  label: { name: string; column: number } | undefined;
}

const operandOf = ({ text, after, rules }: DirectiveSource): Cursor => new Cursor(scan(text, after, rules));

type Item = { text: string; column: number } | Expression;

/** Texts and expressions between commas. `first` is a text that stands before them. */
function items(cursor: Cursor, first?: Item): Item[] {
  const found: Item[] = first ? [first] : [];
  if (first && cursor.done()) return found;
  if (first) cursor.need(",");
  do {
    const { kind, text, column } = cursor.token;
    const next = cursor.peek();
    const alone = next.kind === "end" || (next.kind === "op" && next.text === ",");
    if (kind === "string" && alone) {
      cursor.take();
      found.push({ text, column });
    } else found.push(cursor.expression());
  } while (cursor.accept(","));
  cursor.needEnd();
  return found;
}

/** `fcc` takes any mark that is neither letter, digit nor blank as the text's delimiter. */
function delimited(source: DirectiveSource): Item[] {
  const at = skipBlank(source.text, source.after);
  const mark = source.text[at];
  if (mark === undefined || mark === ";" || /[A-Za-z0-9]/.test(mark))
    throw new LineError("syntax", at + 1, "A text must stand here", '"text" or /text/');
  const { text, after } = stringAt(source.text, at);
  return items(new Cursor(scan(source.text, after, source.rules)), { text, column: at + 1 });
}

const isText = (item: Item): item is { text: string; column: number } => "text" in item;

function textBytes({ text, column }: { text: string; column: number }): number[] {
  return Array.from({ length: text.length }, (_, index) => asciiCode(text, index, column));
}

function bytesDirective(list: Item[], markLast: boolean): Directive {
  const parts = list.map((item) => {
    if (!isText(item)) return item;
    const bytes = textBytes(item);
    if (markLast && bytes.length) bytes[bytes.length - 1]! |= 0x80;
    return bytes;
  });
  return (pass) => {
    for (const part of parts) {
      if (Array.isArray(part)) pass.emit(part);
      else pass.emit([byteValue(pass, part)]);
    }
  };
}

const bytes = (source: DirectiveSource): Directive => bytesDirective(items(operandOf(source)), false);

const words = (source: DirectiveSource): Directive => {
  const list = items(operandOf(source)).map((item) => {
    if (!isText(item)) return item;
    if (item.text.length === 1)
      return { kind: "number", value: asciiCode(item.text, 0, item.column), column: item.column } as const;
    throw new LineError("operand", item.column, "A text of several characters is no word", "fcb, fcc or db");
  });
  return (pass) => {
    for (const item of list) {
      const value = wordValue(pass, item);
      const [low, high] = [value & 0xff, value >> 8];
      pass.emit(pass.cpu?.bigEndian ? [high, low] : [low, high]);
    }
  };
};

const reserve = (source: DirectiveSource): Directive => {
  const [count, fill] = oneOrTwo(operandOf(source));
  return (pass) => {
    const size = within(pass, count, 0, 0x10000, "the address space");
    if (fill) pass.fill(size, byteValue(pass, fill));
    else pass.reserve(size);
  };
};

function oneOrTwo(cursor: Cursor): [Expression, Expression | undefined] {
  const first = cursor.expression();
  const second = cursor.accept(",") ? cursor.expression() : undefined;
  cursor.needEnd();
  return [first, second];
}

function one(source: DirectiveSource): Expression {
  const cursor = operandOf(source);
  const value = cursor.expression();
  cursor.needEnd();
  return value;
}

function none(source: DirectiveSource): void {
  operandOf(source).needEnd();
}

const equate = (source: DirectiveSource): Directive => {
  const { label } = source;
  if (!label) throw new LineError("syntax", source.column, "`equ` has no name before it", "name equ value");
  const value = one(source);
  return (pass) => {
    const known = pass.evaluate(value);
    if (known === undefined) pass.leaveWithoutValue(label.name);
    else pass.define(label.name, known, label.column);
  };
};

/** Directives whose line's label is not an address. */
export const NAMING: ReadonlySet<string> = new Set(["equ", "="]);

const text = (source: DirectiveSource): { text: string; column: number; rest: Cursor } => {
  const at = skipBlank(source.text, source.after);
  const mark = source.text[at];
  if (mark !== '"' && mark !== "'") throw new LineError("syntax", at + 1, "A text in quotes must stand here", '"text"');
  const found = stringAt(source.text, at);
  return { text: found.text, column: at + 1, rest: new Cursor(scan(source.text, found.after, source.rules)) };
};

const TABLE: Readonly<Record<string, (source: DirectiveSource) => Directive>> = {
  cpu(source) {
    const at = skipBlank(source.text, source.after);
    const found = /^[0-9A-Za-z]*/.exec(source.text.slice(at))![0];
    new Cursor(scan(source.text, at + found.length, source.rules)).needEnd();
    return (pass) => pass.useCpu(found, at + 1);
  },
  org(source) {
    const value = one(source);
    return (pass) => pass.moveTo(within(pass, value, 0, 0xffff, "an address"), source.column);
  },
  setdp(source) {
    const value = one(source);
    return (pass) => {
      pass.directPage = within(pass, value, 0, 0xff, "the direct page register");
    };
  },
  align(source) {
    const [step, fill] = oneOrTwo(operandOf(source));
    return (pass) => {
      const size = within(pass, step, 1, 0x10000, "an alignment") || 1;
      pass.fill((size - (pass.here % size)) % size, fill ? byteValue(pass, fill) : 0);
    };
  },
  include(source) {
    const { text: name, column, rest } = text(source);
    rest.needEnd();
    return (pass) => pass.include(name, column);
  },
  assert(source) {
    const cursor = operandOf(source);
    const condition = cursor.expression();
    let sentence = "This does not hold";
    if (cursor.accept(",")) {
      const token: Token = cursor.take();
      if (token.kind !== "string")
        throw new LineError("syntax", token.column, "A text in quotes must stand here", '"text"');
      sentence = token.text;
    }
    cursor.needEnd();
    return (pass) => {
      if (pass.evaluate(condition) === 0) pass.fail(problem("assert", condition.column, sentence));
    };
  },
  layout(source) {
    const cursor = operandOf(source);
    const start = cursor.done() ? undefined : one(source);
    return (pass) => pass.openLayout(start ? within(pass, start, 0, 0xffff, "an address") : 0, source.column);
  },
  endlayout(source) {
    none(source);
    return (pass) => pass.closeLayout(source.column);
  },
  module: (source) => readModule(operandOf(source), source.column),
  modulename: (source) => readModuleName(operandOf(source), source.column),
  endmodule(source) {
    none(source);
    return (pass) => pass.closeModule(source.column);
  },
  end(source) {
    const cursor = operandOf(source);
    const start = cursor.done() ? undefined : one(source);
    return (pass) => pass.end(start && pass.evaluate(start));
  },
  lasthi: (source) => bytesDirective(items(operandOf(source)), true),
  fcc: (source) => bytesDirective(delimited(source), false),
  equ: equate,
  "=": equate,
};

const structure = (source: DirectiveSource): Directive => {
  throw new LineError("structure", source.column, `\`${source.word}\` stands alone on its line, without a label`);
};

const alias = (names: string, directive: (source: DirectiveSource) => Directive): [string, typeof directive][] =>
  names.split(" ").map((name) => [name, directive]);

export const DIRECTIVES: ReadonlyMap<string, (source: DirectiveSource) => Directive> = new Map([
  ...Object.entries(TABLE),
  ...alias("fcb db defb defm", bytes),
  ...alias("fdb dw defw", words),
  ...alias("rmb ds defs", reserve),
  ...alias("if else endif repeat endrepeat", structure),
]);

/** The expression after `if`. */
export function readCondition(source: DirectiveSource): Expression {
  return one(source);
}

/** Count and counter's name after `repeat`. */
export function readRepeat(source: DirectiveSource): { count: Expression; counter?: string } {
  const cursor = operandOf(source);
  const count = cursor.expression();
  if (!cursor.accept(",")) {
    cursor.needEnd();
    return { count };
  }
  const token = cursor.take();
  if (token.kind !== "name" || nameAt(token.text, 0) !== token.text)
    throw new LineError("syntax", token.column, "The counter's name must stand here", "repeat 8, n");
  cursor.needEnd();
  return { count, counter: token.text };
}
