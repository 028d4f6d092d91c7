import { createHash } from "node:crypto";
import { open, readdir, readFile, unlink } from "node:fs/promises";
import { basename, join } from "node:path";
import { InputError } from "@rouse/core/errors";
import { type Job, writeWhole } from "../../store/index.ts";
import { systemCode } from "../../store/problems.ts";

/** What a write is about; the first line of its journal. */
export interface JournalHead {
  format: "rouse-write-journal";
  version: 1;
  image: string;
  sha256: string;
  target: string;
  size: number;
  blocks: number;
  /** Copy of what was on the target, in the job folder; null where the person did not want it. */
  before: string | null;
  /** Whether the write made the target, a file. */
  created: boolean;
  started: string;
}

export interface Journal {
  head: JournalHead;
  /** Blocks from the start that are known to have left the host. */
  done: number;
}

/**
 * A journal is a file of the job folder: a head, then one line for each stretch that is done. Targets of one name in
 * different folders have journals of their own.
 */
const fileOf = (job: Job, target: string): string => {
  const mark = createHash("sha256").update(target).digest("hex").slice(0, 8);
  return join(job.folder, `write-${basename(target).replaceAll(/[^\w.-]/g, "_")}-${mark}.journal`);
};

/** The journal of a target, by its absolute path; undefined where there is none. */
export const readJournal = (job: Job, target: string): Promise<Journal | undefined> => readFrom(fileOf(job, target));

/** Writes that were interrupted, as their journals in the job folder tell; what is no journal is left out. */
export async function interruptedWrites(job: Job): Promise<Journal[]> {
  const names = (await readdir(job.folder)).filter((name) => /^write-.*\.journal$/.test(name)).sort();
  const found = await Promise.all(
    names.map((name) =>
      readFrom(join(job.folder, name)).catch((error: unknown) => {
        if (error instanceof InputError) return undefined;
        throw error;
      }),
    ),
  );
  return found.filter((each) => each !== undefined);
}

async function readFrom(file: string): Promise<Journal | undefined> {
  let text: string;
  try {
    text = await readFile(file, "utf8");
  } catch (error) {
    if (systemCode(error) === "ENOENT") return undefined;
    throw error;
  }
  // A last line without its end was torn by the crash: its stretch is simply written again.
  const lines = text
    .split("\n")
    .slice(0, -1)
    .filter((line) => line !== "");
  try {
    const head = JSON.parse(lines[0] ?? "") as JournalHead;
    if (head.format !== "rouse-write-journal" || head.version !== 1) throw new Error("another format");
    let done = 0;
    for (const line of lines.slice(1)) done = Math.max(done, doneOf(line));
    return { head, done: Math.min(done, head.blocks) };
  } catch {
    throw new InputError("bad-journal", `${basename(file)} cannot be read; remove it to begin anew.`);
  }
}

/** A line torn in the middle, with more after it, counts for nothing. */
function doneOf(line: string): number {
  try {
    return Number((JSON.parse(line) as { done: number }).done) || 0;
  } catch {
    return 0;
  }
}

export interface OpenJournal {
  /** Says that all blocks before `done` have left the host; returns when that is on disk. */
  mark(done: number): Promise<void>;
  close(): Promise<void>;
}

export async function beginJournal(job: Job, head: JournalHead): Promise<OpenJournal> {
  await writeWhole(fileOf(job, head.target), new TextEncoder().encode(`${JSON.stringify(head)}\n`));
  return continueJournal(job, head.target);
}

export async function continueJournal(job: Job, target: string): Promise<OpenJournal> {
  const handle = await open(fileOf(job, target), "a");
  return {
    // A line break first: a torn line before it must not swallow this one.
    mark: async (done) => {
      try {
        await handle.appendFile(`\n${JSON.stringify({ done })}\n`);
        await handle.sync();
      } catch (error) {
        if (!["ENOSPC", "EDQUOT", "EIO"].includes(systemCode(error))) throw error;
        throw new InputError(
          "journal-failed",
          `The journal in the job folder cannot be written (${systemCode(error)}): make room there; \`rouse write --resume\` goes on at the last block that it names.`,
        );
      }
    },
    close: () => handle.close(),
  };
}

/** A write that was compared to its end needs no journal any more. */
export const endJournal = (job: Job, target: string): Promise<void> => unlink(fileOf(job, target));
