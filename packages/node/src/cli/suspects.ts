import { visible } from "@rouse/core/bytes";
import {
  makePrograms,
  nextMeasurement,
  type Ranked,
  type Report,
  rankSuspects,
  readReport,
  type TestProgram,
} from "@rouse/core/diagnose";
import { InputError } from "@rouse/core/errors";
import { readCapture } from "@rouse/core/show";
import { benchOfJob } from "../job/index.ts";
import { openJob, openRegular, readWhole } from "../store/index.ts";
import { verb as diag, optionsOf, romsOf } from "./diag.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

/** A report is a few kilobytes; a capture of a whole day holds it too. */
const MOST_BYTES = 64 * 1024 * 1024;
const CAPTURE = '{"format":"rouse-capture"';

/** What a file holds: a capture's bytes from the machine, or the text itself. */
async function textOfFile(path: string): Promise<string> {
  const handle = await openRegular(path);
  try {
    const bytes = await readWhole(handle, path, MOST_BYTES);
    const characters = (from: Uint8Array): string => Buffer.from(from).toString("latin1");
    if (!characters(bytes.subarray(0, CAPTURE.length)).startsWith(CAPTURE)) return characters(bytes);
    return readCapture(bytes)
      .entries.map((each) => ("in" in each ? characters(each.in) : ""))
      .join("");
  } finally {
    await handle.close();
  }
}

/** The program that printed a report, by the report's first line; else the only one there is. */
function programOf(programs: readonly TestProgram[], report: Report): TestProgram {
  const found = programs.find((each) => each.id === report.id);
  if (found) return found;
  const ids = programs.map((each) => each.id).join(", ");
  if (report.id !== undefined)
    throw new InputError(
      "other-program",
      `The report is from the program ${report.id}, and these options make ${ids}: give the options that rouse diag had.`,
    );
  if (programs.length > 1)
    throw new InputError(
      "which-program",
      `The report's first line is missing, and these options make ${programs.length} programs (${ids}): type “BEGIN” and the four digits.`,
    );
  return programs[0]!;
}

function print(out: Output, report: Report, ranked: readonly Ranked[], next: ReturnType<typeof nextMeasurement>): void {
  const say = (text: string, indent = "") => {
    for (const line of wrap(text, out.width - indent.length)) out.line(`${indent}${line}`);
  };
  if (report.findings.length === 0) {
    say(
      report.end === "good"
        ? "The report is good: these tests found nothing."
        : "There is no finding in this report: type lines such as “C3 G5D W55 A1234”, or name a capture that holds them.",
    );
    return;
  }
  if (ranked.length === 0) {
    say(
      "No single fault of this bench explains the report: more than one part may be bad, or what they have in common, as their supply, their clock or their socket. Run the tests one by one.",
    );
    return;
  }
  out.line(paint(out.colour, "bold", "Parts that may be bad, the likeliest first"));
  const rows = ranked.map(({ suspect, how, fit }, index) => [
    `  ${index + 1}`,
    visible(suspect.title),
    how,
    `${Math.round(fit * 100)} %`,
  ]);
  for (const line of columns(rows)) out.line(line);
  say(
    "The last column says how much of the report such a fault explains, and how little it says that was not seen.",
    "  ",
  );
  if (!next) return;
  out.line();
  out.line(paint(out.colour, "bold", "Next"));
  for (const each of next.cautions) say(`▲ ${each}`, "  ");
  say(visible(next.title), "  ");
  for (const { seen, means } of next.results) say(`• ${seen}: ${visible(means)}`, "    ");
}

const { test, over, memory, at, port, wait, eprom } = diag.options as Record<string, Verb["options"][string]>;

export const verb: Verb = {
  usage: "[JOB] [REPORT]",
  help: [
    "Names the parts that may be bad, from what a test program of rouse diag printed on the machine, and what to measure next.",
    "REPORT is a text file or a capture; or type the lines that the screen shows, each with --line.",
    "Give the options that rouse diag had: the program is made again, and the report's first line says whether it is the same one.",
    "Every single fault of chips, pins, lines, selects, refresh, latches and translation is tried on the bench, and held against the report.",
  ],
  options: {
    line: { type: "string", multiple: true, value: "LINE", about: "a line of the report as typed; may be given often" },
    test: test!,
    over: over!,
    memory: memory!,
    at: at!,
    port: port!,
    wait: wait!,
    eprom: eprom!,
    json: { type: "boolean", about: "print suspects, fit and the next measurement for machines" },
  },
  examples: [
    ["rouse suspects demo/mended captures/tests.jsonl --test march-c-,banks", "from a captured session"],
    ['rouse suspects demo/mended --test march-c- --line "A2 G08 W00 A1234"', "from one line on the screen"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 2) throw new InputError("one-report", "Name a job folder and one report.");
    const typed = (values.line as string[] | undefined) ?? [];
    const [name = ".", file] = positionals;
    if (file === undefined && typed.length === 0)
      throw new InputError("no-report", "Name the file with the report, or type its lines with --line.");
    const job = await openJob(name);
    const read = await benchOfJob(job, name);
    if ("problem" in read) {
      process.stderr.write(`${read.problem}\n`);
      return 2;
    }
    const { bench } = read;
    const report = readReport([file === undefined ? "" : await textOfFile(file), ...typed].join("\n"));
    const program = programOf(makePrograms(bench, { ...optionsOf(values), roms: await romsOf(job, bench) }), report);
    const ranked = rankSuspects(bench, program, report);
    const next = nextMeasurement(bench, ranked);
    if (values.json)
      out.line(
        JSON.stringify(
          { format: "rouse-suspects", version: 1, program: program.id, report, suspects: ranked, next },
          null,
          2,
        ),
      );
    else print(out, report, ranked, next);
    return report.findings.length > 0 || report.end === "bad" ? 1 : 0;
  },
};
