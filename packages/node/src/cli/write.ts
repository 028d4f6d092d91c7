import { createInterface } from "node:readline";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import {
  type Certificate,
  type Estimate,
  type Estimates,
  inImages,
  type OnBench,
  onBench,
  type PlannedWrite,
  type Progress,
  readyAdapter,
  readyTarget,
  realOpener,
  type Stage,
  stopsOf,
} from "../devices/write/index.ts";
import { checkJob } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { columns, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const now = () => new Date();

/** "1.01 s", "14 min 24 s". */
const seconds = (value: number): string =>
  value < 120 ? formatValue(value, "time", 3) : `${Math.floor(Math.round(value) / 60)} min ${Math.round(value) % 60} s`;
const MARKS = { runs: "●", tight: "▲", stops: "■", unknown: "○" } as const;
const STAGES: readonly (readonly [Stage, string])[] = [
  ["saving", "saving"],
  ["writing", "writing"],
  ["verifying", "verifying"],
];

/** "14.4 min", or "at least 12 s" where a number of the bench is missing. */
const modelWords = ({ known, seconds: mean, low }: Estimate): string =>
  known ? seconds(mean) : `at least ${seconds(low)}`;

/** Rows with a name in front; long ones go on below. */
function printRows(out: Output, rows: readonly (readonly [string, readonly string[]])[]): void {
  for (const [name, texts] of rows)
    for (const [index, line] of texts.flatMap((each) => wrap(each, out.width - 9)).entries())
      out.line(`${(index === 0 ? `${name}:` : "").padEnd(9)}${line}`);
}

function printPlan(out: Output, plan: PlannedWrite, about: OnBench): void {
  const { target, image, blocks, blockSize, from, copyTo } = plan;
  const isNew = target.kind === "new file" || target.kind === "adapter";
  const what = [
    target.kind,
    target.model && visible(target.model),
    isNew ? "" : `${formatNumber(target.size, 9)} bytes`,
    target.removable ? "removable" : "",
    target.kind === "adapter" ? "" : "not mounted",
  ].filter(Boolean);
  const calls = target.calls;
  const quoted = (command: readonly string[]) => command.map((each) => visible(each)).join(" ");
  const { estimates } = about;
  printRows(out, [
    [
      "Image",
      [
        `${visible(image.name)}, ${formatNumber(image.bytes.length, 9)} bytes, ${image.format ?? "no volume recognised"}`,
        `SHA-256 ${image.sha256}`,
      ],
    ],
    [
      "Target",
      [
        `${visible(target.path)}, ${what.join(", ")}`,
        ...(isNew ? [] : [`it holds ${visible(target.holds ?? "nothing that was recognised")}`]),
        ...(calls ? [`calls ${quoted(calls.write)}`] : []),
        ...(calls?.readBack ? [`reads back by ${quoted(calls.readBack)}`] : []),
      ],
    ],
    [
      "Blocks",
      [`${formatNumber(blocks)} of ${blockSize} bytes${from > 0 ? `, going on at block ${formatNumber(from)}` : ""}`],
    ],
    ["Before", [copyTo ? `what is on it is saved as images/${visible(copyTo)}` : "nothing is saved of what is on it"]],
    [
      "Fit",
      about.fit.map(({ verdict, sentence, remedy }) => {
        const then = verdict === "runs" || !remedy ? "" : ` ${visible(remedy)}`;
        return `${MARKS[verdict]} ${verdict}: ${visible(sentence)}${then}`;
      }),
    ],
    [
      "Time",
      [
        estimates
          ? `the bench's drive would write for ${modelWords(estimates.writing)} and read back for ${modelWords(estimates.verifying)}, by the timing model`
          : (about.noEstimate ?? "not known"),
      ],
    ],
  ]);
}

/** Asks for the word that the target shows; anything else ends it. */
async function confirm(out: Output, word: string, given: unknown, signal: AbortSignal): Promise<void> {
  let answer = given;
  if (answer === undefined) {
    out.line(`To write, type the word “${visible(word)}”:`);
    const reader = createInterface({ input: process.stdin, signal });
    answer = await new Promise((resolve) => {
      reader.once("line", resolve);
      reader.once("close", () => resolve(undefined));
    });
    reader.close();
  }
  if (String(answer ?? "").trim() !== word)
    throw new InputError("not-confirmed", "The word was not typed; nothing was written.");
}

/** One line that is painted over on a terminal, and a line each tenth elsewhere. */
function progressLine(quiet: boolean, estimates: Estimates | null): (progress: Progress) => void {
  let last = "";
  return ({ stage, done, blocks, elapsed }) => {
    if (quiet) return;
    const left = done > 0 ? Math.round(((elapsed / done) * (blocks - done)) / 1000) : undefined;
    const estimate = estimates?.[stage];
    // Where the model would be by now: the person sees at a glance whether their drive keeps up with it.
    const reached = estimate && Math.min(blocks, Math.floor((elapsed / 1000 / Math.max(estimate.low, 1e-9)) * blocks));
    const text = [
      `${stage} ${formatNumber(done)} of ${formatNumber(blocks)} blocks`,
      ...(left === undefined ? [] : [`${seconds(left)} left`]),
      ...(estimate ? [`the model: block ${formatNumber(reached!)}, ${modelWords(estimate)} in all`] : []),
    ].join(", ");
    if (process.stderr.isTTY) {
      const shown = text.slice(0, Math.max(20, (process.stderr.columns ?? 80) - 1));
      process.stderr.write(`\r\u001b[K${shown}${done === blocks ? "\n" : ""}`);
    } else {
      const tenth = `${stage} ${Math.floor((done / blocks) * 10)}`;
      if (tenth !== last || done === blocks) process.stderr.write(`${text}\n`);
      last = tenth;
    }
  };
}

/** Each stage as it went, and as the timing model says of the bench's drive. */
function printTimes(out: Output, certificate: Certificate, { estimates, noEstimate }: OnBench): void {
  const rows = STAGES.filter(([stage]) => certificate.seconds[stage] !== undefined).map(([stage, name]) => [
    `  ${name}`,
    seconds(certificate.seconds[stage]!),
    estimates ? modelWords(estimates[stage]) : "not known",
  ]);
  for (const line of columns([["  stage", "here", "the bench's drive, by the model"], ...rows])) out.line(line);
  if (!estimates && noEstimate) for (const line of wrap(noEstimate, out.width, "  ")) out.line(line);
}

function printCertificate(out: Output, certificate: Certificate): void {
  const { bad, verified, compared, blocks, pastCache, retries, target } = certificate;
  for (const each of bad)
    for (const line of wrap(
      `■ block ${formatNumber(each.block)}: ${each.why} after ${each.tries} tries; it holds ${visible(each.holds)}`,
      out.width,
    ))
      out.line(line);
  const how = target.kind === "adapter" ? "" : pastCache ? ", past the host's cache" : CACHED;
  const outcome = !compared
    ? "○ Written; the bench does not say how to read it back (writers.….readBack), so it is not verified."
    : verified
      ? `● ${formatNumber(blocks)} blocks written and read back the same${how}, ${retries} retries.`
      : bad.length > 0
        ? `■ ${formatNumber(bad.length)} of ${formatNumber(blocks)} blocks are bad. The disk is not to be trusted; try another one.`
        : "■ What was read back is not the image. The disk is not to be trusted; try another one.";
  for (const line of wrap(outcome, out.width)) out.line(line);
}

const CACHED = " (the host's cache could not be passed by)";

export const verb: Verb = {
  usage: "JOB IMAGE TARGET [TARGET]",
  help: [
    "Writes an image onto a real disk, and verifies every block by reading it back.",
    "TARGET is a block device or a file. It must not be mounted and must have just the image's size; above 4 MiB it must be",
    "named twice. What was on it is saved into the job's images/ first. You confirm with a word that the target shows.",
    "A journal keeps an interrupted write: --resume goes on at the right block. A certificate goes into the job's log.",
  ],
  options: {
    dry: { type: "boolean", about: "say what would be done, and open nothing for writing" },
    resume: { type: "boolean", about: "go on with an interrupted write" },
    confirm: { type: "string", value: "WORD", about: "the word, for scripts" },
    "no-copy": { type: "boolean", about: "do not save what is on the target" },
    despite: { type: "boolean", about: "write although the check says that image, medium and drive do not fit" },
    writer: { type: "string", value: "NAME", about: "write through this adapter of the bench file; no TARGET then" },
    json: { type: "boolean", about: "print the certificate for machines; with --dry the plan" },
  },
  examples: [
    ["rouse write demo/mended tern /tmp/tern-disk.img --dry", "what would happen"],
    ["rouse write my-job system /dev/sdb", "onto the drive that the system shows as /dev/sdb"],
  ],
  async run({ positionals, values }, out) {
    const [folder, wish, target, again, extra] = positionals;
    const writer = typeof values.writer === "string" ? values.writer : undefined;
    if (
      folder === undefined ||
      wish === undefined ||
      (target === undefined) === (writer === undefined) ||
      extra !== undefined
    )
      throw new InputError(
        "three-names",
        "Name a job, an image and a target: rouse write JOB IMAGE TARGET (or --writer NAME).",
      );
    const job = await openJob(folder);
    const checked = await checkJob(job);
    const { bench, issues } = checked;
    if (!bench)
      throw new InputError("bad-bench", `The bench file has ${issues.length} errors; \`rouse check\` shows them.`);
    const image = inImages(bench.images.find((each) => each.name === wish)?.file ?? wish);
    const stopping = new AbortController();
    const onSignal = () => stopping.abort();
    process.on("SIGINT", onSignal);
    process.on("SIGTERM", onSignal);
    try {
      const shared = { job, image, resume: values.resume === true, withoutCopy: values["no-copy"] === true };
      const { plan, recheck, run } = await (writer === undefined
        ? readyTarget({ ...shared, target: target!, ...(again === undefined ? {} : { again }) }, realOpener, now)
        : readyAdapter({ ...shared, writer }, bench, now));
      const about = onBench({ ...checked, bench }, image);
      const stops = stopsOf(about.fit).map(({ sentence }) => sentence);
      if (!values.json) printPlan(out, plan, about);
      if (values.dry) {
        if (values.json) out.line(JSON.stringify(planJson(plan, about), null, 2));
        else out.line("Dry run: nothing was opened for writing.");
        if (stops.length > 0 && !values.despite && !values.json)
          out.line("It would be refused: the check says that it does not fit; --despite writes all the same.");
        return stops.length > 0 && !values.despite ? 1 : 0;
      }
      if (stops.length > 0 && !values.despite)
        throw new InputError("does-not-fit", `${stops.join(" ")} Nothing was written; --despite writes all the same.`);
      await confirm(out, plan.target.word, values.confirm, stopping.signal);
      // The person took their time: the disk may have been changed, or mounted, meanwhile.
      await recheck();
      const certificate = await run({
        now,
        onProgress: progressLine(values.json === true, about.estimates),
        signal: stopping.signal,
      });
      if (values.json) out.line(JSON.stringify(certificate, null, 2));
      else {
        printCertificate(out, certificate);
        printTimes(out, certificate, about);
        out.line("The certificate is in the job's log.");
      }
      return certificate.verified || !certificate.compared ? 0 : 1;
    } finally {
      process.off("SIGINT", onSignal);
      process.off("SIGTERM", onSignal);
    }
  },
};

/** The plan for machines, without the image's bytes. */
const planJson = (plan: PlannedWrite, about: OnBench): object => ({
  format: "rouse-write-plan",
  version: 1,
  image: { name: plan.image.name, sha256: plan.image.sha256, size: plan.image.bytes.length, format: plan.image.format },
  target: plan.target,
  blocks: plan.blocks,
  blockSize: plan.blockSize,
  from: plan.from,
  copyTo: plan.copyTo,
  fit: about.fit,
  estimates: about.estimates,
  noEstimate: about.noEstimate,
});
