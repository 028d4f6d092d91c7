import type { Token } from "./scan.ts";
import { LineError, type Problem, problem } from "./types.ts";

/**
 * Expressions: 32-bit two's complement. From loose to tight: a leading `<` (low byte) or `>` (high byte) over all that
 * follows; `||`; `&&`; comparisons (1 or 0); `|`; `^`; `&`; shifts; `+ -`; `* / %`; the signs `- + ~ !`; `low( )` and
 * `high( )`, parentheses, numbers, characters, names, `*` or `$` for the address of the line.
 */
export type Expression =
  | { kind: "number"; value: number; column: number }
  | { kind: "name"; name: string; column: number }
  | { kind: "here"; column: number }
  | { kind: "unary"; operator: string; operand: Expression; column: number }
  | { kind: "binary"; operator: string; left: Expression; right: Expression; column: number };

const LEVELS: readonly ReadonlySet<string>[] = [
  ["||"],
  ["&&"],
  ["=", "==", "<>", "!=", "<", "<=", ">", ">="],
  ["|"],
  ["^"],
  ["&"],
  ["<<", ">>"],
  ["+", "-"],
  ["*", "/", "%"],
].map((operators) => new Set(operators));

const MOST_DEPTH = 40;
const MOST_PARTS = 1000;

/** Walks the tokens of one operand. */
export class Cursor {
  readonly tokens: readonly Token[];
  private at = 0;
  private parts = 0;

  constructor(tokens: readonly Token[]) {
    this.tokens = tokens;
  }

  get token(): Token {
    return this.tokens[this.at]!;
  }

  /** The token `ahead` places further on; the end token past the end. */
  peek(ahead = 1): Token {
    return this.tokens[Math.min(this.at + ahead, this.tokens.length - 1)]!;
  }

  take(): Token {
    const token = this.token;
    if (token.kind !== "end") this.at++;
    return token;
  }

  is(operator: string): boolean {
    return this.token.kind === "op" && this.token.text === operator;
  }

  accept(operator: string): boolean {
    const found = this.is(operator);
    if (found) this.at++;
    return found;
  }

  need(operator: string): void {
    if (!this.accept(operator)) this.fail(`a \`${operator}\``);
  }

  /** The next token as a name in capitals, if it is a name. */
  word(ahead = 0): string {
    const token = this.peek(ahead);
    return token.kind === "name" ? token.text.toUpperCase() : "";
  }

  done(): boolean {
    return this.token.kind === "end";
  }

  needEnd(): void {
    if (!this.done()) this.fail("the end of the line or a comment after `;`");
  }

  fail(expected: string): never {
    const { kind, text, column } = this.token;
    const found =
      kind === "end"
        ? "The line ends here"
        : kind === "string"
          ? "This text is not allowed here"
          : `\`${text}\` is not allowed here`;
    throw new LineError("syntax", column, found, expected);
  }

  /** Whether the parenthesis that opens here spans its operand, up to a comma or the end: then it means *the memory at*. */
  spansOperand(): boolean {
    let depth = 0;
    for (let ahead = 0; ; ahead++) {
      const { kind, text } = this.peek(ahead);
      if (kind === "end") return true;
      if (kind !== "op") continue;
      if (text === "(") depth++;
      if (text === ")" && --depth === 0) {
        const after = this.peek(ahead + 1);
        return after.kind === "end" || (after.kind === "op" && after.text === ",");
      }
    }
  }

  expression(depth = 0): Expression {
    const { column } = this.token;
    if (depth > MOST_DEPTH) throw new LineError("limit", column, `The expression is nested deeper than ${MOST_DEPTH}`);
    for (const operator of ["<", ">"])
      if (this.accept(operator)) return { kind: "unary", operator, operand: this.expression(depth + 1), column };
    return this.level(0, depth);
  }

  private level(level: number, depth: number): Expression {
    const operators = LEVELS[level];
    if (!operators) return this.signed(depth);
    let left = this.level(level + 1, depth);
    while (this.token.kind === "op" && operators.has(this.token.text)) {
      const { text: operator, column } = this.take();
      this.count(column);
      left = { kind: "binary", operator, left, right: this.level(level + 1, depth), column: left.column };
    }
    return left;
  }

  private count(column: number): void {
    if (++this.parts > MOST_PARTS)
      throw new LineError("limit", column, `The operand has more than ${MOST_PARTS} operators`);
  }

