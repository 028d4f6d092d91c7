import { mkdir, readdir } from "node:fs/promises";
import { join } from "node:path";
import type { Bench } from "@rouse/core/bench";
import { hex, visible } from "@rouse/core/bytes";
import { loadCatalogue } from "@rouse/core/catalogue";
import {
  MARCHES,
  makePrograms,
  OTHER_TESTS,
  OVERS,
  type Over,
  type ProgramFile,
  type ProgramOptions,
  programFiles,
  type Run,
  runProgram,
  type TestProgram,
  TYPE_INS,
  type TypeIn,
} from "@rouse/core/diagnose";
import { InputError } from "@rouse/core/errors";
import { nearest } from "@rouse/core/errors/nearest";
import { formatNumber, formatValue, parseAddress } from "@rouse/core/quantity";
import { benchOfJob } from "../job/index.ts";
import { romOfJob } from "../job/rehearsal.ts";
import { type Job, openJob, writeNew } from "../store/index.ts";
import { fileProblem } from "../store/problems.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const TESTS: readonly string[] = [...MARCHES.map((each) => each.id), ...OTHER_TESTS];

const text = (value: unknown): string | undefined => (typeof value === "string" ? value : undefined);

/** One of several words. Throws an `InputError` that names the nearest, or all. */
function oneOf<T extends string>(written: string, known: readonly T[], what: string): T {
  const found = known.find((each) => each === written);
  if (found) return found;
  const close = nearest(written, [...known]);
  throw new InputError(
    `bad-${what}`,
    `“${visible(written)}” is no ${what}; ${close ? `did you mean “${close}”?` : `there is ${known.join(", ")}.`}`,
  );
}

const listOf = <T extends string>(value: unknown, known: readonly T[], what: string): T[] | undefined =>
  text(value)
    ?.split(",")
    .map((each) => oneOf(each.trim(), known, what));

/** Bytes of an EPROM by its part number, or as a number. */
function epromBytes(written: string): number {
  const memory = loadCatalogue().chips.get(written)?.memory;
  if (memory?.type === "EPROM") return (memory.words * memory.bits) / 8;
  const bytes = Number(written);
  if (/^\d+$/.test(written) && bytes >= 256 && bytes <= 65_536 && Number.isInteger(Math.log2(bytes))) return bytes;
  const known = [...loadCatalogue().chips.values()].filter((each) => each.memory?.type === "EPROM");
  throw new InputError(
    "bad-eprom",
    `“${visible(written)}” is no EPROM of the catalogue, nor a power of two from 256 to 65,536 bytes; there is ${known.map((each) => each.part).join(", ")}.`,
  );
}

/** ROM images of the bench that lie in the job folder; a missing one only leaves its sum unknown. */
export async function romsOf(job: Job, bench: Bench): Promise<Map<string, Uint8Array>> {
  const roms = new Map<string, Uint8Array>();
  for (const { file } of bench.computer?.regions ?? []) {
    if (file === undefined || roms.has(file)) continue;
    try {
      roms.set(file, await romOfJob(job, file));
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
    }
  }
  return roms;
}

export function optionsOf(values: Record<string, unknown>): ProgramOptions {
  const wait = text(values.wait);
  const seconds = wait === undefined ? undefined : Number(wait);
  if (seconds !== undefined && !(seconds > 0 && seconds <= 60))
    throw new InputError("bad-wait", `“${visible(wait!)}” is no number of seconds from 0 to 60.`);
  const at = text(values.at);
  const address = at === undefined ? undefined : parseAddress(at);
  const place = values.memory === true || address !== undefined ? "memory" : "eprom";
  const eprom = text(values.eprom);
  if (eprom !== undefined && place === "memory")
    throw new InputError("eprom-or-memory", "A program goes into an EPROM (--eprom) or into memory (--memory, --at).");
  if (place === "eprom" && text(values["type-in"]) !== undefined)
    throw new InputError("type-in", "Only a program for memory is typed in: say --memory or --at ADDRESS too.");
  const written = text(values.test);
  const tests = written === undefined || written === "all" ? undefined : listOf(written, TESTS, "test");
  const over: Over[] | undefined = listOf(values.over, OVERS, "memory");
  const port = text(values.port);
  return {
    place,
    ...(tests === undefined ? {} : { tests }),
    ...(over === undefined ? {} : { over }),
    ...(address === undefined ? {} : { at: address }),
    ...(seconds === undefined ? {} : { seconds }),
    ...(port === undefined ? {} : { port }),
    ...(eprom === undefined ? {} : { eprom: epromBytes(eprom) }),
  };
}

