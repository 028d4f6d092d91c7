import type { Cpu, Site } from "./cpu.ts";
import { CPU_6502 } from "./cpu6502.ts";
import { CPU_6809 } from "./cpu6809.ts";
import { CPU_Z80 } from "./cpuZ80.ts";
import { type DirectiveSource, NAMING, readCondition, readRepeat } from "./directives.ts";
import { type Expression, evaluate, type Values } from "./expression.ts";
import { sealModule } from "./module.ts";
import { Output } from "./output.ts";
import { within } from "./place.ts";
import type { OpenModule, Placer } from "./placer.ts";
import { nameAt, skipBlank } from "./scan.ts";
import type { Block, Conditional, Repeat, SourceFile, SourceLine } from "./source.ts";
import { readStatement, type Statement } from "./statement.ts";
import type { Symbols } from "./symbols.ts";
import { type Cycles, LineError, type Problem, problem } from "./types.ts";

/** One walk over the source: gives every name its value and places every byte, with the sizes known so far. */

const CPUS: readonly Cpu[] = [CPU_6809, CPU_6502, CPU_Z80];
const CPU_CHOICE = "6809, 6502 or Z80";

/** Bounds that keep any text from running away. */
/** Work of a pass: one for each line and one more for every 16 characters. */
const MOST_WORK = 250_000;
const MOST_TURNS = 200_000;
const MOST_INCLUDES = 1000;
const MOST_INCLUDE_DEPTH = 16;
const ADDRESSES = 0x10000;

/** What a line placed: a stretch of the pass's output, which `endmodule` may still complete. */
export interface Placed {
  line: SourceLine;
  address?: number;
  from: number;
  to: number;
  cycles?: Cycles;
}

/** What holds from pass to pass. */
export interface Memory {
  /** A file by name; `undefined` where there is none. */
  file(name: string): SourceFile | undefined;
  /** Reads a line once for each CPU. */
  statements: Map<SourceLine, { cpu: Cpu | undefined; statement: Statement }>;
  /** Size classes of each line's instruction, one for each time that it is placed in a pass. */
  sizes: Map<SourceLine, number[]>;
  /** Set when shortest forms have been tried for long enough: everything takes its longest. */
  settle: boolean;
}

/** Ends the pass: `end`, or a bound was reached. */
class Stop extends Error {}

const LONGEST = 3;

export class Pass implements Site, Placer {
  readonly symbols: Symbols;
  errors: { line: SourceLine; error: Problem }[] = [];
  readonly placed: Placed[] = [];
  readonly output = new Output();
  /** Location counter. */
  here = 0;
  /** Location counter where the line began: what `*` and `$` stand for. */
  lineStart = 0;
  directPage = 0;
  cpu: Cpu | undefined;
  module: OpenModule | undefined;
  start: number | undefined;
  grown = false;
  overrun = false;
  private readonly memory: Memory;
  private readonly visits = new Map<SourceLine, number>();
  private line!: SourceLine;
  private layout: { back: number; column: number; line: SourceLine } | undefined;
  private moduleLine: SourceLine | undefined;
  work = 0;
  private repeats = 0;
  private includes = 0;
  private depth = 0;

  constructor(memory: Memory, symbols: Symbols) {
    this.memory = memory;
    this.symbols = symbols;
  }

  run(file: SourceFile): void {
    try {
      this.file(file);
    } catch (error) {
      if (!(error instanceof Stop)) throw error;
    }
    const unclosed = (line: SourceLine, column: number, word: string) => {
      this.line = line;
      this.fail(
        problem("structure", column, `This \`${word}\` has no \`end${word}\` after it`, `a line \`end${word}\``),
      );
    };
    if (this.layout) unclosed(this.layout.line, this.layout.column, "layout");
    if (this.module) unclosed(this.moduleLine!, this.module.column, "module");
  }

  private file(file: SourceFile): void {
    for (const { line, error } of file.errors) this.errors.push({ line, error });
    this.block(file.block);
  }

  private block(block: Block): void {
    for (const node of block) {
      if (node.kind === "line") this.place(node);
      else if (node.kind === "if") this.conditional(node);
      else this.repeat(node);
    }
  }

  private conditional(node: Conditional): void {
    const condition = this.structure(node.line, (source) => this.evaluate(readCondition(source)));
    this.list(node.line);
    if (condition) this.block(node.body);
    else this.skip(node.body);
    this.list(node.elseLine);
    if (condition) this.skip(node.otherwise);
    else this.block(node.otherwise);
    this.list(node.endLine);
  }

