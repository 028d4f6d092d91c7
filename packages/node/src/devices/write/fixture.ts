import { createHash } from "node:crypto";
import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildChainedBlock, type TreeEntry } from "@rouse/core/volume";
import { type Job, openJob } from "../../store/index.ts";

/** A job with one image, `disk.img`, for tests of writing. */
export interface WriteFixture {
  /** The job folder and targets lie in it. */
  folder: string;
  job: Job;
  image: Uint8Array;
  /** Path of a target in the folder. */
  at(name: string): string;
  /** Where the journal of such a target lies. */
  journalOf(name: string): string;
  /** Removes all journals. */
  clean(): void;
  remove(): void;
}

export const now = () => new Date("2026-06-06T10:00:00Z");

export async function writeFixture(): Promise<WriteFixture> {
  const folder = mkdtempSync(join(tmpdir(), "rouse-write-"));
  mkdirSync(join(folder, "job/images"), { recursive: true });
  writeFileSync(join(folder, "job/bench.yaml"), "rouse: 1\nname: x\n");
  const records: TreeEntry = {
    path: "ACCOUNTS",
    type: "file",
    bytes: new Uint8Array(254 * 78).fill(66),
    wishes: { kind: "records", recordLength: 254 },
  };
  const image = buildChainedBlock([{ path: "FIRST", type: "file", bytes: new Uint8Array(30_000).fill(65) }, records], {
    layout: "35-track",
    name: "DATA",
    id: "DA",
  });
  writeFileSync(join(folder, "job/images/disk.img"), image);
  const job = await openJob(join(folder, "job"));
  const at = (name: string): string => join(folder, name);
  return {
    folder,
    job,
    image,
    at,
    journalOf: (name) => {
      const mark = createHash("sha256").update(at(name)).digest("hex").slice(0, 8);
      return join(job.folder, `write-${name}-${mark}.journal`);
    },
    clean: () => {
      for (const name of readdirSync(job.folder)) if (name.endsWith(".journal")) rmSync(join(job.folder, name));
    },
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}
