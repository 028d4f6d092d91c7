import { createHash, randomUUID } from "node:crypto";
import { printIssues } from "@rouse/core/bench";
import { visible } from "@rouse/core/bytes";
import { testOfStep } from "@rouse/core/diagnose/why";
import { InputError } from "@rouse/core/errors";
import { nearest } from "@rouse/core/errors/nearest";
import { formatDuration } from "@rouse/core/quantity";
import {
  type Evidence,
  entryOf,
  makeRunBook,
  paperHtml,
  type RunBook,
  type Step,
  type StepState,
  stateOf,
} from "@rouse/core/runbook";
import { checkJob } from "../job/index.ts";
import { appendLog, type Job, openInside, openJob, readLog, readWhole, writeNew } from "../store/index.ts";
import { paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const MARK = { done: "●", open: "○", "no longer holds": "▲" } as const;
const COLOUR = { done: "green", open: "blue", "no longer holds": "yellow" } as const;
const FILE_LIMIT = 64 * 1024 * 1024;

function printEvidence(out: Output, { at, what, reading, note, file }: Evidence): void {
  const parts = [reading?.text, note, file?.path].flatMap((each) => (each === undefined ? [] : [visible(each)]));
  const outside = reading && !reading.within ? ", out of tolerance" : "";
  out.line(`      ${at.slice(0, 16).replace("T", " ")} ${[what, ...parts].join(": ")}${outside}`);
}

function printStep(out: Output, { step, state, evidence, remark }: StepState, whole: boolean): void {
  const time = `${step.time.from === "at least" ? "≥ " : ""}${formatDuration(step.time.seconds)}`;
  const head = `${MARK[state]} ${step.title}${state === "no longer holds" ? " (no longer holds)" : ""}`;
  out.line(`  ${paint(out.colour, COLOUR[state], head)}  ${paint(out.colour, "faint", `${step.id} · ${time}`)}`);
  const say = (label: string, text: string) => {
    for (const line of wrap(`${label}${text}`, out.width, "      ")) out.line(line);
  };
  if (remark !== undefined && (state !== "no longer holds" || whole)) say("", remark);
  for (const warning of step.warnings) say("■ ", warning);
  if (whole) {
    say("why: ", step.why);
    for (const each of step.how) say("- ", each);
    say("expected: ", step.expected);
    if (step.tools.length > 0) say("tools: ", step.tools.join(", "));
    say("if not: ", step.fails.say);
    for (const id of step.fails.checks) say("", `\`rouse check JOB --explain ${id}\``);
  }
  const failed = evidence.at(-1)?.reading?.within === false;
  if ((whole || failed) && testOfStep(step.id) !== undefined)
    say(failed ? "▲ " : "", `\`rouse why JOB --from "${step.id}"\` goes on from here`);
  if (step.missing.length > 0 && (whole || state !== "done"))
    say("missing in the bench file: ", step.missing.join(", "));
  for (const each of evidence) printEvidence(out, each);
}

function stepNamed(book: RunBook, id: string): Step {
  const step = book.steps.find((each) => each.id === id);
  if (step) return step;
  const ids = book.steps.map((each) => each.id);
  const close = nearest(id, ids);
  throw new InputError(
    "no-such-step",
    `This bench has no step “${visible(id)}”; ${close ? `did you mean “${close}”?` : "`rouse plan JOB` lists them."}`,
  );
}

async function fileOf(job: Job, path: string): Promise<{ path: string; sha256: string }> {
  const handle = await openInside(job.folder, path);
  try {
    const bytes = await readWhole(handle, path, FILE_LIMIT);
    return { path, sha256: createHash("sha256").update(bytes).digest("hex") };
  } finally {
    await handle.close();
  }
}

/** What is to be logged, if anything. */
async function logged(job: Job, book: RunBook, values: Record<string, unknown>) {
  const text = (key: string) => (typeof values[key] === "string" ? values[key] : undefined);
  const verbs = (["tick", "reopen", "at"] as const).filter((key) => text(key) !== undefined);
  const [reading, note, file] = [text("reading"), text("note"), text("file")];
  if (verbs.length === 0) {
    if (reading !== undefined || note !== undefined || file !== undefined)
      throw new InputError("no-step", "Say at which step: --tick STEP, or --at STEP for a note alone.");
    return undefined;
  }
  if (verbs.length > 1) throw new InputError("one-step", `One thing at a time: --${verbs.join(" or --")}.`);
  const verb = verbs[0]!;
  if (verb === "at" && note === undefined && file === undefined)
    throw new InputError("no-evidence", "--at STEP wants --note or --file.");
  if (verb !== "tick" && reading !== undefined)
    throw new InputError("reading-ticks", "A reading goes with --tick STEP.");
  const step = stepNamed(book, text(verb)!);
  return entryOf(step, {
    what: verb === "at" ? (file === undefined ? "note" : "file") : verb,
    id: randomUUID(),
    ...(reading === undefined ? {} : { reading }),
    ...(note === undefined ? {} : { note }),
    ...(file === undefined ? {} : { file: await fileOf(job, file) }),
  });
}

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Lists the ordered steps that this bench needs: cautions, inspection, supply, boards, memory, cable, disk, line, boot, show, putting back.",
    "Ticks, readings, notes and files are added to the job's log with their time, and nothing is ever taken out of it. A step",
    "whose bench has changed since it was ticked no longer holds. Exit code 1: a reading was out of tolerance.",
  ],
  options: {
    all: { type: "boolean", about: "why, how, expected, tools and what to do when it fails, for every step" },
    step: { type: "string", value: "STEP", about: "only this step, with everything" },
    tick: { type: "string", value: "STEP", about: "this step is done" },
    reading: { type: "string", value: "VALUE", about: "what the meter showed; it is compared with the tolerance" },
    note: { type: "string", value: "TEXT", about: "words to keep with the step" },
    file: { type: "string", value: "PATH", about: "a photograph or capture in the job folder, kept with its SHA-256" },
    at: { type: "string", value: "STEP", about: "where a note or file belongs that does not tick the step" },
    reopen: { type: "string", value: "STEP", about: "this step is not done after all" },
    paper: { type: "string", value: "FILE", about: "write a checklist as one HTML page that prints well" },
    json: { type: "boolean", about: "print steps, states and evidence for machines" },
  },
  examples: [
    ["rouse plan demo/mended", "the steps of the demo's bench"],
    ['rouse plan JOB --tick "supply-off-load/+5 V" --reading "5.02 V"', "a reading, compared and kept"],
    ["rouse plan demo/mended --paper /tmp/run-book.html", "a checklist for the printer"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1) throw new InputError("one-job", "Name one job folder.");
    const job = await openJob(positionals[0] ?? ".");
    const { text, issues, bench, chain, images, report } = await checkJob(job);
    if (!bench || issues.length > 0) {
      process.stderr.write(`${printIssues(`${positionals[0] ?? "."}/${report.bench.file}`, text, issues)}\n`);
      return 2;
    }
    const book = makeRunBook(bench, images, chain);
    const entry = await logged(job, book, values);
    if (entry) await appendLog(job, { ...entry.entry }, () => new Date());
    const log = await readLog(job);
    const { steps, left } = stateOf(book, log.entries);
    const code = entry?.within === false ? 1 : 0;
    if (typeof values.paper === "string") {
      await writeNew(values.paper, new TextEncoder().encode(paperHtml(book, steps)));
      out.line(`${visible(values.paper)} is written; print it from a browser.`);
      return code;
    }
    if (values.json) {
      const shown = steps.map(({ step, ...rest }) => ({ ...step, ...rest }));
      out.line(
        JSON.stringify({ format: "rouse-run-book", version: 1, bench: book.bench, steps: shown, left }, null, 2),
      );
      return code;
    }
    const only = typeof values.step === "string" ? stepNamed(book, values.step).id : entry?.entry.step;
    if (entry?.sentence) out.line(`${entry.within ? "●" : "■"} ${entry.sentence}`);
    let stage = "";
    for (const each of steps.filter(({ step }) => only === undefined || step.id === only)) {
      if (each.step.stage !== stage && only === undefined) out.line(paint(out.colour, "bold", each.step.stage));
      stage = each.step.stage;
      printStep(out, each, values.all === true || typeof values.step === "string");
    }
    if (only !== undefined) return code;
    const count = (state: StepState["state"]) => steps.filter((each) => each.state === state).length;
    out.line();
    out.line(
      `${steps.length} steps: ${count("done")} done, ${count("open")} open, ${count("no longer holds")} no longer hold.`,
    );
    if (left.length > 0) {
      out.line("Done at steps that this bench no longer has:");
      for (const { step, evidence } of left) {
        out.line(`  ${visible(step)}`);
        for (const each of evidence) printEvidence(out, each);
      }
    }
    for (const { sentence } of log.bad) out.line(`▲ ${sentence}`);
    if (log.torn) out.line(`▲ The last line of the log is torn (${log.torn.length} bytes); it is not counted.`);
    return code;
  },
};