  /** Puts lines that place nothing into the listing. */
  private list(line: SourceLine | undefined): void {
    if (!line) return;
    this.step(line);
    this.placed.push({ line, from: this.output.length, to: this.output.length });
  }

  private skip(block: Block): void {
    for (const node of block) {
      if (node.kind === "line") this.list(node);
      else {
        this.list(node.line);
        this.skip(node.body);
        if (node.kind === "if") {
          this.list(node.elseLine);
          this.skip(node.otherwise);
        }
        this.list(node.endLine);
      }
    }
  }

  private repeat(node: Repeat): void {
    const found = this.structure(node.line, (source) => {
      const { count, counter } = readRepeat(source);
      return { times: within(this, count, 0, MOST_TURNS, "a count"), counter };
    });
    this.list(node.line);
    if (!found) return;
    const scope = ++this.repeats;
    for (let i = 0; i < found.times; i++) {
      this.step(node.line);
      this.symbols.openScope(`${scope}@${i}`);
      if (found.counter) this.symbols.count(found.counter, i);
      this.block(node.body);
      this.symbols.closeScope();
    }
    this.list(node.endLine);
  }

  /** Reads the operand of an `if` or `repeat` line. */
  private structure<T>(line: SourceLine, read: (source: DirectiveSource) => T): T | undefined {
    this.step(line);
    this.lineStart = this.here;
    const { text } = line;
    const at = skipBlank(text, 0);
    const word = nameAt(text, at);
    try {
      const rules = { quotedStrings: this.cpu?.name === "Z80" };
      return read({ text, after: at + word.length, rules, column: at + 1, word, label: undefined });
    } catch (error) {
      if (!(error instanceof LineError)) throw error;
      this.fail(error);
      return undefined;
    }
  }

  private step(line: SourceLine): void {
    this.line = line;
    this.work += 1 + (line.text.length >> 4);
    if (this.work <= MOST_WORK) return;
    this.overrun = true;
    this.fail(problem("limit", 1, `The source is too long with its repeats and includes`));
    throw new Stop();
  }

  private place(line: SourceLine): void {
    this.step(line);
    const statement = this.statement(line);
    const from = this.output.length;
    const index = this.placed.length;
    const placed: Placed = { line, from, to: from };
    this.placed.push(placed);
    const before = this.here;
    this.lineStart = before;
    const { label, instruction, directive } = statement;
    if (label && !(directive && NAMING.has(operationWord(line, statement)))) {
      this.define(label.name, this.here, label.column);
      placed.address = this.here;
    }
    if (statement.error) this.fail(statement.error);
    try {
      if (instruction) {
        const { bytes, cycles } = instruction(this);
        placed.address = this.here;
        placed.cycles = cycles;
        this.emit(bytes);
      } else directive?.(this);
    } catch (error) {
      if (!(error instanceof LineError)) throw error;
      this.fail(error);
    }
    // An include has placed lines of its own by now.
    if (this.placed.length === index + 1) placed.to = this.output.length;
    if (placed.to > from || this.here !== before) placed.address ??= this.lineStart;
  }

  private statement(line: SourceLine): Statement {
    const kept = this.memory.statements.get(line);
    if (kept && kept.cpu === this.cpu) return kept.statement;
    const statement = readStatement(line, this.cpu);
    this.memory.statements.set(line, { cpu: this.cpu, statement });
    return statement;
  }

  // What expressions and instructions ask for

  get address(): number {
    return this.here;
  }

  lookup(name: string, column: number): number | undefined {
    const value = this.symbols.lookup(name);
    if (value === undefined) {
      const sentence = this.symbols.withoutValue.has(name)
        ? `\`${name}\` has no value: it is made from a name that has none, or from itself`
        : `\`${name}\` is defined nowhere`;
      this.fail(problem("undefined", column, sentence, "a label or a name given with `equ`"));
    }
    return value;
  }

  evaluate(expression: Expression): number | undefined {
    return evaluate(expression, this.values);
  }

  private readonly values: Values = (() => {
    const pass = this;
    return {
      get here() {
        return pass.lineStart;
      },
      lookup: (name, column) => pass.lookup(name, column),
      fail: (error) => pass.fail(error),
    };
  })();

  size(needed: number): number {
    const visit = this.visits.get(this.line) ?? 0;
    this.visits.set(this.line, visit + 1);
    let sizes = this.memory.sizes.get(this.line);
    if (!sizes) {
      sizes = [];
      this.memory.sizes.set(this.line, sizes);
    }
    const before = sizes[visit] ?? -1;
    const now = Math.max(before, this.memory.settle ? LONGEST : needed);
    if (before !== now) {
      this.grown ||= before >= 0;
      sizes[visit] = now;
    }
    return now;
  }

