import { createInterface } from "node:readline";
import { printIssues } from "@rouse/core/bench";
import { visible } from "@rouse/core/bytes";
import { readAnswer, type ToldCause, type ToldTest, testOfStep, type WhyTold } from "@rouse/core/diagnose/why";
import { InputError } from "@rouse/core/errors";
import { LINKS } from "@rouse/core/fit";
import { formatDuration, formatNumber } from "@rouse/core/quantity";
import { checkJob } from "../job/index.ts";
import { type JobWhy, whyOfJob } from "../job/why.ts";
import { openJob } from "../store/index.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const BAR = 20;
const SHOWN = 8;
/** A cause moved by less than this is not worth a word; bits. */
const NOTICED = 0.3;

const percent = (share: number): string => (share < 0.0005 ? "< 0.1 %" : `${(share * 100).toFixed(1)} %`);
const bar = (share: number): string => "█".repeat(Math.round(share * BAR)).padEnd(BAR, "·");
/** "× 8" for 3 bits, "÷ 2" for −1. */
const times = (bits: number): string => `${bits >= 0 ? "×" : "÷"} ${formatNumber(2 ** Math.abs(bits), 2)}`;

function say(out: Output, text: string, indent = ""): void {
  for (const line of wrap(visible(text), out.width, indent)) out.line(line);
}

function printAnswers(out: Output, { answers, left }: WhyTold): void {
  if (answers.length > 0) out.line(paint(out.colour, "bold", "What was found"));
  for (const { title, found, surprising, likely, raised, lowered } of answers) {
    say(out, `${title}: ${found}`, "  ");
    if (surprising) say(out, `▲ a surprise, thought ${percent(likely)} likely: is it sure?`, "      ");
    const moves = [...raised, ...lowered].map(({ part, bits }) => `${part} ${times(bits)}`);
    if (moves.length > 0) say(out, moves.join("; "), "      ");
  }
  if (left.length > 0)
    say(out, `Not counted, as this bench has no such test any more: ${left.map(({ test }) => test).join(", ")}.`, "  ");
  if (answers.length > 0) out.line();
}

function printChain(out: Output, { links }: WhyTold): void {
  out.line(paint(out.colour, "bold", "Along the chain"));
  const rows = LINKS.flatMap((link) => {
    const found = links.find((each) => each.link === link);
    return found ? [[`  ${link}`, bar(found.chance), percent(found.chance)]] : [];
  });
  for (const line of columns(rows)) out.line(line);
  out.line();
}

/** Why a cause stands where it stands: its prior, findings, and each answer that moved it. */
function reasons({ prior, source, because, raisedBy, moved }: ToldCause): string[] {
  return [
    `before anything was seen ${percent(prior)} (${because}; ${source.title})`,
    ...raisedBy.map(({ id, verdict }) => `the chain says ${verdict}: ${id}`),
    ...moved.flatMap(({ title, found, bits }) =>
      Math.abs(bits) < NOTICED ? [] : [`${times(bits)} by “${title}: ${found}”`],
    ),
  ];
}

function printCauses(out: Output, told: WhyTold, whole: boolean): void {
  out.line(paint(out.colour, "bold", "Causes"));
  for (const cause of told.causes.slice(0, whole ? undefined : SHOWN)) {
    out.line(
      `  ${bar(cause.chance)} ${percent(cause.chance).padStart(7)}  ${paint(out.colour, "bold", visible(cause.part))}  ${paint(out.colour, "faint", cause.link)}`,
    );
    if (whole || cause.chance >= 0.1) for (const reason of reasons(cause)) say(out, reason, `${" ".repeat(BAR + 12)}`);
  }
  out.line(`  ${told.open.toFixed(1)} bits are still open.`);
  for (const some of told.alike) {
    const parts = some.map((id) => told.causes.find((each) => each.id === id)!.part);
    say(out, `▲ No test left tells these apart, short of changing soldered parts: ${parts.join("; ")}.`, "  ");
  }
  out.line();
}

function printFound(out: Output, { found, causes }: WhyTold): void {
  if (!found) return;
  out.line(
    found.listed
      ? paint(out.colour, "green", `● As good as found, ${percent(found.chance)}`)
      : paint(out.colour, "yellow", `▲ Nothing that is listed fits what was found, ${percent(found.chance)}`),
  );
  for (const id of found.causes) {
    const { part, remedy, cautions } = causes.find((each) => each.id === id)!;
    for (const { title, sentence } of cautions) say(out, `Caution, ${title.toLowerCase()}: ${sentence}`, "  ");
    say(out, `${part}: ${remedy}`, "  ");
  }
  out.line();
}

