import type { Bench } from "@rouse/core/bench";
import {
  makePrograms,
  nextMeasurement,
  type ProgramOptions,
  programFiles,
  rankSuspects,
  readReport,
  runProgram,
  type TestProgram,
  type TypeIn,
} from "@rouse/core/diagnose";
import { InputError } from "@rouse/core/errors";
import { memoryMapOf, packMemory } from "@rouse/core/memory";
import type { Choices, MadeProgram, Ran, ReadReport, Wish } from "./types.ts";

/** Suspects that are shown. */
const MOST = 10;

export interface Ground {
  bench: Bench;
  /** By the file that the bench names. */
  roms: ReadonlyMap<string, Uint8Array>;
}

export function choicesOf({ bench }: Ground): Choices {
  const map = memoryMapOf(bench);
  if (!map)
    throw new InputError("no-memory", "A test program needs the computer's memory; describe it under computer.memory.");
  return {
    computer: map.computer.name,
    cpu: bench.computer?.cpu?.part ?? "no CPU",
    ports: bench.ports.map(({ name }) => name),
    hasWindow: map.parts.some(({ kind }) => kind === "window"),
    hasTranslation: map.translation !== undefined,
    memory: packMemory(map.computer),
  };
}

function programsOf({ bench, roms }: Ground, { tests, ...rest }: Wish): TestProgram[] {
  if (tests.length === 0) throw new InputError("no-tests", "Choose one test at least.");
  const options: ProgramOptions = { ...rest, tests, roms };
  return makePrograms(bench, options);
}

const testsOf = ({ tests }: TestProgram): MadeProgram["tests"] =>
  tests.map(({ letter, title, space }) => ({
    letter,
    title,
    left: space?.left ?? [],
    ...(space ? { bytes: space.bytes } : {}),
  }));

function madeOf(bench: Bench, program: TestProgram, wish: Wish): MadeProgram {
  const { segments, entry, origin } = program;
  const options = wish.eprom === undefined ? {} : { eprom: wish.eprom };
  const stem = `tests-${program.id}`;
  // The form to type in comes last.
  const typed = (typeIn: TypeIn): string =>
    String(programFiles(bench, program, stem, { ...options, typeIn }).at(-1)!.content);
  const end = Math.max(...segments.map(({ address, bytes }) => address + bytes.length));
  return {
    id: program.id,
    cpu: program.cpu,
    place: program.place,
    origin,
    entry,
    bytes: end - origin,
    tests: testsOf(program),
    notes: program.notes,
    port: program.voice.port,
    source: program.source,
    files: programFiles(bench, program, stem, options),
    typeIns: { hex: typed("hex"), data: typed("data") },
  };
}

export const makeForms = (ground: Ground, wish: Wish): MadeProgram[] =>
  programsOf(ground, wish).map((program) => madeOf(ground.bench, program, wish));

/** Runs one of the programs on the bench as it is described: what it prints there, and how long it takes. */
export function runThrough(ground: Ground, wish: Wish, index: number): Ran {
  const program = programsOf(ground, wish)[index];
  if (!program) throw new InputError("no-program", "There is no such program any more; make them anew.");
  const { text, ended, seconds, cycles } = runProgram(ground.bench, program);
  return { text, ended, seconds, cycles };
}

/** From what a program printed to the parts that may be bad. */
export function readThrough(ground: Ground, wish: Wish, text: string): ReadReport {
  const report = readReport(text);
  const programs = programsOf(ground, wish);
  const own = programs.find(({ id }) => id === report.id);
  const program = own ?? programs[0]!;
  const ranked = rankSuspects(ground.bench, program, report, MOST);
  const next = nextMeasurement(ground.bench, ranked);
  return {
    report,
    program: { id: program.id, tests: testsOf(program) },
    isOwn: own !== undefined,
    ranked,
    ...(next ? { next } : {}),
  };
}
