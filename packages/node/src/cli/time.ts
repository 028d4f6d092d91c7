import { printIssues } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import {
  bestInterleave,
  type Fitted,
  fitMeasured,
  type InterleaveAnswer,
  JOBS,
  type JobWish,
  readMeasurement,
  type TimingAnswer,
  timeJob,
} from "@rouse/core/timing";
import { checkJob } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const seconds = (value: number) => formatValue(value, "time", 3);

/** `boot`, `load NAME`: the job, and the name where there is one. */
function readWish(text: string): JobWish {
  const [what, ...rest] = text.trim().split(/\s+/);
  const job = JOBS.find((each) => each === what);
  const name = rest.join(" ");
  if (!job || (job === "load") !== (name !== ""))
    throw new InputError("no-such-job", `“${text}” can't be timed; there is ${JOBS.join(", ")} (load with a NAME).`);
  return name === "" ? { what: job } : { what: job, name };
}

/** A bar for each part of the job, on one scale. */
function printWaterfall(out: Output, { parts }: TimingAnswer): void {
  const whole = Math.max(...parts.map((each) => each.start + each.length), 1e-9);
  const label = Math.min(34, Math.max(...parts.map((each) => each.name.length)));
  const room = Math.max(10, out.width - label - 14);
  for (const part of parts) {
    const from = Math.floor((part.start / whole) * room);
    const to = Math.max(from + 1, Math.ceil(((part.start + part.length) / whole) * room));
    const bar = " ".repeat(from) + "█".repeat(to - from);
    out.line(`  ${part.name.slice(0, label).padEnd(label)} ${seconds(part.length).padStart(9)} ${bar}`);
  }
}

function printAnswer(out: Output, answer: TimingAnswer, fitted: Fitted | undefined): void {
  const job = answer.name === null ? answer.what : `${answer.what} ${answer.name}`;
  out.line(
    paint(
      out.colour,
      "bold",
      answer.known
        ? `${job}: ${seconds(answer.seconds)} (${seconds(answer.low)} to ${seconds(answer.high)})`
        : `${job}: not known; at least ${seconds(answer.low)}`,
    ),
  );
  if (answer.missing.length > 0)
    for (const line of wrap(
      `needed: ${answer.missing.map((each) => `${each.key} (${each.label})`).join(", ")}`,
      out.width,
      "    ",
    ))
      out.line(line);
  if (answer.parts.length > 0) {
    out.line();
    printWaterfall(out, answer);
  }
  if (answer.totals.length > 0) {
    out.line();
    out.line("Where the time goes (lanes overlap):");
    const rows = answer.totals.map((each) => [
      `  ${each.lane}`,
      each.name,
      seconds(each.seconds),
      each.times === 1 ? "once" : `${formatNumber(each.times)} times`,
    ]);
    for (const line of columns(rows)) out.line(line);
  }
  for (const note of answer.notes) for (const line of wrap(note, out.width)) out.line(line);
  out.line();
  out.line("What it rests on:");
  const rows = answer.parameters
    .filter((each) => each.rests)
    .map((each) => [`  ${each.label}`, each.text, each.source?.title ?? `give ${each.key}`, each.note ?? ""]);
  for (const line of columns(rows)) out.line(line);
  if (!fitted) return;
  out.line();
  out.line("Fitted to what was measured:");
  for (const each of fitted.values) out.line(`  ${each.label}: ${each.text}, ${KNOWN[each.howWell]}`);
  for (const each of fitted.measurements) out.line(`  ${each.text}: the model gives ${seconds(each.fitted)}`);
  for (const line of wrap(fitted.sentence, out.width)) out.line(line);
}

const KNOWN = { well: "well known", roughly: "roughly known", not: "not known by this" } as const;