function printTest(out: Output, test: ToldTest, numbered: boolean): void {
  out.line(paint(out.colour, "bold", visible(test.title)));
  for (const { title, sentence } of test.cautions) say(out, `▲ Caution, ${title.toLowerCase()}: ${sentence}`, "  ");
  for (const each of test.how) say(out, `- ${each}`, "  ");
  if (test.tools.length > 0) say(out, `tools: ${test.tools.join(", ")}`, "  ");
  say(
    out,
    `about ${formatDuration(test.minutes * 60)}${test.opens ? ", with opening the case" : ""}; risk ${test.risk}; expected to tell ${test.bits.toFixed(2)} bits; misleads one time in ${Math.round(1 / test.misleads)}`,
    "  ",
  );
  const rows = test.outcomes.map(({ id, words, chance, points }, index) => [
    `  ${numbered ? `${index + 1}` : "·"}`,
    visible(words === id ? words : `${words} (${id})`),
    percent(chance),
    `→ ${visible(points.part)} ${percent(points.chance)}`,
  ]);
  const long = test.outcomes.length > 16;
  for (const line of columns(long ? rows.map(([mark, words]) => [mark!, words!]) : rows))
    out.line(line.length > out.width ? `${line.slice(0, out.width - 1)}…` : line);
  if (test.reading) say(out, `or a reading; wanted: ${test.reading.wanted}`, "  ");
  out.line();
}

function printStanding(out: Output, told: WhyTold, whole: boolean): void {
  out.line(paint(out.colour, "bold", `${visible(told.bench)}: why it does not start`));
  out.line();
  printAnswers(out, told);
  printChain(out, told);
  printCauses(out, told, whole);
  printFound(out, told);
}

function printList(out: Output, { sights }: WhyTold, { model }: JobWhy): void {
  out.line(paint(out.colour, "bold", "What can be seen (--sees)"));
  say(out, sights.map(({ sight }) => `“${sight}”`).join(", "), "  ");
  out.line();
  out.line(paint(out.colour, "bold", "What can be looked at and measured (--reading “NAME = VALUE”)"));
  for (const { id, title, outcomes, reading } of model.tests) {
    say(out, `${id}: ${title}`, "  ");
    const some = outcomes.slice(0, 6).map((each) => each.id);
    say(
      out,
      `${some.join(" | ")}${outcomes.length > 6 ? " | …" : ""}${reading ? ` | a reading, as “${reading.names[0]} = …”` : ""}`,
      "      ",
    );
  }
}

const HELP =
  "A number or the words of an outcome; a reading; anything else that you saw (“drive light on”, “+5 V = 4.2 V”); “?” not done; “other” lists other tests; “other 3” takes the third; “undo”; “all” for every cause; “fresh”; an empty line ends.";

/** Takes one line that was typed at the question. Gives the test to ask next, where that was chosen. */
async function takeLine(
  out: Output,
  why: JobWhy,
  told: WhyTold,
  asked: ToldTest,
  line: string,
): Promise<string | undefined> {
  const other = /^other(?:\s+(\d+))?$/i.exec(line);
  if (other) {
    const chosen = told.tests[Number(other[1] ?? 0) - 1];
    if (chosen) return chosen.id;
    for (const row of columns(
      told.tests.map(({ title, bits, minutes, risk }, index) => [
        `  ${index + 1}`,
        visible(title),
        `${bits.toFixed(2)} bits`,
        `${minutes} min`,
        risk,
      ]),
    ))
      out.line(row);
    return asked.id;
  }
  if (line === "all") {
    printCauses(out, told, true);
    return asked.id;
  }
  if (line === "undo") await why.undo();
  else if (line === "fresh") await why.fresh();
  else {
    const test = why.model.tests.find(({ id }) => id === asked.id)!;
    const byNumber = /^\d+$/.test(line) ? asked.outcomes[Number(line) - 1]?.id : undefined;
    if (byNumber !== undefined) await why.answer({ test: test.id, outcomes: [byNumber] });
    else await takeWords(why, test, line);
  }
  return undefined;
}

/** An outcome of the test that was asked, or else something that was seen unasked. */
async function takeWords(why: JobWhy, test: JobWhy["model"]["tests"][number], line: string): Promise<void> {
  try {
    await why.answer(readAnswer(test, line));
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    try {
      await why.answer(why.read(line));
    } catch (second) {
      if (!(second instanceof InputError)) throw second;
      // What was wrong with it as an answer to the question says more.
      throw error;
    }
  }
}

