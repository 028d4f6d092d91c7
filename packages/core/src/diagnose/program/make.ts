import { type Assembly, assemble } from "../../assemble/index.ts";
import type { Bench } from "../../bench/index.ts";
import { crc16 } from "../../bytes/index.ts";
import { BugError, InputError } from "../../errors/index.ts";
import { type ProgramOptions, planOf, type Share } from "../plan/make.ts";
import type { Plan } from "../plan/types.ts";
import type { TestProgram } from "../types.ts";
import { Dialect6502 } from "./6502/dialect.ts";
import { Dialect6809 } from "./6809/dialect.ts";
import type { Dialect } from "./dialect.ts";
import { DialectZ80 } from "./z80/dialect.ts";

/** Turns after which a program in memory has found the length of the gap that it leaves for itself. */
const MOST_TURNS = 8;
const PAGE = 256;

const DIALECTS: Readonly<Record<Plan["cpu"], new (plan: Plan) => Dialect>> = {
  "6809": Dialect6809,
  "6502": Dialect6502,
  Z80: DialectZ80,
};

/**
 * Makes the test program of a bench. Throws an `InputError` that says what the bench lacks for it, or that not all tests have room
 * in one program (`no-room`).
 */
export const makeProgram = (bench: Bench, options: ProgramOptions = {}): TestProgram =>
  made(bench, options, { first: 0, count: Number.POSITIVE_INFINITY });

/** Makes as many programs as the tests need, each with as many of them as have room in its place. */
export function makePrograms(bench: Bench, options: ProgramOptions = {}): TestProgram[] {
  const { all } = planOf(bench, options, PAGE, { first: 0, count: 0 });
  const programs: TestProgram[] = [];
  for (let first = 0; first < all; ) {
    let count = all - first;
    let program: TestProgram | undefined;
    while (!program)
      try {
        program = made(bench, options, { first, count });
      } catch (error) {
        if (!(error instanceof InputError) || error.code !== "no-room" || count === 1) throw error;
        count--;
      }
    programs.push(program);
    first += count;
  }
  return programs;
}

function made(bench: Bench, options: ProgramOptions, share: Share): TestProgram {
  let length = PAGE;
  for (let turn = 0; turn < MOST_TURNS; turn++) {
    const plan = planOf(bench, options, length, share);
    const { source, id, assembly } = written(plan);
    const room = plan.code.to + 1 - plan.code.from;
    // Too long for its place, or run into what comes behind it.
    if (assembly.errors.some((each) => ["assert", "twice", "range"].includes(each.code)))
      throw new InputError(
        "no-room",
        `The program has no room in the ${room} bytes from $${plan.code.from.toString(16).toUpperCase()} on: choose fewer tests.`,
      );
    const [error] = assembly.errors;
    if (error) throw new BugError(`test program, line ${error.line}: ${error.sentence}\n${error.caret}`);
    const end = (assembly.symbols.get("code_end") ?? plan.code.from) - plan.code.from;
    const needed = Math.ceil(end / PAGE) * PAGE;
    if (plan.place === "memory" && needed > length) {
      length = needed;
      continue;
    }
    return {
      cpu: plan.cpu,
      place: plan.place,
      origin: plan.code.from,
      entry: assembly.symbols.get("start") ?? plan.code.from,
      source,
      assembly,
      segments: assembly.segments,
      symbols: assembly.symbols,
      tests: plan.tests,
      voice: plan.voice,
      id,
      notes: plan.notes,
    };
  }
  throw new BugError("test program: its length does not come to rest");
}

/** The source with its id, the CRC of the source without one, so that another program has another; and with its own sum. */
function written(plan: Plan) {
  const dialect = DIALECTS[plan.cpu];
  const blank = new dialect(plan).write("0000");
  const id = crc16(Uint8Array.from(blank, (each) => each.charCodeAt(0) & 0xff))
    .toString(16)
    .toUpperCase()
    .padStart(4, "0");
  const first = assemble(new dialect(plan).write(id), { file: FILE });
  // The sum does not depend on the sum that is written in: its complement stands beside it.
  const source = new dialect(plan).write(id, sumOf(first, plan.code.from));
  return { id, source, assembly: assemble(source, { file: FILE }) };
}

const FILE = "tests.asm";

/** Sum of the program's bytes from its origin to `code_end`, 16 bits. */
function sumOf({ segments, symbols }: Assembly, from: number): number {
  const end = symbols.get("code_end") ?? from;
  let sum = 0;
  for (const { address, bytes } of segments)
    for (const [index, byte] of bytes.entries())
      if (address + index >= from && address + index < end) sum = (sum + byte) & 0xffff;
  return sum;
}
