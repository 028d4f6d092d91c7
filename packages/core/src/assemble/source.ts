import { type Problem, problem } from "./types.ts";

/** The text of a file as a tree: lines, conditionals, repeats. What a line says is read later, by the CPU in force then. */

export interface SourceLine {
  kind: "line";
  file: string;
  /** From 1. */
  number: number;
  text: string;
}

export interface Conditional {
  kind: "if";
  line: SourceLine;
  body: Block;
  otherwise: Block;
  elseLine?: SourceLine;
  endLine?: SourceLine;
}

export interface Repeat {
  kind: "repeat";
  line: SourceLine;
  body: Block;
  endLine?: SourceLine;
}

type SourceNode = SourceLine | Conditional | Repeat;
export type Block = SourceNode[];

export interface SourceFile {
  block: Block;
  /** `else`, `endif` and `endrepeat` without their opening, and openings without their end. */
  errors: { line: SourceLine; error: Problem }[];
}

const STRUCTURE = /^\s*(if|else|endif|repeat|endrepeat)(?![\w.:])/i;
const MOST_NESTED = 32;

export function readSource(text: string, file: string): SourceFile {
  const block: Block = [];
  const errors: SourceFile["errors"] = [];
  /** Innermost last. `into` is where lines go now. */
  const open: { node: Conditional | Repeat; into: Block }[] = [];
  // Some editors put a byte order mark before the first line.
  const lines = text.replace(/^\ufeff/, "").split(/\r\n|\r|\n/);
  lines.forEach((lineText, index) => {
    const line: SourceLine = { kind: "line", file, number: index + 1, text: lineText };
    const innermost = open.at(-1);
    const into = innermost?.into ?? block;
    const found = STRUCTURE.exec(lineText);
    const word = found?.[1]?.toLowerCase();
    const wrong = (sentence: string) =>
      errors.push({ line, error: problem("structure", lineText.search(/\S/) + 1, sentence) });
    switch (word) {
      case "if":
      case "repeat": {
        if (open.length >= MOST_NESTED) wrong(`Conditionals and repeats are nested deeper than ${MOST_NESTED}`);
        const body: Block = [];
        const node: Conditional | Repeat =
          word === "if" ? { kind: "if", line, body, otherwise: [] } : { kind: "repeat", line, body };
        // A block nested too deep is read to its end, so that its end matches, and then left out.
        if (open.length < MOST_NESTED) into.push(node);
        open.push({ node, into: body });
        break;
      }
      case "else":
        if (innermost?.node.kind !== "if" || innermost.node.elseLine) wrong("This `else` has no `if` before it");
        else {
          innermost.node.elseLine = line;
          innermost.into = innermost.node.otherwise;
        }
        break;
      case "endif":
        if (innermost?.node.kind !== "if") wrong("This `endif` has no `if` before it");
        else open.pop()!.node.endLine = line;
        break;
      case "endrepeat":
        if (innermost?.node.kind !== "repeat") wrong("This `endrepeat` has no `repeat` before it");
        else open.pop()!.node.endLine = line;
        break;
      default:
        into.push(line);
    }
  });
  for (const { node } of open) {
    const end = node.kind === "if" ? "endif" : "endrepeat";
    const column = node.line.text.search(/\S/) + 1;
    errors.push({
      line: node.line,
      error: problem("structure", column, `This \`${node.kind}\` has no \`${end}\` after it`, `a line \`${end}\``),
    });
  }
  return { block, errors };
}