function printInterleave(out: Output, answer: InterleaveAnswer): void {
  out.line();
  const rate = (bytes: number) => `${formatNumber(bytes, 3)} bytes a second`;
  out.line(
    paint(
      out.colour,
      "bold",
      `Best interleave ${answer.interleave}, skew ${answer.skew}: ${rate(answer.bytesPerSecond)}; now ${answer.now.interleave} and ${answer.now.skew}: ${rate(answer.now.bytesPerSecond)}`,
    ),
  );
  if (!answer.known) out.line(`  as far as is known without ${answer.missing.map((each) => each.key).join(", ")}`);
  const most = Math.max(...answer.interleaves.map((each) => each.bytesPerSecond));
  const room = Math.max(10, out.width - 30);
  for (const point of answer.interleaves) {
    const bar = "█".repeat(Math.max(1, Math.round((point.bytesPerSecond / most) * room)));
    out.line(
      `  ${String(point.step).padStart(3)} ${`${formatNumber(point.turns, 3)} turns a track`.padEnd(20)} ${bar}`,
    );
  }
}

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Says how long the machine takes: to boot, to log in, to load a program, to format, write or verify the disk.",
    "Every step of the head, turn of the disk, byte of the bus and character of the line is simulated. What is not in",
    "the bench file is told as missing, with the key that would settle it; --measured fits it to times you took with a",
    "watch, and later answers carry the range that this leaves.",
  ],
  options: {
    what: { type: "string", value: "WHAT", about: `${JOBS.join(", ")}; load with a NAME. Without it, boot or login` },
    image: { type: "string", value: "NAME", about: "which image of the bench; the one that is shown unless said" },
    measured: {
      type: "string",
      value: "TIME",
      multiple: true,
      about: "what you measured: “boot 41 s”; may come again",
    },
    interleave: { type: "boolean", about: "also the best interleave and skew, with the curve" },
    json: { type: "boolean", about: "print everything for machines, with the spans of the waterfall (docs/timing.md)" },
  },
  examples: [
    ["rouse time demo/mended --what write", "how long writing the disk takes"],
    ['rouse time demo/mended --measured "boot 41 s" --what login', "what a measured boot says of the login"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1)
      throw new InputError("one-job", `One job at a time; “${positionals[1]}” is one too many.`);
    const job = await openJob(positionals[0] ?? ".");
    const { text, issues, bench, images, report } = await checkJob(job);
    if (!bench || issues.length > 0) {
      process.stderr.write(`${printIssues(`${positionals[0] ?? "."}/${report.bench.file}`, text, issues)}\n`);
      return 2;
    }
    const name = typeof values.image === "string" ? values.image : (bench.show?.image ?? bench.images[0])?.name;
    const image = images.find((each) => each.name === name);
    if (!image)
      throw new InputError(
        "no-such-image",
        name === undefined
          ? "The bench has no image; describe one under images."
          : `There is no image “${name}” on this bench; there is ${images.map((each) => `“${each.name}”`).join(", ")}.`,
      );
    if (image.problem !== undefined) throw new InputError("no-image", image.problem);
    const input = { bench, image };
    const usual = bench.show?.target === "login" ? "login" : "boot";
    const wish = readWish(typeof values.what === "string" ? values.what : usual);
    const measured = ((values.measured as string[] | undefined) ?? []).map(readMeasurement);
    const fitted = measured.length > 0 ? fitMeasured(input, measured) : undefined;
    const answer = timeJob(input, wish, fitted);
    const interleave = values.interleave ? bestInterleave(input, fitted) : undefined;
    if (values.json) {
      const shown = fitted && { ...fitted, samples: fitted.samples.map((each) => Object.fromEntries(each)) };
      out.line(
        JSON.stringify(
          { format: "rouse-timing", version: 1, answer, fitted: shown ?? null, interleave: interleave ?? null },
          null,
          2,
        ),
      );
      return 0;
    }
    printAnswer(out, answer, fitted);
    if (interleave) printInterleave(out, interleave);
    return 0;
  },
};
