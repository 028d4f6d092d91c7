import { mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import type { Bench, BenchImage, BenchWriter } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import { formatNumber } from "@rouse/core/quantity";
import {
  type Certificate,
  type Progress,
  planWrite,
  realOpener,
  runAdapter,
  runWrite,
  type WritePlan,
} from "../devices/write/index.ts";
import { checkJob } from "../job/index.ts";
import { stopsOf } from "../job/stops.ts";
import { appendLog, IMAGES_FOLDER, type Job, openJob, readImage, resolveInside } from "../store/index.ts";
import { wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const now = () => new Date();

/** The bench's image of that name, or a file of that name in `images/`. */
function imageName(bench: Bench, wish: string): { image?: BenchImage; file: string } {
  const image = bench.images.find((each) => each.name === wish);
  return image
    ? { image, file: image.file.replace(/^(\.\/)?images\//, "") }
    : { file: wish.replace(/^(\.\/)?images\//, "") };
}

function printPlan(out: Output, plan: WritePlan): void {
  const { target, image } = plan;
  out.line(
    `Image:   ${image.name}, ${formatNumber(image.bytes.length, 9)} bytes, ${image.format ?? "no volume recognised"}`,
  );
  out.line(`         SHA-256 ${image.sha256}`);
  out.line(
    `Target:  ${target.path}, ${target.kind}${target.model ? `, ${target.model}` : ""}${target.kind === "new file" ? "" : `, ${formatNumber(target.size, 9)} bytes`}${target.removable ? ", removable" : ""}, not mounted`,
  );
  if (target.kind !== "new file") out.line(`         it holds ${target.holds ?? "nothing that was recognised"}`);
  out.line(
    `Blocks:  ${formatNumber(plan.blocks)} of ${plan.blockSize} bytes, ${plan.stretch} at a time${plan.from > 0 ? `, going on at block ${formatNumber(plan.from)}` : ""}`,
  );
  out.line(
    plan.copyTo
      ? `Before:  what is on it is saved as images/${plan.copyTo}`
      : "Before:  nothing is saved of what is on it",
  );
}

/** Asks for the word that the target shows; anything else ends it. */
async function confirm(out: Output, word: string, given: unknown): Promise<void> {
  let answer = given;
  if (answer === undefined) {
    out.line(`To write, type the word “${word}”:`);
    const reader = createInterface({ input: process.stdin });
    answer = (await reader[Symbol.asyncIterator]().next()).value;
    reader.close();
  }
  if (String(answer ?? "").trim() !== word)
    throw new InputError("not-confirmed", "The word was not typed; nothing was written.");
}

/** One line that is painted over on a terminal, and a line each tenth elsewhere. */
function progressLine(quiet: boolean): (progress: Progress) => void {
  let last = "";
  return ({ stage, done, blocks, elapsed }) => {
    if (quiet) return;
    const left = done > 0 ? Math.round(((elapsed / done) * (blocks - done)) / 1000) : undefined;
    const text = `${stage} ${formatNumber(done)} of ${formatNumber(blocks)} blocks${left === undefined ? "" : `, ${left} s left`}`;
    if (process.stderr.isTTY) process.stderr.write(`\r\u001b[K${text}${done === blocks ? "\n" : ""}`);
    else {
      const tenth = `${stage} ${Math.floor((done / blocks) * 10)}`;
      if (tenth !== last || done === blocks) process.stderr.write(`${text}\n`);
      last = tenth;
    }
  };
}

function printCertificate(out: Output, certificate: Certificate): void {
  for (const each of certificate.bad)
    for (const line of wrap(
      `■ block ${formatNumber(each.block)}: ${each.why} after ${each.tries} tries; it holds ${each.holds}`,
      out.width,
    ))
      out.line(line);
  out.line(
    certificate.verified
      ? `● ${formatNumber(certificate.blocks)} blocks written and read back the same${certificate.pastCache ? ", past the host's cache" : " (the host's cache could not be passed by)"}, ${certificate.retries} retries.`
      : `■ ${certificate.bad.length} of ${formatNumber(certificate.blocks)} blocks are bad. The disk is not to be trusted; try another one.`,
  );
  out.line("The certificate is in the job's log.");
}

/** Writes through the person's own adapter, and reads back where the bench says how. */
async function throughAdapter(
  out: Output,
  job: Job,
  writer: BenchWriter,
  image: { file: string; image?: BenchImage },
  signal: AbortSignal,
): Promise<number> {
  const { bytes, sha256 } = await readImage({ job, name: image.file });
  const folder = await mkdtemp(join(tmpdir(), "rouse-back-"));
  const back = join(folder, "back.img");
  const values = {
    image: await resolveInside(job.folder, `${IMAGES_FOLDER}/${image.file}`),
    back,
    drive: String(image.image?.drive?.unit ?? 0),
    tracks: String(image.image?.recording?.geometry.tracks ?? ""),
    sides: String(image.image?.recording?.geometry.sides ?? ""),
  };
  const limit = writer.limit?.value ?? 600;
  const onShare = (share: number) => process.stderr.write(`${Math.round(share * 100)} %\n`);
  const started = now().toISOString();
  try {
    const shared = { limit, ...(writer.progress === undefined ? {} : { progress: writer.progress }) };
    const run = await runAdapter({ command: writer.command as [string, ...string[]], ...shared }, values, {
      onShare,
      signal,
    });
    let verified: boolean | null = null;
    if (writer.readBack) {
      await runAdapter({ command: writer.readBack as [string, ...string[]], ...shared }, values, { onShare, signal });
      const read = await readFile(back).catch(() => Buffer.alloc(0));
      verified = Buffer.compare(read, bytes) === 0;
    }
    await appendLog(
      job,
      {
        kind: "adapter-certificate",
        image: { name: image.file, sha256, size: bytes.length },
        writer: writer.name,
        output: run.output.slice(-65_536),
        seconds: run.seconds,
        verified,
        started,
        ended: now().toISOString(),
      },
      now,
    );
    out.line(
      verified === null
        ? "○ Written; the bench does not say how to read it back (writers.….readBack), so it is not verified."
        : verified
          ? "● Written and read back the same."
          : "■ What was read back differs from the image.",
    );
    return verified === false ? 1 : 0;
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

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
    json: { type: "boolean", about: "print the certificate for machines" },
  },
  examples: [
    ["rouse write demo/mended tern /tmp/tern-disk.img --dry", "what would happen"],
    ["rouse write my-job system /dev/sdb", "onto the drive that the system shows as /dev/sdb"],
  ],
  async run({ positionals, values }, out) {
    const [folder, wish, target, again, extra] = positionals;
    const writerName = typeof values.writer === "string" ? values.writer : undefined;
    if (
      folder === undefined ||
      wish === undefined ||
      (target === undefined) === (writerName === undefined) ||
      extra !== undefined
    )
      throw new InputError(
        "three-names",
        "Name a job, an image and a target: rouse write JOB IMAGE TARGET (or --writer NAME).",
      );
    const job = await openJob(folder);
    const { report, issues, bench } = await checkJob(job);
    if (!bench)
      throw new InputError("bad-bench", `The bench file has ${issues.length} errors; \`rouse check\` shows them.`);
    const image = imageName(bench, wish);
    const stops = stopsOf(report, image.image?.name);
    if (image.image && stops.length > 0 && !values.despite)
      throw new InputError("does-not-fit", `${stops.join(" ")} Nothing was written; --despite writes all the same.`);
    const stopping = new AbortController();
    const onSignal = () => stopping.abort();
    process.on("SIGINT", onSignal);
    process.on("SIGTERM", onSignal);
    try {
      if (writerName !== undefined) {
        const writer = bench.writers.find((each) => each.name === writerName);
        if (!writer) throw new InputError("no-writer", `The bench file has no writer “${writerName}”.`);
        await confirm(out, writer.name, values.confirm);
        return await throughAdapter(out, job, writer, image, stopping.signal);
      }
      const request = {
        job,
        image: image.file,
        target: target!,
        ...(again === undefined ? {} : { again }),
        resume: values.resume === true,
        withoutCopy: values["no-copy"] === true,
      };
      const plan = await planWrite(request, realOpener, now);
      if (!values.json) printPlan(out, plan);
      if (values.dry) {
        out.line("Dry run: nothing was opened for writing.");
        return 0;
      }
      await confirm(out, plan.target.word, values.confirm);
      const certificate = await runWrite(plan, realOpener, {
        now,
        onProgress: progressLine(values.json === true),
        signal: stopping.signal,
      });
      if (values.json) out.line(JSON.stringify(certificate, null, 2));
      else printCertificate(out, certificate);
      return certificate.verified ? 0 : 1;
    } finally {
      process.off("SIGINT", onSignal);
      process.off("SIGTERM", onSignal);
    }
  },
};
