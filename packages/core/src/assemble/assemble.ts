import { joinSegments, type Segment } from "../bytes/index.ts";
import type { Stretch } from "./output.ts";
import { type Memory, Pass } from "./pass.ts";
import { readSource, type SourceFile, type SourceLine } from "./source.ts";
import { Symbols } from "./symbols.ts";
import {
  type AssembleOptions,
  type Assembly,
  type ListedLine,
  type Problem,
  problem,
  type SourceIssue,
} from "./types.ts";

/** From this pass on everything takes its longest form, so that only names that define themselves in a circle still move. */
const SETTLE_PASS = 12;
const MOST_PASSES = 20;
/** Of all passes together, in the unit of `Pass.work`: a source that does not come to rest ends sooner the longer it is. */
const MOST_WORK_IN_ALL = 1_500_000;
const MOST_ERRORS = 500;

/**
 * Assembles a source for the CPU that its `cpu` line names. Never throws on any text, and always ends: passes, lines and
 * bytes are bounded. Short forms (direct, short offsets) are tried first and grow where they must.
 */
export function assemble(source: string, options: AssembleOptions = {}): Assembly {
  const main = readSource(source, options.file ?? "source");
  const files = new Map<string, SourceFile | undefined>();
  const memory: Memory = {
    file(name) {
      if (!files.has(name)) {
        const text = options.include?.(name);
        files.set(name, text === undefined ? undefined : readSource(text, name));
      }
      return files.get(name);
    },
    statements: new Map(),
    sizes: new Map(),
    settle: false,
  };
  let before: ReadonlyMap<string, number> = new Map();
  const withoutValue = new Set<string>();
  let work = 0;
  for (let passes = 1; ; passes++) {
    memory.settle = passes >= SETTLE_PASS;
    const pass = new Pass(memory, new Symbols(before, options.defines ?? {}, withoutValue));
    pass.run(main);
    work += pass.work;
    // A first pass with errors is followed by another, which knows all names and so tells them rightly.
    const settled = pass.symbols.settled() && !pass.grown && (passes > 1 || !pass.errors.length);
    if (settled || pass.overrun || passes === MOST_PASSES || work > MOST_WORK_IN_ALL) {
      if (!settled && !pass.overrun) unsettledError(pass);
      return assembly(pass, passes);
    }
    before = pass.symbols.values;
  }
}

function unsettledError(pass: Pass): void {
  const name = pass.symbols.unsettled() ?? "";
  const line = pass.symbols.place(name) ?? pass.placed.at(-1)?.line;
  const error = problem(
    "limit",
    1,
    `\`${name}\` does not come to rest: it depends on itself`,
    "a value that does not use its own name",
  );
  if (line) pass.errors.push({ line, error });
}

function assembly(pass: Pass, passes: number): Assembly {
  overlaps(pass);
  const listing = pass.placed.map(({ line, address, from, to, cycles }): ListedLine => {
    const listed: ListedLine = {
      file: line.file,
      line: line.number,
      source: line.text,
      bytes: from === to ? NOTHING : pass.output.bytes.subarray(from, to),
    };
    if (address !== undefined) listed.address = address;
    if (cycles) listed.cycles = cycles;
    return listed;
  });
  const result: Assembly = {
    segments: joinSegments(
      sorted(pass.output.stretches).map(
        ({ address, from, to }): Segment => ({ address, bytes: pass.output.bytes.slice(from, to) }),
      ),
    ),
    symbols: pass.symbols.values,
    listing,
    errors: issues(pass.errors),
    passes,
  };
  if (pass.cpu) result.cpu = pass.cpu.name;
  if (pass.start !== undefined) result.start = pass.start & 0xffff;
  return result;
}

const sorted = (stretches: readonly Stretch[]): Stretch[] => [...stretches].sort((a, b) => a.address - b.address);

function overlaps(pass: Pass): void {
  let end = 0;
  let before: Stretch | undefined;
  for (const stretch of sorted(pass.output.stretches)) {
    if (before && stretch.address < end) {
      const [early, late] = before.from < stretch.from ? [before, stretch] : [stretch, before];
      const sentence = `Bytes from here on fall on those placed from line ${early.line.number} of ${early.line.file} on`;
      pass.errors.push({ line: late.line, error: problem("twice", 1, sentence, "an `org` of its own") });
    }
    const stretchEnd = stretch.address + stretch.to - stretch.from;
    if (stretchEnd > end) {
      end = stretchEnd;
      before = stretch;
    }
  }
}

/** File by file, in order of lines, each once. */
function issues(errors: readonly { line: SourceLine; error: Problem }[]): SourceIssue[] {
  const seen = new Set<string>();
  const found: SourceIssue[] = [];
  for (const { line, error } of errors) {
    const key = `${line.file}\n${line.number}\n${error.column}\n${error.message}`;
    if (seen.has(key)) continue;
    seen.add(key);
    if (found.length === MOST_ERRORS) break;
    const issue: SourceIssue = {
      code: error.code,
      file: line.file,
      line: line.number,
      column: Math.max(1, error.column),
      sentence: error.message,
      caret: caret(line.text, Math.max(1, error.column)),
    };
    if (error.expected) issue.expected = error.expected;
    found.push(issue);
  }
  const files = [...new Set(found.map(({ file }) => file))];
  const order = new Map(files.map((file, i) => [file, i]));
  return found.sort((a, b) => order.get(a.file)! - order.get(b.file)! || a.line - b.line || a.column - b.column);
}

const NOTHING = new Uint8Array();
const WIDEST = 120;

/** The line and a caret under the column; a long line is cut round it. Control characters and tabs become blanks. */
function caret(text: string, column: number): string {
  const from = column > WIDEST - 20 ? column - WIDEST / 2 : 0;
  const shown = text
    .slice(from, from + WIDEST)
    .replace(/[\u0000-\u001f\u007f-\u009f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g, " ");
  return `${shown.trimEnd()}\n${" ".repeat(column - 1 - from)}^`;
}
