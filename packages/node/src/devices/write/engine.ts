import { InputError } from "@rouse/core/errors";
import type { BlockDevice } from "./device.ts";

/** A block that stayed bad after all tries. */
export interface BadBlock {
  block: number;
  tries: number;
  /** What went wrong, in words. */
  why: string;
}

export type Stage = "saving" | "writing" | "verifying";

export interface Progress {
  stage: Stage;
  done: number;
  blocks: number;
  /** Milliseconds since the stage began. */
  elapsed: number;
}

export interface Job {
  image: Uint8Array;
  /** Bytes of a block; the last block may be shorter. */
  blockSize: number;
  /** Blocks written between two waits for the device: a track's worth. */
  stretch: number;
  /** Milliseconds, from any start. */
  now(): number;
  onProgress?(progress: Progress): void;
  /** Ends the work cleanly after the stretch at hand. */
  signal?: AbortSignal;
}

const TRIES = 4;

const codeOf = (error: unknown): string | undefined => (error as NodeJS.ErrnoException).code;

/** Failures of one place, where trying again or going on makes sense. */
const isLocal = (error: unknown): boolean => ["EIO", "EREMOTEIO", "ETIMEDOUT", "EILSEQ"].includes(codeOf(error) ?? "");

/** Failures of the whole target, as sentences. Null where it is our own fault. */
function targetSentence(error: unknown): string | null {
  switch (codeOf(error)) {
    case "ENOSPC":
      return "The target is full before the image ends.";
    case "ENODEV":
    case "ENXIO":
    case "ENOENT":
    case "ENOMEDIUM":
      return "The target went away: a cable was pulled, or the disk taken out.";
    case "EROFS":
    case "EPERM":
      return "The target became read-only; look at the disk's write-protect tab.";
    default:
      return null;
  }
}

const interrupted = (done: number, blocks: number): InputError =>
  new InputError(
    "interrupted",
    `Stopped after block ${done} of ${blocks}; \`rouse write --resume\` goes on from there.`,
  );

/** Writes one run of bytes whole, however little the device takes at a time. */
async function writeAll(device: BlockDevice, offset: number, bytes: Uint8Array): Promise<void> {
  let at = 0;
  let idle = 0;
  while (at < bytes.length) {
    const taken = await device.write(offset + at, bytes.subarray(at));
    idle = taken > 0 ? 0 : idle + 1;
    if (idle > TRIES) throw Object.assign(new Error("the device takes nothing"), { code: "EIO" });
    at += taken;
  }
}

/**
 * Writes the image from block `from` on. After each stretch the device is waited for, then `mark` says how far it is
 * safe. Blocks that stay bad are told and passed over. Throws an `InputError` where the target as a whole fails.
 */
export async function writeBlocks(
  job: Job,
  device: BlockDevice,
  from: number,
  mark: (done: number) => Promise<void>,
): Promise<{ bad: BadBlock[]; retries: number }> {
  const { image, blockSize, stretch } = job;
  const blocks = Math.ceil(image.length / blockSize);
  const bad: BadBlock[] = [];
  let retries = 0;
  const start = job.now();
  const one = async (block: number): Promise<void> => {
    for (let attempt = 1; ; attempt++) {
      try {
        await writeAll(device, block * blockSize, image.subarray(block * blockSize, (block + 1) * blockSize));
        await device.sync();
        return;
      } catch (error) {
        if (!isLocal(error)) throw error;
        if (attempt >= TRIES) {
          bad.push({ block, tries: attempt, why: "the device reports an error" });
          return;
        }
        retries++;
      }
    }
  };
  for (let first = from; first < blocks; first += stretch) {
    if (job.signal?.aborted) throw interrupted(first, blocks);
    const end = Math.min(blocks, first + stretch);
    try {
      try {
        await writeAll(device, first * blockSize, image.subarray(first * blockSize, end * blockSize));
        await device.sync();
      } catch (error) {
        if (!isLocal(error)) throw error;
        retries++;
        for (let block = first; block < end; block++) await one(block);
      }
    } catch (error) {
      const sentence = targetSentence(error);
      if (sentence === null) throw error;
      throw new InputError(
        "target-failed",
        `${sentence} ${first} of ${blocks} blocks are safely written; \`rouse write --resume\` goes on from there.`,
      );
    }
    await mark(end);
    job.onProgress?.({ stage: "writing", done: end, blocks, elapsed: job.now() - start });
  }
  return { bad, retries };
}

