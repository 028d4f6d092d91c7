import { createHash } from "node:crypto";
import { basename } from "node:path";
import { InputError } from "@rouse/core/errors";
import { mapBlocks } from "@rouse/core/geometry";
import { blockHolds, surveyAndOpen, type Volume } from "@rouse/core/volume";
import { VERSION } from "../../job/version.ts";
import { appendLog, IMAGES_FOLDER, type Job, readImage, resolveInside, writeWhole } from "../../store/index.ts";
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

/** What a write would do; made without opening anything for writing. */
export interface WritePlan {
  request: WriteRequest;
  image: { name: string; bytes: Uint8Array; sha256: string; format: string | null };
  volume: Volume | null;
  target: TargetFacts;
  blockSize: number;
  blocks: number;
  /** Blocks of a track, the stretch between two waits for the device. */
  stretch: number;
  /** First block to write: 0, or where an interrupted write goes on. */
  from: number;
  /** File in `images/` that keeps what was on the target; null where there is nothing or the person does not want it. */
  copyTo: string | null;
}

/** What stays of a write, in the job's log. */
export interface Certificate {
  kind: "write-certificate";
  image: { name: string; sha256: string; size: number };
  target: { path: string; kind: string; model: string | null; size: number; held: string | null };
  blocks: number;
  resumedFrom: number;
  copyOfBefore: string | null;
  unreadBefore: number;
  retries: number;
  bad: readonly (BadBlock & { holds: string })[];
  verified: boolean;
  /** Whether reading back went past the host's cache. */
  pastCache: boolean;
  sha256ReadBack: string | null;
  started: string;
  ended: string;
  madeBy: string;
}

/** Blocks between two waits where the layout is not known. */
const USUAL_STRETCH = 32;

/** Looks at image and target and refuses what must not be done. Opens nothing for writing. */
export async function planWrite(request: WriteRequest, opener: DeviceOpener, now: () => Date): Promise<WritePlan> {
  const { job, image, target, again, resume, withoutCopy } = request;
  const { bytes, sha256 } = await readImage({ job, name: image });
  const { volume } = surveyAndOpen(bytes);
  const facts = await targetFacts(target, opener);
  const known = await readJournal(job, target);
  // A file that an interrupted write created may be shorter than the image; its journal vouches for it.
  if (!(resume && known?.head.created && facts.size <= bytes.length)) refuseUnfit(facts, bytes.length, again);
  const geometry = volume?.geometry;
  const blockSize = geometry?.zones[0]?.size ?? 256;
  const stretch = geometry ? Math.max(...geometry.zones.map((zone) => zone.sectors)) : USUAL_STRETCH;
  const blocks = Math.ceil(bytes.length / blockSize);
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
  const stamp = now().toISOString().replaceAll(/[:.]/g, "-");
  const copyTo = withoutCopy || facts.kind === "new file" || resume ? null : `before-${basename(target)}-${stamp}.img`;
  return {
    request,
    image: { name: image, bytes, sha256, format: volume?.format ?? null },
    volume,
    target: facts,
    blockSize,
    blocks,
    stretch,
    from,
    copyTo,
  };
}

/** What a block of the write holds. Where tracks differ in sector size, the volume counts its blocks by its own sizes. */
const holdsIn = (volume: Volume | null, block: number, size: number): string => {
  if (!volume) return "not known: no volume was recognised";
  const map = mapBlocks(volume.geometry);
  const at = block * size < map.bytes ? map.blockAt(block * size) : block;
  return blockHolds(volume, at, at < map.blocks ? map.size(at) : size);
};

/**
 * Carries a plan out: saves what was there, writes with a journal, reads back past the cache, compares, and leaves a
 * certificate in the job's log. An interruption of any kind leaves a journal for `resume`.
 */
export async function runWrite(
  plan: WritePlan,
  opener: DeviceOpener,
  world: { now(): Date; onProgress?(progress: Progress): void; signal?: AbortSignal },
): Promise<Certificate> {
  const { request, image, target, blockSize, stretch, blocks } = plan;
  const { job } = request;
  const started = world.now().toISOString();
  const work = {
    image: image.bytes,
    blockSize,
    stretch,
    now: () => world.now().getTime(),
    ...(world.onProgress ? { onProgress: world.onProgress } : {}),
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
  const certificate: Certificate = {
    kind: "write-certificate",
    image: { name: image.name, sha256: image.sha256, size: image.bytes.length },
    target: {
      path: target.path,
      kind: target.kind,
      model: target.model ?? null,
      size: image.bytes.length,
      held: target.holds ?? null,
    },
    blocks,
    resumedFrom: plan.from,
    copyOfBefore: resumed ? resumed.head.before : plan.copyTo,
    unreadBefore,
    retries: written.retries + verified.retries,
    bad: bad.map((each) => ({ ...each, holds: holdsIn(plan.volume, each.block, blockSize) })),
    verified: bad.length === 0 && readBack === image.sha256,
    pastCache: reading.direct,
    sha256ReadBack: readBack,
    started: resumed ? resumed.head.started : started,
    ended: world.now().toISOString(),
    madeBy: `Rouse ${VERSION}`,
  };
  await appendLog(job, certificate as unknown as Parameters<typeof appendLog>[1], world.now);
  if (certificate.verified) await endJournal(job, target.path);
  return certificate;
}

async function hashOf(device: BlockDevice, size: number): Promise<string> {
  const hash = createHash("sha256");
  const part = 64 * 1024;
  for (let offset = 0; offset < size; offset += part)
    hash.update(await device.read(offset, Math.min(part, size - offset)));
  return hash.digest("hex");
}
