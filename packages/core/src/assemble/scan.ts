import { LineError } from "./types.ts";

/** One line of source into tokens. Columns count from 1. */

export type Token =
  | { kind: "number"; value: number; column: number; text: string }
  | { kind: "name"; column: number; text: string }
  | { kind: "string"; column: number; text: string }
  | { kind: "op"; column: number; text: string }
  | { kind: "end"; column: number; text: string };

const NAME = /[A-Za-z_.][A-Za-z0-9_.]*/y;
const BLANK = /[ \t\r\f\v\u00a0]*/y;
const OPERATOR = /<<|>>|<=|>=|<>|==|!=|&&|\|\||[-+*/%&|^~!<>=()[\],#:@$]/y;

/** Notations of a number, the longest first. Group 1 holds the digits. */
const NUMBERS: readonly [RegExp, number][] = [
  [/0[xX]([0-9A-Fa-f]+)(?![0-9A-Za-z_])/y, 16],
  [/\$([0-9A-Fa-f]+)(?![0-9A-Za-z_])/y, 16],
  [/@([0-7]+)(?![0-9A-Za-z_])/y, 8],
  [/([0-9][0-9A-Fa-f]*)[hH](?![0-9A-Za-z_])/y, 16],
  [/([01]+)[bB](?![0-9A-Za-z_])/y, 2],
  [/([0-7]+)[oOqQ](?![0-9A-Za-z_])/y, 8],
  [/([0-9]+)(?![0-9A-Za-z_])/y, 10],
];
const BINARY = /%([01]+)(?![0-9A-Za-z_])/y;

/** Which scanning rules hold: on the Z80 `'…'` is a string and `AF'` a name; elsewhere `'A` needs no closing quote. */
export interface ScanRules {
  quotedStrings: boolean;
}

const match = (pattern: RegExp, text: string, at: number): RegExpExecArray | null => {
  pattern.lastIndex = at;
  return pattern.exec(text);
};

/** Index of the first character at or after `at` that is not blank. */
export const skipBlank = (text: string, at: number): number => {
  match(BLANK, text, at);
  return BLANK.lastIndex;
};

/** The name at `at`, or the empty string. */
export const nameAt = (text: string, at: number): string => match(NAME, text, at)?.[0] ?? "";

/** Reads a delimited string that starts at `at`; the delimiter twice stands for itself. Returns the text and the index after it. */
export function stringAt(text: string, at: number): { text: string; after: number } {
  const delimiter = text[at]!;
  let out = "";
  for (let i = at + 1; i < text.length; i++) {
    if (text[i] !== delimiter) out += text[i];
    else if (text[i + 1] === delimiter) out += text[i++];
    else return { text: out, after: i + 1 };
  }
  throw new LineError("syntax", at + 1, "The text that starts here is not closed", `a ${delimiter} at its end`);
}

function numberAt(text: string, at: number, column: number): { token: Token; after: number } | undefined {
  for (const [pattern, radix] of NUMBERS) {
    const found = match(pattern, text, at);
    if (!found) continue;
    return number(found, radix, at, column);
  }
  return undefined;
}

function number(found: RegExpExecArray, radix: number, at: number, column: number): { token: Token; after: number } {
  const value = Number.parseInt(found[1]!, radix);
  if (value > 0xffff_ffff) throw new LineError("range", column, "This number needs more than 32 bits");
  return { token: { kind: "number", value: value | 0, column, text: found[0] }, after: at + found[0].length };
}

/** Tokens of `text` from index `from` up to a comment or the end of the line. The last token is always `end`. */
export function scan(text: string, from: number, rules: ScanRules): Token[] {
  const tokens: Token[] = [];
  let at = skipBlank(text, from);
  let valueBefore = false;
  while (at < text.length && text[at] !== ";") {
    const column = at + 1;
    const character = text[at]!;
    let found: { token: Token; after: number } | undefined;
    const binary = character === "%" && !valueBefore ? match(BINARY, text, at) : null;
    if (binary) found = number(binary, 2, at, column);
    else if (/[0-9$@]/.test(character)) found = numberAt(text, at, column);
    else if (character === '"') found = quoted(text, at);
    else if (character === "'") found = apostrophe(text, at, rules);
    else {
      const name = nameAt(text, at);
      if (name) {
        const shadow = rules.quotedStrings && /^af$/i.test(name) && text[at + 2] === "'";
        const whole = shadow ? `${name}'` : name;
        found = { token: { kind: "name", column, text: whole }, after: at + whole.length };
      }
    }
    if (!found) {
      const operator = match(OPERATOR, text, at)?.[0];
      if (!operator)
        throw /[0-9]/.test(character)
          ? new LineError("syntax", column, "This is not a number", "17, $1F, 0x1F, 1Fh, %1010, 1010b, @17 or 17q")
          : new LineError("syntax", column, "This character has no meaning here");
      found = { token: { kind: "op", column, text: operator }, after: at + operator.length };
    }
    tokens.push(found.token);
    const { kind, text: spelled } = found.token;
    valueBefore =
      kind !== "op" || spelled === ")" || spelled === "]" || spelled === "$" || (spelled === "*" && !valueBefore);
    at = skipBlank(text, found.after);
  }
  tokens.push({ kind: "end", column: Math.min(at, text.length) + 1, text: "" });
  return tokens;
}

function quoted(text: string, at: number): { token: Token; after: number } {
  const { text: inside, after } = stringAt(text, at);
  return { token: { kind: "string", column: at + 1, text: inside }, after };
}

function apostrophe(text: string, at: number, rules: ScanRules): { token: Token; after: number } {
  const column = at + 1;
  const closed = text[at + 2] === "'";
  if (rules.quotedStrings && !closed) return quoted(text, at);
  if (at + 1 >= text.length) throw new LineError("syntax", column, "A character must follow the apostrophe", "'A'");
  return { token: { kind: "string", column, text: text[at + 1]! }, after: at + (closed ? 3 : 2) };
}
