import { createHash } from "node:crypto";
import { basename, resolve } from "node:path";
import { InputError } from "@rouse/core/errors";
import { surveyAndOpen, type Volume } from "@rouse/core/volume";
import { IMAGES_FOLDER, type Job, readImage, resolveInside, writeWhole } from "../../store/index.ts";
import { type Certificate, certify, stageClock } from "./certificate.ts";
import type { BlockDevice, DeviceOpener } from "./device.ts";
import { type BadBlock, type Progress, saveBefore, verifyBlocks, writeBlocks } from "./engine.ts";
import { refuseUnfit, type TargetFacts, targetFacts } from "./facts.ts";
import { beginJournal, continueJournal, endJournal, type JournalHead, readJournal } from "./journal.ts";

export interface WriteRequest {
  job: Job;
  /** Name in the job's `images/`. */
  image: string;
  target: string;
  /** The target once more, for those larger than a flexible disk. */
  again?: string;
  resume?: boolean;
  /** Leave what is on the target unsaved. */
  withoutCopy?: boolean;
}

/** An image as it is to be written. */
export interface PlannedImage {
  image: { name: string; bytes: Uint8Array; sha256: string; format: string | null };
  volume: Volume | null;
  blockSize: number;
  blocks: number;
}

/** What a write would do, through whatever target. */
export interface PlannedWrite extends PlannedImage {
  target: TargetFacts;
  /** First block to write: 0, or where an interrupted write goes on. */
  from: number;
  /** File in `images/` that keeps what was on the target; null where there is nothing or the person does not want it. */
  copyTo: string | null;
}

/** A write to a block device or file; made without opening anything for writing. */
export interface WritePlan extends PlannedWrite {
  request: WriteRequest;
  /** Blocks of a track, the stretch between two waits for the device. */
  stretch: number;
}

/** What a write is carried out with. */
export interface World {
  now(): Date;
  onProgress?(progress: Progress): void;
  /** Ends it cleanly after the stretch at hand. */
  signal?: AbortSignal;
}

/** Blocks between two waits where the layout is not known. */
const USUAL_STRETCH = 32;

/** Reads an image and what volume it is. */
export async function plannedImage(job: Job, name: string): Promise<PlannedImage> {
  const { bytes, sha256 } = await readImage({ job, name });
  const { volume } = surveyAndOpen(bytes);
  const blockSize = volume?.geometry.zones[0]?.size ?? 256;
  const image = { name, bytes, sha256, format: volume?.format ?? null };
  return { image, volume, blockSize, blocks: Math.ceil(bytes.length / blockSize) };
}

/** Name in `images/` for a copy of what a target holds. */
export const copyName = (target: string, now: () => Date): string =>
  `before-${basename(target).replaceAll(/[^\w.-]/g, "_")}-${now().toISOString().replaceAll(/[:.]/g, "-")}.img`;

/** Looks at image and target and refuses what must not be done. Opens nothing for writing. */
export async function planWrite(request: WriteRequest, opener: DeviceOpener, now: () => Date): Promise<WritePlan> {
  const { job, again, resume, withoutCopy } = request;
  // Its journal must be found again from any folder.
  const target = resolve(request.target);
  const planned = await plannedImage(job, request.image);
  const { bytes, sha256 } = planned.image;
  const facts = await targetFacts(target, opener);
  const known = await readJournal(job, target);
  // A file that an interrupted write created may be shorter than the image; its journal vouches for it.
  if (!(resume && known?.head.created && facts.size <= bytes.length))
    refuseUnfit(facts, bytes.length, again === undefined ? undefined : resolve(again));
  const geometry = planned.volume?.geometry;
  const stretch = geometry ? Math.max(...geometry.zones.map((zone) => zone.sectors)) : USUAL_STRETCH;
  let from = 0;
  if (resume) {
    if (!known) throw new InputError("nothing-to-resume", `No interrupted write to ${target} is known in this job.`);
    if (known.head.sha256 !== sha256 || known.head.size !== bytes.length)
      throw new InputError(
        "other-image",
        `The interrupted write was of ${known.head.image} with another content; begin anew without --resume.`,
      );
    from = known.done;
  } else if (known && known.done > 0 && known.done < known.head.blocks)
    throw new InputError(
      "unfinished",
      `A write of ${known.head.image} to ${target} was interrupted at block ${known.done}: go on with --resume, or remove its journal in the job folder to begin anew.`,
    );
  const copyTo = withoutCopy || facts.kind === "new file" || resume ? null : copyName(target, now);
  return { ...planned, request: { ...request, target }, target: facts, stretch, from, copyTo };
}