/** Question by question until a line is empty or the input ends. What cannot be read is said, and asked again. */
async function converse(out: Output, why: JobWhy, first: string | undefined): Promise<void> {
  const reader = createInterface({ input: process.stdin });
  const lines = reader[Symbol.asyncIterator]();
  let wanted = first;
  let silent = false;
  try {
    for (;;) {
      const told = await why.told(wanted);
      const asked = told.asked ?? told.tests[0];
      if (!silent) printStanding(out, told, false);
      if (!asked) return;
      if (!silent) printTest(out, asked, true);
      out.line(paint(out.colour, "faint", "Your answer (“help” says more, an empty line ends):"));
      const next = await lines.next();
      const line = next.done ? "" : String(next.value).trim();
      if (line === "") return;
      silent = false;
      try {
        if (line === "help") say(out, HELP, "  ");
        const chosen = line === "help" ? asked.id : await takeLine(out, why, told, asked, line);
        silent = line === "help" || line === "other" || line === "all";
        wanted = chosen;
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        out.line(`▲ ${error.message}`);
        silent = true;
        wanted = asked.id;
      }
    }
  } finally {
    reader.close();
  }
}

const texts = (value: unknown): readonly string[] => (Array.isArray(value) ? value.map(String) : []);

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Ranks why the bench does not start, from what you see and measure, and proposes the test that tells most for its minutes and its risk.",
    "Causes are the bench's own parts; what the chain finds raises them. On a terminal it asks test by test. Answers are kept in the job's",
    "log, so that the workbench and a later day go on from there. One fault is looked for at a time.",
  ],
  options: {
    sees: {
      type: "string",
      multiple: true,
      value: "WORDS",
      about: "something you see: “dark screen”; may come several times",
    },
    reading: {
      type: "string",
      multiple: true,
      value: "“NAME = VALUE”",
      about: "something you measured or found: “5 V rail = 4.2 V”, “reset = held”",
    },
    from: { type: "string", value: "STEP", about: "begin with a test, or with the step of the run book that failed" },
    undo: { type: "boolean", about: "take the last answer back" },
    fresh: { type: "boolean", about: "begin anew; earlier answers stay in the log" },
    apart: { type: "boolean", about: "neither read nor write the log" },
    ask: { type: "boolean", about: "ask test by test, also where this is no terminal" },
    list: { type: "boolean", about: "list what can be seen and measured on this bench" },
    all: { type: "boolean", about: "show every cause, with its reasons" },
    json: { type: "boolean", about: "print where the search stands for machines (docs/why.md)" },
  },
  examples: [
    [
      'rouse why demo/mended --apart --sees "dark screen" --reading "5 V rail = 4.2 V"',
      "causes and the next test, with nothing kept",
    ],
    ["rouse why JOB", "question by question"],
    ['rouse why JOB --from "supply-on-load/+5 V"', "where a step of the run book failed"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1) throw new InputError("one-job", "Name one job folder.");
    const job = await openJob(positionals[0] ?? ".");
    const checked = await checkJob(job);
    if (!checked.bench) {
      process.stderr.write(
        `${printIssues(`${positionals[0] ?? "."}/${checked.report.bench.file}`, checked.text, checked.issues)}\n`,
      );
      return 2;
    }
    const why = whyOfJob(job, checked, values.apart !== true);
    const from = typeof values.from === "string" ? values.from : undefined;
    const test = from === undefined ? undefined : (testOfStep(from) ?? from);
    if (test !== undefined && !why.model.tests.some(({ id }) => id === test))
      throw new InputError(
        "no-such-test",
        `No test goes on from “${visible(from!)}”; \`rouse why JOB --list\` lists them.`,
      );
    const given = [...texts(values.sees), ...texts(values.reading)];
    // All are read before the first is kept: nothing is half written.
    const answers = given.map((text) => why.read(text));
    for (const [index, one] of answers.entries()) {
      const other = answers.findIndex((each, at) => at < index && each.test === one.test);
      if (other >= 0)
        throw new InputError(
          "answered-twice",
          `“${visible(given[other]!)}” and “${visible(given[index]!)}” both answer “${why.model.tests.find(({ id }) => id === one.test)!.title}”: give one of them.`,
        );
    }
    if (values.fresh) await why.fresh();
    if (values.undo) await why.undo();
    for (const answer of answers) await why.answer(answer);
    const told = await why.told(from);
    if (values.json) {
      out.line(JSON.stringify(told, null, 2));
      return 0;
    }
    if (values.list) {
      printList(out, told, why);
      return 0;
    }
    const plain = given.length > 0 || values.undo || values.fresh || values.all;
    if (values.ask || (!plain && process.stdin.isTTY && process.stdout.isTTY)) {
      await converse(out, why, from);
      return 0;
    }
    printStanding(out, told, values.all === true);
    const next = told.asked ?? told.tests[0];
    if (next) {
      out.line(paint(out.colour, "bold", told.asked ? "The test you asked for" : "The next test"));
      printTest(out, next, false);
    }
    return 0;
  },
};
