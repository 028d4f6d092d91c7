import { createHash } from "node:crypto";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Bench, BenchWriter } from "@rouse/core/bench";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { IMAGES_FOLDER, type Job, readImage, resolveInside, writeWhole } from "../../store/index.ts";
import { type AdapterRun, fillPlaceholders, runAdapter } from "./adapter.ts";
import { type Certificate, certify, stageClock } from "./certificate.ts";
import type { BadBlock, Stage } from "./engine.ts";
import type { TargetFacts } from "./facts.ts";
import { inImages } from "./on-bench.ts";
import { copyName, type PlannedWrite, plannedImage, type World } from "./session.ts";

/** A write through an adapter of the person's: its program writes the disk whole. */
export interface AdapterPlan extends PlannedWrite {
  job: Job;
  writer: BenchWriter;
  /** What the placeholders of its command stand for; `back` is known only when it runs. */
  values: Readonly<Record<string, string>>;
}

export interface AdapterRequest {
  job: Job;
  image: string;
  /** Name under `writers` in the bench file. */
  writer: string;
  withoutCopy?: boolean;
  resume?: boolean;
}

/** Seconds of a program for which the bench file gives no limit. */
const USUAL_LIMIT = 600;
/** How often what was written is read before a block is called bad. */
const READS = 3;
/** Characters of the program's output that stay in the certificate. */
const OUTPUT_KEPT = 65_536;
/** Shown in place of the file that the reading program fills. */
const BACK = "a temporary file";

/** Looks at the image and at how the bench file calls the adapter; starts nothing. */
export async function planAdapter(request: AdapterRequest, bench: Bench, now: () => Date): Promise<AdapterPlan> {
  const { job, image: name, withoutCopy, resume } = request;
  const writer = bench.writers.find((each) => each.name === request.writer);
  if (!writer) throw new InputError("no-writer", `The bench file has no writer “${visible(request.writer)}”.`);
  if (resume)
    throw new InputError("nothing-to-resume", `“${writer.name}” writes a disk whole; begin anew without --resume.`);
  const planned = await plannedImage(job, name);
  const image = bench.images.find((each) => inImages(each.file) === name);
  const values = {
    image: await resolveInside(job.folder, `${IMAGES_FOLDER}/${name}`),
    drive: String(image?.drive?.unit ?? 0),
    tracks: String(image?.recording?.geometry.tracks ?? ""),
    sides: String(image?.recording?.geometry.sides ?? ""),
  };
  const shown = { ...values, back: BACK };
  const target: TargetFacts = {
    path: writer.name,
    kind: "adapter",
    size: 0,
    mounted: [],
    word: writer.name,
    calls: {
      write: fillPlaceholders(writer.command, shown),
      readBack: writer.readBack ? fillPlaceholders(writer.readBack, shown) : null,
    },
  };
  const copyTo = withoutCopy || !writer.readBack ? null : copyName(writer.name, now);
  return { ...planned, job, writer, values, target, from: 0, copyTo };
}

/** Throws an `InputError` where the image is no longer that of the plan; what is in the drive is not seen. */
export async function refuseOtherImage({ job, image }: AdapterPlan): Promise<void> {
  if ((await readImage({ job, name: image.name })).sha256 === image.sha256) return;
  throw new InputError("target-changed", "The image changed since the plan was made; look again.");
}

/**
 * Saves what is on the disk where the adapter can read, writes, reads back and compares block by block, and leaves a
 * certificate in the job's log. Throws an `InputError` where a program cannot be started, fails or hangs.
 */
export async function runThroughAdapter(plan: AdapterPlan, world: World): Promise<Certificate> {
  const { job, writer, blocks } = plan;
  const started = world.now().toISOString();
  const clock = stageClock(world.onProgress);
  const folder = await mkdtemp(join(tmpdir(), "rouse-back-"));
  const back = join(folder, "back.img");
  const call = async (stage: Stage, command: readonly string[]): Promise<AdapterRun> => {
    const from = world.now().getTime();
    const tell = (share: number): void =>
      clock.onProgress({ stage, done: Math.round(share * blocks), blocks, elapsed: world.now().getTime() - from });
    tell(0);
    const run = await runAdapter(
      {
        command: command as [string, ...string[]],
        limit: writer.limit?.value ?? USUAL_LIMIT,
        ...(writer.progress === undefined ? {} : { progress: writer.progress }),
      },
      { ...plan.values, back },
      { onShare: tell, ...(world.signal ? { signal: world.signal } : {}) },
    );
    tell(1);
    return run;
  };
  const read = async (stage: Stage, command: readonly string[]): Promise<Uint8Array> => {
    await rm(back, { force: true });
    await call(stage, command);
    return (await readImage(back).catch(absent)).bytes;
  };
  try {
    if (plan.copyTo !== null && writer.readBack) {
      const before = await read("saving", writer.readBack).catch(notSaved);
      if (before.length === 0) notSaved(new InputError("no-file", "The writer's reading program left no file."));
      await writeWhole(await resolveInside(job.folder, `${IMAGES_FOLDER}/${plan.copyTo}`), before);
    }
    const { output } = await call("writing", writer.command);
    const compared = writer.readBack
      ? await compare(plan, () => read("verifying", writer.readBack!))
      : { bad: [], retries: 0, sha256ReadBack: null };
    const outcome = {
      ...compared,
      resumedFrom: 0,
      copyOfBefore: plan.copyTo,
      unreadBefore: 0,
      compared: writer.readBack !== undefined,
      // Its programs read the disk; no cache of the host lies between.
      pastCache: true,
      seconds: clock.seconds,
      started,
      output: output.slice(-OUTPUT_KEPT),
    };
    return await certify(job, plan, outcome, world.now);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

function notSaved(error: unknown): never {
  if (!(error instanceof InputError)) throw error;
  const why = error.code === "interrupted" ? "Stopped." : error.message;
  const sentence = `${why} What is on the disk was not saved, and nothing was written; without a copy it can be written all the same.`;
  throw new InputError("not-saved", sentence);
}

const absent = (error: unknown): { bytes: Uint8Array } => {
  if (error instanceof InputError && error.code === "no-such-file") return { bytes: new Uint8Array(0) };
  throw error;
};

/** Compares what is read with the image; while blocks differ it is read again, and each needs to be right once. */
async function compare(
  { image, blocks, blockSize }: AdapterPlan,
  read: () => Promise<Uint8Array>,
): Promise<{ bad: BadBlock[]; retries: number; sha256ReadBack: string | null }> {
  let open = Array.from({ length: blocks }, (_, block) => block);
  let found: Uint8Array = new Uint8Array(0);
  let reads = 0;
  const part = (bytes: Uint8Array, block: number) => bytes.subarray(block * blockSize, (block + 1) * blockSize);
  while (open.length > 0 && reads < READS) {
    found = await read();
    reads++;
    open = open.filter((block) => Buffer.compare(part(found, block), part(image.bytes, block)) !== 0);
  }
  const why = (block: number): string =>
    part(found, block).length === 0 ? "it is not in what was read back" : "what is read differs from the image";
  const bad = open.map((block) => ({ block, tries: reads, why: why(block) }));
  // Each block was right in one reading or another; a file longer than the image is not it all the same.
  const same = found.length === image.bytes.length ? image.sha256 : createHash("sha256").update(found).digest("hex");
  const sha256ReadBack = bad.length > 0 ? null : same;
  return { bad, retries: reads - 1, sha256ReadBack };
}