/** Throws an `InputError` where image or target are no longer those of the plan that the person confirmed. */
export async function refuseChanged({ request, image, target, from }: WritePlan, opener: DeviceOpener): Promise<void> {
  const [now, facts, known] = await Promise.all([
    readImage({ job: request.job, name: image.name }),
    targetFacts(target.path, opener, "samples"),
    readJournal(request.job, target.path),
  ]);
  // Where a disk cannot be read everywhere, a sample may be had this time and not that.
  const isOther = target.samples !== undefined && facts.samples !== target.samples;
  const sameness = ({ kind, size, word, mounted }: TargetFacts): string => JSON.stringify([kind, size, word, mounted]);
  const goesOn = request.resume ? (known?.done ?? -1) === from : true;
  if (now.sha256 !== image.sha256 || isOther || sameness(facts) !== sameness(target) || !goesOn)
    throw new InputError("target-changed", "Image or target changed since the plan was made; look again.");
}

/**
 * Carries a plan out: saves what was there, writes with a journal, reads back past the cache, compares, and leaves a
 * certificate in the job's log. An interruption of any kind leaves a journal for `resume`.
 */
export async function runWrite(plan: WritePlan, opener: DeviceOpener, world: World): Promise<Certificate> {
  const { request, image, target, blockSize, stretch, blocks } = plan;
  const { job } = request;
  const started = world.now().toISOString();
  const clock = stageClock(world.onProgress);
  const work = {
    image: image.bytes,
    blockSize,
    stretch,
    now: () => world.now().getTime(),
    onProgress: clock.onProgress,
    ...(world.signal ? { signal: world.signal } : {}),
  };
  let unreadBefore = 0;
  if (plan.copyTo !== null) {
    const reading = await opener.open(target.path, "read");
    try {
      const { bytes, unread } = await saveBefore(work, reading, target.size);
      unreadBefore = unread;
      await writeWhole(await resolveInside(job.folder, `${IMAGES_FOLDER}/${plan.copyTo}`), bytes);
    } finally {
      await reading.close();
    }
  }
  const head: JournalHead = {
    format: "rouse-write-journal",
    version: 1,
    image: image.name,
    sha256: image.sha256,
    target: target.path,
    size: image.bytes.length,
    blocks,
    before: plan.copyTo,
    created: target.kind === "new file",
    started,
  };
  const resumed = request.resume ? await readJournal(job, target.path) : undefined;
  const journal = resumed ? await continueJournal(job, target.path) : await beginJournal(job, head);
  let written: { bad: BadBlock[]; retries: number };
  try {
    const device = await opener.open(target.path, target.kind === "new file" ? "create" : "write");
    try {
      written = await writeBlocks(work, device, plan.from, (done) => journal.mark(done));
    } finally {
      await device.close();
    }
  } finally {
    await journal.close();
  }
  const reading = await opener.open(target.path, "read past the cache");
  let verified: { bad: BadBlock[]; retries: number };
  let readBack: string | null;
  try {
    verified = await verifyBlocks(work, reading);
    readBack = verified.bad.length === 0 ? await hashOf(reading, image.bytes.length) : null;
  } finally {
    await reading.close();
  }
  const bad = [
    ...verified.bad,
    ...written.bad.filter((each) => !verified.bad.some((other) => other.block === each.block)),
  ].sort((a, b) => a.block - b.block);
  const outcome = {
    resumedFrom: plan.from,
    copyOfBefore: resumed ? resumed.head.before : plan.copyTo,
    unreadBefore,
    retries: written.retries + verified.retries,
    bad,
    compared: true,
    pastCache: reading.direct,
    sha256ReadBack: readBack,
    seconds: clock.seconds,
    started: resumed ? resumed.head.started : started,
  };
  const certificate = await certify(job, plan, outcome, world.now);
  await endJournal(job, target.path);
  return certificate;
}

async function hashOf(device: BlockDevice, size: number): Promise<string> {
  const hash = createHash("sha256");
  const part = 64 * 1024;
  for (let offset = 0; offset < size; offset += part)
    hash.update(await device.read(offset, Math.min(part, size - offset)));
  return hash.digest("hex");
}