/** Reads everything back and compares block by block; a block that differs is read again before it is called bad. */
export async function verifyBlocks(job: Job, device: BlockDevice): Promise<{ bad: BadBlock[]; retries: number }> {
  const { image, blockSize, stretch } = job;
  const blocks = Math.ceil(image.length / blockSize);
  const bad: BadBlock[] = [];
  let retries = 0;
  const start = job.now();
  const wanted = (block: number) => image.subarray(block * blockSize, (block + 1) * blockSize);
  const read = async (first: number, count: number): Promise<Uint8Array | undefined> => {
    try {
      return await device.read(first * blockSize, Math.min(count * blockSize, image.length - first * blockSize));
    } catch (error) {
      if (isLocal(error)) return undefined;
      const sentence = targetSentence(error);
      if (sentence === null) throw error;
      throw new InputError(
        "target-failed",
        `${sentence} ${first} of ${blocks} blocks are verified; \`rouse write --resume\` verifies them all anew.`,
      );
    }
  };
  const same = (a: Uint8Array | undefined, b: Uint8Array): boolean => a !== undefined && Buffer.compare(a, b) === 0;
  for (let first = 0; first < blocks; first += stretch) {
    if (job.signal?.aborted)
      throw new InputError(
        "interrupted",
        `Stopped after verifying block ${first} of ${blocks}; the writing itself is done, and \`rouse write --resume\` verifies it.`,
      );
    const count = Math.min(stretch, blocks - first);
    const part = await read(first, count);
    for (let block = first; block < first + count; block++) {
      const at = (block - first) * blockSize;
      if (same(part?.subarray(at, at + wanted(block).length), wanted(block))) continue;
      let found: Uint8Array | undefined;
      let tries = 1;
      for (; tries < TRIES; tries++) {
        retries++;
        found = await read(block, 1);
        if (same(found, wanted(block))) break;
      }
      if (!same(found, wanted(block)))
        bad.push({ block, tries, why: found ? "what is read differs from the image" : "it cannot be read back" });
    }
    job.onProgress?.({ stage: "verifying", done: first + count, blocks, elapsed: job.now() - start });
  }
  return { bad, retries };
}

/**
 * Copies what is on a target now, as far as it can be read; blocks that cannot are left zero and counted. Throws an
 * `InputError` where the target as a whole fails, or where it was told to stop: nothing is written by then.
 */
export async function saveBefore(
  job: Pick<Job, "now" | "onProgress" | "blockSize" | "stretch" | "signal">,
  device: BlockDevice,
  size: number,
): Promise<{ bytes: Uint8Array; unread: number }> {
  const bytes = new Uint8Array(size);
  const part = job.stretch * job.blockSize;
  let unread = 0;
  const start = job.now();
  const take = async (offset: number, length: number): Promise<boolean> => {
    try {
      bytes.set((await device.read(offset, length)).subarray(0, length), offset);
      return true;
    } catch (error) {
      if (isLocal(error)) return false;
      const sentence = targetSentence(error);
      if (sentence === null) throw error;
      throw new InputError("target-failed-early", `${sentence} Nothing was written.`);
    }
  };
  for (let offset = 0; offset < size; offset += part) {
    if (job.signal?.aborted)
      throw new InputError("stopped-early", "Stopped while what is on the target was saved; nothing was written.");
    const length = Math.min(part, size - offset);
    if (!(await take(offset, length)))
      for (let at = offset; at < offset + length; at += job.blockSize)
        if (!(await take(at, Math.min(job.blockSize, size - at)))) unread++;
    job.onProgress?.({
      stage: "saving",
      done: Math.ceil((offset + length) / job.blockSize),
      blocks: Math.ceil(size / job.blockSize),
      elapsed: job.now() - start,
    });
  }
  return { bytes, unread };
}