/** Length of the program, from its first byte to its last, without vectors. */
const bytesOf = ({ symbols, origin }: TestProgram): number => (symbols.get("code_end") ?? origin) - origin;

function printProgram(out: Output, program: TestProgram, run: Run, title: string): void {
  out.line(paint(out.colour, "bold", title));
  const rows = program.tests.map((each) => [
    `  ${each.letter}`,
    each.title,
    run.tests.has(each.letter) ? formatValue(run.tests.get(each.letter)!, "time", 3) : "",
  ]);
  for (const line of columns(rows)) out.line(line);
  const length = `${formatNumber(bytesOf(program))} bytes from $${hex(program.origin, 4)}`;
  const where =
    program.place === "eprom" ? "in the monitor's place" : `in memory; start it at $${hex(program.entry, 4)}`;
  out.line(
    `  ${program.cpu}, ${length}, ${where}. It speaks through ${program.voice.port}, and its report begins with ${program.id}.`,
  );
  out.line(
    run.ended
      ? `  Takes ${formatValue(run.seconds, "time", 3)} on this bench if nothing is wrong (simulated), the last line included.`
      : "  ▲ The simulation of this bench did not come to its end.",
  );
  for (const test of program.tests)
    for (const { from, to, view, why } of test.space?.left ?? [])
      out.line(
        `  ▲ ${test.letter} leaves out $${hex(from, 4)}–$${hex(to, 4)}${view === undefined ? "" : ` of block ${view}`}, ${why}.`,
      );
}

