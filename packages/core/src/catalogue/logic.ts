import { InputError } from "../errors/index.ts";

/** An equation of logic: the outputs of a gate, the select of a chip. */
export type Logic =
  | { op: "and" | "or" | "xor"; of: readonly Logic[] }
  | { op: "not"; of: Logic }
  | { op: "is"; name: string }
  | { op: "const"; value: boolean };

/** Nested deeper or longer than this is no decoder of an 8-bit machine. */
const DEEPEST = 64;
const LONGEST = 4000;

const TOKEN = /\s*(?:(\.\.)|("[^"]*"(?:\.\d+)?|\d*[A-Za-z_]\w*(?:\.\d+)?)|(\$[0-9A-Fa-f]+|\d+)|([!~()&|^=]))/y;
const WORDS: Readonly<Record<string, string>> = { and: "&", or: "|", xor: "^", not: "!" };

interface Token {
  kind: "name" | "number" | "sign";
  text: string;
  at: number;
}

function tokensOf(text: string): Token[] {
  if (text.length > LONGEST) throw new InputError("bad-logic", `This equation is longer than ${LONGEST} characters`);
  const tokens: Token[] = [];
  TOKEN.lastIndex = 0;
  const end = text.trimEnd().length;
  while (TOKEN.lastIndex < end) {
    const at = TOKEN.lastIndex;
    const match = TOKEN.exec(text);
    if (!match) throw new InputError("bad-logic", `“${text.slice(at, at + 10).trim()}” is no part of an equation`);
    const [, dots, name, number, sign] = match;
    const word = name === undefined ? undefined : WORDS[name.toLowerCase()];
    if (dots || sign || word) tokens.push({ kind: "sign", text: dots ?? sign ?? word!, at });
    else if (name) tokens.push({ kind: "name", text: name.replaceAll('"', ""), at });
    else tokens.push({ kind: "number", text: number!, at });
  }
  return tokens;
}

/** The lines of a stretch, the highest first: `A15..A12` is A15, A14, A13, A12. Throws an `InputError`. */
function linesBetween(first: string, last: string): string[] {
  const [, stem, high] = /^([A-Za-z_]+)(\d{1,3})$/.exec(first) ?? [];
  const [, other, low] = /^([A-Za-z_]+)(\d{1,3})$/.exec(last) ?? [];
  if (stem === undefined || stem !== other)
    throw new InputError("bad-lines", `“${first}..${last}” is no stretch of lines; expected something like “A15..A12”`);
  const [from, to] = [Number(high), Number(low)];
  const count = Math.abs(from - to) + 1;
  const top = Math.max(from, to);
  return Array.from({ length: count }, (_, index) => `${stem}${top - index}`);
}

/** Lines as a list: `A15..A12, A3, R/W`. Throws an `InputError`. */
export function linesOf(text: string): string[] {
  return text
    .split(",")
    .map((each) => each.trim())
    .filter((each) => each !== "")
    .flatMap((each) => {
      const [first, last, more] = each.split("..");
      if (more !== undefined) throw new InputError("bad-lines", `“${each}” is no stretch of lines`);
      return last === undefined ? [first!] : linesBetween(first!.trim(), last.trim());
    });
}

/**
 * Reads an equation: names, `0`, `1`, `not` or `!`, `and` or `&`, `xor` or `^`, `or` or `|`, brackets; `A15..A12 = $E`
 * and `bank = 3` compare lines with a number. The strongest binding stands first in this list. `bits` gives the names of
 * the bits of a name that stands for several, the highest first. Throws an `InputError`.
 */
export function parseLogic(
  text: string,
  bits: (name: string) => readonly string[] | undefined = () => undefined,
): Logic {
  const tokens = tokensOf(text);
  let next = 0;
  let depth = 0;
  const wrong = (why: string): never => {
    throw new InputError("bad-logic", `“${text}” is no equation: ${why}`);
  };
  const sign = (which: string): boolean => {
    const found = tokens[next]?.kind === "sign" && tokens[next]?.text === which;
    if (found) next++;
    return found;
  };
  const equals = (names: readonly string[]): Logic => {
    const token = tokens[next++];
    if (token?.kind !== "number") return wrong("a number should stand behind “=”");
    const value = token.text.startsWith("$") ? Number.parseInt(token.text.slice(1), 16) : Number(token.text);
    if (value >= 2 ** names.length) return wrong(`${token.text} does not fit ${names.length} bits`);
    const of = names.map((name, index): Logic => {
      const set = Math.floor(value / 2 ** (names.length - 1 - index)) % 2 === 1;
      return set ? { op: "is", name } : { op: "not", of: { op: "is", name } };
    });
    return of.length === 1 ? of[0]! : { op: "and", of };
  };
  const primary = (): Logic => {
    if (++depth > DEEPEST) return wrong("it is nested too deep");
    try {
      if (sign("!") || sign("~")) return { op: "not", of: primary() };
      if (sign("(")) {
        const inside = either();
        if (!sign(")")) return wrong("a bracket is not closed");
        return inside;
      }
      const token = tokens[next++];
      if (!token) return wrong("it ends too early");
      if (token.kind === "number") {
        if (token.text !== "0" && token.text !== "1") return wrong(`“${token.text}” stands where a name belongs`);
        return { op: "const", value: token.text === "1" };
      }
      if (token.kind === "sign") return wrong(`“${token.text}” stands where a name belongs`);
      let names: readonly string[] = bits(token.text) ?? [token.text];
      if (sign("..")) {
        const last = tokens[next++];
        if (last?.kind !== "name") return wrong("a stretch of lines is written like “A15..A12”");
        names = linesBetween(token.text, last.text);
      }
      if (sign("=")) return equals(names);
      if (names.length > 1) return wrong(`“${token.text}” has ${names.length} bits; compare it with a number: “= 3”`);
      return { op: "is", name: names[0]! };
    } finally {
      depth--;
    }
  };
  const chain = (op: "and" | "xor" | "or", with_: string, part: () => Logic): Logic => {
    const of = [part()];
    while (sign(with_)) of.push(part());
    return of.length === 1 ? of[0]! : { op, of };
  };
  const all = () => chain("and", "&", primary);
  const odd = () => chain("xor", "^", all);
  const either = (): Logic => chain("or", "|", odd);
  const logic = either();
  if (next < tokens.length) return wrong(`“${tokens[next]!.text}” stands where it should end`);
  return logic;
}

/** Names that an equation uses, each once. */
export function namesIn(logic: Logic, into = new Set<string>()): Set<string> {
  if (logic.op === "is") into.add(logic.name);
  else if (logic.op === "not") namesIn(logic.of, into);
  else if (logic.op !== "const") for (const each of logic.of) namesIn(each, into);
  return into;
}