  private signed(depth: number): Expression {
    const { kind, text, column } = this.token;
    if (kind !== "op" || !"-+~!".includes(text)) return this.primary(depth);
    if (depth > MOST_DEPTH) throw new LineError("limit", column, `The expression is nested deeper than ${MOST_DEPTH}`);
    this.take();
    return { kind: "unary", operator: text, operand: this.signed(depth + 1), column };
  }

  private primary(depth: number): Expression {
    const token = this.token;
    const { column } = token;
    if (token.kind === "number") {
      this.take();
      return { kind: "number", value: token.value, column };
    }
    if (token.kind === "string" && token.text.length === 1) {
      this.take();
      return { kind: "number", value: asciiCode(token.text, 0, column), column };
    }
    if (token.kind === "name") {
      this.take();
      const word = token.text.toLowerCase();
      if ((word === "low" || word === "high") && this.accept("(")) {
        const operand = this.expression(depth + 1);
        this.need(")");
        return { kind: "unary", operator: word === "low" ? "<" : ">", operand, column };
      }
      return { kind: "name", name: token.text, column };
    }
    if (this.accept("*") || this.accept("$")) return { kind: "here", column };
    if (this.accept("(")) {
      const inside = this.expression(depth + 1);
      this.need(")");
      return inside;
    }
    return this.fail("a number, a name or an expression");
  }
}

/** ISO 646 code of a character of a string; `column` is where the string starts. */
export function asciiCode(text: string, index: number, column: number): number {
  const code = text.charCodeAt(index);
  if (code > 0x7f)
    throw new LineError("range", column, "The text has a character outside ISO 646", "its code as a number");
  return code;
}

/** What names and the location counter stand for in this pass. `undefined` where it is not known (yet). */
export interface Values {
  here: number;
  lookup(name: string, column: number): number | undefined;
  fail(error: Problem): void;
}

export function evaluate(expression: Expression, values: Values): number | undefined {
  switch (expression.kind) {
    case "number":
      return expression.value;
    case "here":
      return values.here;
    case "name":
      return values.lookup(expression.name, expression.column);
    case "unary": {
      const operand = evaluate(expression.operand, values);
      return operand === undefined ? undefined : unary(expression.operator, operand);
    }
    case "binary": {
      const left = evaluate(expression.left, values);
      const right = evaluate(expression.right, values);
      if (left === undefined || right === undefined) return undefined;
      if (right === 0 && (expression.operator === "/" || expression.operator === "%")) {
        values.fail(problem("range", expression.right.column, "This divides by zero"));
        return undefined;
      }
      return binary(expression.operator, left, right);
    }
  }
}

function unary(operator: string, value: number): number {
  switch (operator) {
    case "<":
      return value & 0xff;
    case ">":
      return (value >> 8) & 0xff;
    case "-":
      return -value | 0;
    case "~":
      return ~value;
    case "!":
      return value === 0 ? 1 : 0;
    default:
      return value;
  }
}

const OPERATIONS: Readonly<Record<string, (left: number, right: number) => number>> = {
  "||": (left, right) => (left || right ? 1 : 0),
  "&&": (left, right) => (left && right ? 1 : 0),
  "=": (left, right) => (left === right ? 1 : 0),
  "==": (left, right) => (left === right ? 1 : 0),
  "<>": (left, right) => (left !== right ? 1 : 0),
  "!=": (left, right) => (left !== right ? 1 : 0),
  "<": (left, right) => (left < right ? 1 : 0),
  "<=": (left, right) => (left <= right ? 1 : 0),
  ">": (left, right) => (left > right ? 1 : 0),
  ">=": (left, right) => (left >= right ? 1 : 0),
  "|": (left, right) => left | right,
  "^": (left, right) => left ^ right,
  "&": (left, right) => left & right,
  // A shift by 32 or more leaves nothing; the machine's shift would take the count modulo 32.
  "<<": (left, right) => (right < 0 || right > 31 ? 0 : left << right),
  ">>": (left, right) => (right < 0 || right > 31 ? 0 : left >>> right),
  "+": (left, right) => (left + right) | 0,
  "-": (left, right) => (left - right) | 0,
  "*": (left, right) => Math.imul(left, right),
  "/": (left, right) => (left / right) | 0,
  "%": (left, right) => (left % right) | 0,
};

const binary = (operator: string, left: number, right: number): number => OPERATIONS[operator]!(left, right) | 0;