/** The demo's programs print GOOD on a bench that is as described; anything else would be our fault, and is told. */
const clean = (run: Run): boolean => run.ended && run.text.includes("END GOOD");

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Writes test programs for this very bench: from its memory map, windows, translation, ROMs, timers and ports.",
    "They go into an EPROM in the monitor's place, and then use registers only (the 6502: after its zero page is proved good);",
    "or with --memory they are loaded and started by the monitor. They speak through a serial port, one line a finding.",
    `Marches (${MARCHES.map((each) => each.id).join(", ")}) go over main memory, all banks and all translated blocks. Beside them: ${OTHER_TESTS.join(", ")}.`,
    "Without --test it is what suits most benches; “loop” needs a loop plug, and runs only where it is named. Without --out nothing is written.",
  ],
  options: {
    test: { type: "string", value: "TEST,…", about: "march-c-, address, retention, banks, …; all unless said" },
    over: { type: "string", value: "MEMORY,…", about: "where marches go: main, banks, translation; all unless said" },
    memory: { type: "boolean", about: "a program that the monitor loads and starts, in place of an EPROM" },
    at: { type: "string", value: "ADDRESS", about: "where in memory; $1000 unless said" },
    eprom: { type: "string", value: "PART", about: "size of the EPROM: 2716, 2764, …; the bench's own unless said" },
    port: { type: "string", value: "NAME", about: "the port to speak through; the show's unless said" },
    wait: { type: "string", value: "SECONDS", about: "how long memory has to hold what was written; 2 unless said" },
    "type-in": { type: "string", value: "FORM", about: "hex to type into a monitor, or numbered data lines" },
    out: {
      type: "string",
      value: "FOLDER",
      about: "write source, listing, S-records, Intel HEX and the raw image here",
    },
    json: { type: "boolean", about: "print programs, tests and times for machines" },
  },
  examples: [
    ["rouse diag demo/mended", "what would be tested, and how long it takes"],
    ["rouse diag demo/mended --test march-c-,banks --out tests", "two tests, in every form"],
    ["rouse diag demo/second-machine --memory --type-in data --test mats+ --out tests", "short enough to type in"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1) throw new InputError("one-job", "Name one job folder.");
    const [name = "."] = positionals;
    const options = optionsOf(values);
    const typeIn: TypeIn | undefined =
      text(values["type-in"]) === undefined ? undefined : oneOf(String(values["type-in"]), TYPE_INS, "form");
    const job = await openJob(name);
    const read = await benchOfJob(job, name);
    if ("problem" in read) {
      process.stderr.write(`${read.problem}\n`);
      return 2;
    }
    const { bench } = read;
    const roms = await romsOf(job, bench);
    const programs = makePrograms(bench, { ...options, roms });
    const runs = programs.map((each) => runProgram(bench, each, { roms }));
    const stem = (index: number) => (programs.length === 1 ? "tests" : `tests-${index + 1}`);
    const files = programs.flatMap((each, index) =>
      programFiles(bench, each, stem(index), {
        ...(options.eprom === undefined ? {} : { eprom: options.eprom }),
        ...(typeIn === undefined ? {} : { typeIn }),
      }),
    );
    const folder = text(values.out);
    if (folder !== undefined) await writeAll(folder, files);
    if (values.json) {
      out.line(JSON.stringify(forMachines(programs, runs, folder === undefined ? [] : files), null, 2));
      return 0;
    }
    if (programs[0]!.place === "eprom") {
      for (const line of wrap(CAUTION, out.width)) out.line(line);
      out.line();
    }
    for (const [index, program] of programs.entries()) {
      const title = `Tests for ${visible(bench.computer!.name)}`;
      printProgram(
        out,
        program,
        runs[index]!,
        programs.length === 1 ? title : `${title}, ${index + 1} of ${programs.length}`,
      );
      if (!clean(runs[index]!))
        out.line("  ▲ On the bench as it is described this program finds something: look at the bench file.");
      out.line();
    }
    for (const note of new Set(programs.flatMap((each) => each.notes)))
      for (const line of wrap(`▲ ${note}`, out.width)) out.line(line);
    if (folder !== undefined) {
      out.line();
      for (const line of columns(files.map((each) => [`  ${visible(join(folder, each.name))}`, each.about])))
        out.line(line);
    }
    return 0;
  },
};

const CAUTION =
  "Caution, static and power: switch off, pull the plug and wait before a chip is taken out; discharge yourself, but wear no wrist strap near mains or a picture tube. Keep the monitor's own EPROM in conductive foam, and put it back the same way round. In doubt leave it to someone with the training; local codes go first.";

/** Writes all files into a folder that has none of them yet. */
async function writeAll(folder: string, files: readonly ProgramFile[]): Promise<void> {
  await mkdir(folder, { recursive: true }).catch((error: unknown) => {
    throw fileProblem(error, folder, "be made a folder");
  });
  const there = new Set(await readdir(folder));
  const taken = files.find((each) => there.has(each.name));
  if (taken)
    throw new InputError(
      "target-there",
      `${visible(join(folder, taken.name))} is there already; nothing was written. Name another folder.`,
    );
  for (const { name, content } of files)
    await writeNew(join(folder, name), typeof content === "string" ? new TextEncoder().encode(content) : content);
}

function forMachines(programs: readonly TestProgram[], runs: readonly Run[], files: readonly ProgramFile[]) {
  return {
    format: "rouse-diagnostics",
    version: 1,
    programs: programs.map((program, index) => {
      const { cpu, place, origin, entry, id, voice, notes, tests } = program;
      const { seconds, cycles, tests: times, ended } = runs[index]!;
      return {
        cpu,
        place,
        origin,
        entry,
        id,
        bytes: bytesOf(program),
        port: voice.port,
        seconds,
        cycles,
        ended,
        tests: tests.map(({ letter, kind, title, march, space }) => ({
          letter,
          kind,
          title,
          ...(march ? { march: march.id } : {}),
          ...(space ? { memory: space } : {}),
          ...(times.has(letter) ? { seconds: times.get(letter) } : {}),
        })),
        notes,
      };
    }),
    files: files.map(({ name, about }) => ({ name, about })),
  };
}
