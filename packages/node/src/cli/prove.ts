import { makeProgram, type ProofRow, prove, type TestProgram } from "@rouse/core/diagnose";
import { InputError } from "@rouse/core/errors";
import { formatNumber } from "@rouse/core/quantity";
import { benchOfJob } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { verb as diag, optionsOf, romsOf } from "./diag.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

/** Faults of a class, or lines, that may be asked for. */
const MOST = 100_000;
/** Tests that have to do with memory; the simulated machine has neither timers nor anything at its port. */
const USUAL = ["march-c-", "address", "banks", "latches", "translation"];

function count(values: Record<string, unknown>, name: string, otherwise: number): number {
  const written = values[name];
  if (written === undefined) return otherwise;
  if (typeof written === "string" && /^\d+$/.test(written) && Number(written) <= MOST) return Number(written);
  throw new InputError("bad-count", `--${name} is a whole number from 0 to ${formatNumber(MOST)}.`);
}

const percent = (some: number, all: number): string => (all === 0 ? "" : `${formatNumber((100 * some) / all, 3)} %`);

function print(out: Output, program: TestProgram, rows: readonly ProofRow[]): void {
  out.line(paint(out.colour, "bold", `What ${program.tests.map(({ letter }) => letter).join(", ")} would find`));
  for (const { letter, title } of program.tests) out.line(`  ${letter}  ${title}`);
  out.line();
  const table = rows.map((row) => [
    row.claim ? row.group : "",
    row.title,
    String(row.faults),
    percent(row.found, row.faults),
    row.claim ?? "",
    percent(row.first, row.faults),
    percent(row.inThree, row.faults),
  ]);
  const heads = ["", "single faults", "tried", "found", "literature", "named first", "in three"];
  for (const line of columns([heads, ...table])) out.line(`  ${line}`);
  const missed = rows.filter(({ claim, faults, found }) => claim === "proved" && found < faults);
  for (const { title, missed: which } of missed) out.line(`  ■ ${title}: proved, and yet missed: ${which}`);
  for (const line of wrap(
    "“proved”: the literature proves that one of these marches finds every fault of the class, where it occurs alone. Named first: the part that rouse suspects names from the report.",
    out.width,
  ))
    out.line(line);
}

const { test, over, memory, at, port, wait } = diag.options as Record<string, Verb["options"][string]>;

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Proves a test program before it is burnt: single faults are put into the simulated bench, one at a time, and the program runs with each.",
    "Prints how many of each kind are found, beside what the literature proves of the march, and how often the right part is named from the report.",
    "The sample follows from --seed, so that it can be repeated. Bad cells take milliseconds each; lines, a whole run of the program and a few seconds; --over main and fewer --lines are quicker.",
  ],
  options: {
    test: { ...test!, about: `as those of rouse diag; ${USUAL.join(", ")} unless said` },
    over: over!,
    memory: memory!,
    at: at!,
    port: port!,
    wait: wait!,
    cells: { type: "string", value: "NUMBER", about: "faults of each class of bad cells; 40 unless said" },
    lines: { type: "string", value: "NUMBER", about: "faults of pins, lines, selects, latches; 20 unless said" },
    seed: { type: "string", value: "NUMBER", about: "another sample; 1 unless said" },
    json: { type: "boolean", about: "print the table for machines" },
  },
  examples: [
    ["rouse prove demo/mended --test march-c- --over main", "what March C− finds there"],
    ["rouse prove demo/mended --test mats+ --cells 500 --lines 0", "why a shorter march is not enough"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1) throw new InputError("one-job", "Name one job folder.");
    const [name = "."] = positionals;
    const sample = {
      cells: count(values, "cells", 40),
      lines: count(values, "lines", 20),
      seed: count(values, "seed", 1),
    };
    const job = await openJob(name);
    const read = await benchOfJob(job, name);
    if ("problem" in read) {
      process.stderr.write(`${read.problem}\n`);
      return 2;
    }
    const { bench } = read;
    const program = makeProgram(bench, { tests: USUAL, ...optionsOf(values), roms: await romsOf(job, bench) });
    const proof = prove(bench, program, sample);
    let step = proof.next();
    for (; !step.done; step = proof.next()) {
      const { done, of } = step.value;
      if (process.stderr.isTTY) process.stderr.write(done === of ? "\r\u001b[K" : `\r${done} of ${of} faults`);
    }
    if (values.json)
      out.line(
        JSON.stringify(
          {
            format: "rouse-proof",
            version: 1,
            program: program.id,
            tests: program.tests.map(({ letter, title }) => ({ letter, title })),
            ...sample,
            rows: step.value,
          },
          null,
          2,
        ),
      );
    else print(out, program, step.value);
    return step.value.every(({ claim, faults, found }) => claim !== "proved" || found === faults) ? 0 : 1;
  },
};