  fail(error: Problem): void {
    this.errors.push({ line: this.line, error });
  }

  // What directives do

  define(name: string, value: number, column: number): void {
    const before = this.symbols.define(name, value, this.line);
    if (!before) return;
    const where = before === "given" ? "before the first line" : `on line ${before.number} of ${before.file}`;
    this.fail(problem("twice", column, `\`${name}\` is defined already, ${where}`, "a name of its own"));
  }

  leaveWithoutValue(name: string): void {
    this.symbols.withoutValue.add(name);
  }

  emit(bytes: readonly number[]): void {
    if (!this.room(bytes.length)) return;
    if (!this.layout) this.output.add(this.here, bytes, this.line);
    this.here += bytes.length;
  }

  fill(count: number, byte: number): void {
    if (!this.room(count)) return;
    if (!this.layout) this.output.fill(this.here, count, byte, this.line);
    this.here += count;
  }

  reserve(count: number): void {
    if (this.module && !this.layout) this.fill(count, 0);
    else if (this.room(count)) this.here += count;
  }

  /** False, with an error, where `count` bytes run past the end of the address space. */
  private room(count: number): boolean {
    if (this.here + count > ADDRESSES) {
      this.fail(problem("range", 1, "This runs past the end of the address space, $FFFF"));
      return false;
    }
    // Sources that place the same addresses again and again end here.
    if (this.output.length + count > MOST_OUTPUT) {
      this.overrun = true;
      this.fail(problem("limit", 1, `The source makes more than ${MOST_OUTPUT} bytes`));
      throw new Stop();
    }
    return true;
  }

  moveTo(address: number, column: number): void {
    if (this.module && !this.layout)
      throw new LineError("structure", column, "A module is one piece: `org` cannot stand inside it");
    this.here = address;
    this.lineStart = address;
  }

  useCpu(name: string, column: number): void {
    const cpu = CPUS.find(
      (candidate) => candidate.name.toLowerCase() === name.toLowerCase().replace(/^(6809)e$/, "$1"),
    );
    if (!cpu) throw new LineError("operand", column, `\`${name}\` is no CPU that is known here`, CPU_CHOICE);
    this.cpu = cpu;
  }

  include(name: string, column: number): void {
    if (this.depth >= MOST_INCLUDE_DEPTH)
      throw new LineError("include", column, `Files include one another deeper than ${MOST_INCLUDE_DEPTH}`);
    if (++this.includes > MOST_INCLUDES)
      throw new LineError("include", column, `More than ${MOST_INCLUDES} files are included`);
    const file = this.memory.file(name);
    if (!file) throw new LineError("include", column, `There is no file \`${name}\` to include`);
    const { line } = this;
    this.depth++;
    this.file(file);
    this.depth--;
    this.line = line;
  }

  openLayout(start: number, column: number): void {
    if (this.layout) throw new LineError("structure", column, "A layout cannot stand inside another");
    this.layout = { back: this.here, column, line: this.line };
    this.here = start;
    this.lineStart = start;
  }

  closeLayout(column: number): void {
    if (!this.layout) throw new LineError("structure", column, "This `endlayout` has no `layout` before it");
    this.here = this.layout.back;
    this.lineStart = this.here;
    this.layout = undefined;
  }

  openModule(column: number): void {
    if (this.module || this.layout)
      throw new LineError(
        "structure",
        column,
        `A module cannot stand inside another ${this.layout ? "layout" : "module"}`,
      );
    this.module = { address: this.here, output: this.output.length, column };
    this.moduleLine = this.line;
  }

  closeModule(column: number): void {
    const { module } = this;
    if (!module || this.layout) throw new LineError("structure", column, "This `endmodule` has no `module` before it");
    this.module = undefined;
    if (module.name === undefined)
      throw new LineError("structure", column, "The module has no name", '`module "name", …` or `modulename "name"`');
    this.emit(sealModule(this.output.bytes.subarray(module.output, this.output.length), module.name));
  }

  end(start: number | undefined): void {
    this.start = start;
    const { file, number } = this.line;
    // What stands behind `end` is no source: its `if` may be the first word of a sentence.
    this.errors = this.errors.filter(({ line }) => line.file !== file || line.number <= number);
    throw new Stop();
  }
}

const MOST_OUTPUT = 1 << 20;

const operationWord = (line: SourceLine, statement: Statement): string => {
  const at = statement.column - 1;
  return line.text[at] === "=" ? "=" : nameAt(line.text, at).toLowerCase();
};
