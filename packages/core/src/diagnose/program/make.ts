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
export function makeProgram(bench: Bench, options: ProgramOptions = {}): TestProgram {
  const found = made(bench, options, { first: 0, count: Number.POSITIVE_INFINITY });
  if ("origin" in found) return found;
  throw noRoom(found);
}

/** Makes as many programs as the tests need, each with as many of them as have room in its place. */
export function makePrograms(bench: Bench, options: ProgramOptions = {}): TestProgram[] {
  const { all } = planOf(bench, options, PAGE, { first: 0, count: 0 });
  const programs: TestProgram[] = [];
  for (let first = 0; first < all; ) {
    let count = all - first;
    let found = made(bench, options, { first, count });
    while (!("origin" in found)) {
      if (count === 1) throw noRoom(found);
      // Tests differ in length: a guess from their number, and then one less at a time.
      count = Math.min(count - 1, Math.ceil((count * found.room) / found.needed));
      found = made(bench, options, { first, count });
    }
    programs.push(found);
    first += count;
  }
  return programs;
}

/** A program that is longer than its place. */
interface TooLong {
  from: number;
  room: number;
  needed: number;
}

const noRoom = ({ from, room, needed }: TooLong) =>
  new InputError(
    "no-room",
    `The program needs ${needed} bytes and has room for ${room} from $${from.toString(16).toUpperCase().padStart(4, "0")} on: choose fewer tests, or another place.`,
  );

function made(bench: Bench, options: ProgramOptions, share: Share): TestProgram | TooLong {
  let length = PAGE;
  for (let turn = 0; turn < MOST_TURNS; turn++) {
    const plan = planOf(bench, options, length, share);
    const room = plan.code.to + 1 - plan.code.from;
    const { source, id, first } = draft(plan);
    const end = (first.symbols.get("code_end") ?? plan.code.from) - plan.code.from;
    if (end > room || end < 0) return { from: plan.code.from, room, needed: Math.max(end, room + 1) };
    const needed = Math.ceil(end / PAGE) * PAGE;
    if (plan.place === "memory" && needed > length) {
      length = needed;
      continue;
    }
    const assembly = assemble(source(sumOf(first, plan.code.from)), { file: FILE });
    const [error] = assembly.errors;
    if (error) throw new BugError(`test program, line ${error.line}: ${error.sentence}\n${error.caret}`);
    return {
      cpu: plan.cpu,
      place: plan.place,
      origin: plan.code.from,
      entry: assembly.symbols.get("start") ?? plan.code.from,
      source: source(sumOf(first, plan.code.from)),
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

/**
 * The source with its id, the CRC of the source without one, so that another program has another. Its own sum is filled in last: it
 * does not depend on the sum that is written in, whose complement stands beside it.
 */
function draft(plan: Plan) {
  const dialect = DIALECTS[plan.cpu];
  const blank = new dialect(plan).write("0000");
  const id = crc16(Uint8Array.from(blank, (each) => each.charCodeAt(0) & 0xff))
    .toString(16)
    .toUpperCase()
    .padStart(4, "0");
  const source = (sum: number) => new dialect(plan).write(id, sum);
  return { id, source, first: assemble(source(0), { file: FILE }) };
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
