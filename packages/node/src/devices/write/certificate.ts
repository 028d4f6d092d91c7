import { mapBlocks } from "@rouse/core/geometry";
import { blockHolds, type Volume } from "@rouse/core/volume";
import { VERSION } from "../../job/version.ts";
import { appendLog, type Job } from "../../store/index.ts";
import type { BadBlock, Progress, Stage } from "./engine.ts";
import type { PlannedWrite } from "./session.ts";

/** What stays of a write, in the job's log. */
export interface Certificate {
  kind: "write-certificate";
  image: { name: string; sha256: string; size: number };
  target: { path: string; kind: string; model: string | null; size: number; held: string | null };
  blocks: number;
  /** Blocks that were read back and are those of the image. */
  blocksVerified: number;
  /** Whether the target was read back at all: an adapter may have no way to. */
  compared: boolean;
  resumedFrom: number;
  copyOfBefore: string | null;
  unreadBefore: number;
  retries: number;
  bad: readonly (BadBlock & { holds: string })[];
  verified: boolean;
  /** Whether reading back went past the host's cache. */
  pastCache: boolean;
  sha256ReadBack: string | null;
  /** Seconds that each stage took, in the run that ended it. */
  seconds: Partial<Record<Stage, number>>;
  started: string;
  ended: string;
  madeBy: string;
  /** What an adapter's program printed; its end, where that is long. */
  output?: string;
}

/** What the two ways of writing found out; the rest of the certificate follows from the plan. */
export interface Outcome
  extends Pick<Certificate, "resumedFrom" | "copyOfBefore" | "unreadBefore" | "retries" | "pastCache" | "started"> {
  bad: readonly BadBlock[];
  /** SHA-256 of what was read back; null where blocks are bad or nothing was read. */
  sha256ReadBack: string | null;
  compared: boolean;
  seconds: Certificate["seconds"];
  output?: string;
}

/** Bad blocks in the log, and characters of each: an entry has a limit, and a disk with more is lost anyway. */
const MOST_LOGGED = 2000;
const MOST_TOLD = 200;

/** Makes the certificate of a write that was carried out and puts it into the job's log. */
export async function certify(job: Job, plan: PlannedWrite, outcome: Outcome, now: () => Date): Promise<Certificate> {
  const { image, target, blocks, blockSize, volume } = plan;
  const { bad, compared, output, ...rest } = outcome;
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
    blocksVerified: compared ? blocks - bad.length : 0,
    compared,
    ...rest,
    bad: bad.map((each) => ({ ...each, holds: holdsIn(volume, each.block, blockSize) })),
    verified: compared && bad.length === 0 && rest.sha256ReadBack === image.sha256,
    ended: now().toISOString(),
    madeBy: `Rouse ${VERSION}`,
    ...(output === undefined ? {} : { output }),
  };
  const logged = certificate.bad
    .slice(0, MOST_LOGGED)
    .map((each) => ({ ...each, holds: each.holds.slice(0, MOST_TOLD) }));
  const leftOut = certificate.bad.length - logged.length;
  await appendLog(job, { ...certificate, bad: logged, ...(leftOut > 0 ? { badLeftOut: leftOut } : {}) }, now);
  return certificate;
}

/** What a block of the write holds. Where tracks differ in sector size, the volume counts its blocks by its own sizes. */
function holdsIn(volume: Volume | null, block: number, size: number): string {
  if (!volume) return "not known: no volume was recognised";
  const map = mapBlocks(volume.geometry);
  const at = block * size < map.bytes ? map.blockAt(block * size) : block;
  return blockHolds(volume, at, at < map.blocks ? map.size(at) : size);
}

/** Notes how long each stage took, and passes the progress on. */
export function stageClock(onProgress?: (progress: Progress) => void) {
  const seconds: Partial<Record<Stage, number>> = {};
  return {
    seconds,
    onProgress: (progress: Progress): void => {
      seconds[progress.stage] = progress.elapsed / 1000;
      onProgress?.(progress);
    },
  };
}
