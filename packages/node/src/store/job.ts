/** The job folder: `bench.yaml`, `images/`, `log.jsonl`, `captures/`, `dossier/`, and `catalogue/` where there is one. */
import { createHash } from "node:crypto";
import { readdir, realpath, stat } from "node:fs/promises";
import { join } from "node:path";
import { setTimeout } from "node:timers/promises";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { openInside, readWhole, resolveInside } from "./inside.ts";
import { fileProblem, systemCode } from "./problems.ts";
import { clearLeftovers, isTemporary, writeWhole } from "./whole.ts";

export const BENCH_FILE = "bench.yaml";
export const IMAGES_FOLDER = "images";
export const CATALOGUE_FOLDER = "catalogue";
const OWN_FOLDERS = [IMAGES_FOLDER, CATALOGUE_FOLDER, "captures", "dossier"];

const BENCH_LIMIT = 1024 * 1024;
/** More entries than this in one folder tree are not listed: it is not a folder of disk images. */
const LIST_LIMIT = 10_000;

export interface Job {
  /** Absolute and free of links. */
  folder: string;
  /** Temporary files that a crashed writer left, now removed, as paths in the folder. */
  cleared: readonly string[];
}

/** Opens a job folder: it must hold `bench.yaml`. What crashed writers left is removed and told in `cleared`. */
export async function openJob(folder: string): Promise<Job> {
  let real: string;
  try {
    real = await realpath(folder);
    if (!(await stat(real)).isDirectory()) {
      throw new InputError("not-a-folder", `${visible(folder)} is not a folder.`);
    }
  } catch (error) {
    throw fileProblem(error, folder, "be opened");
  }
  try {
    await (await openInside(real, BENCH_FILE)).close();
  } catch (error) {
    if (!(error instanceof InputError) || error.code !== "no-such-file") throw error;
    throw new InputError("no-bench", `${visible(folder)} is not a job folder: it holds no ${BENCH_FILE}.`);
  }
  const clearIn = async (name: string): Promise<string[]> => {
    const found = await listedFolder(real, name);
    return found === null ? [] : (await clearLeftovers(found)).map((file) => `${name}/${file}`);
  };
  const cleared = await Promise.all([clearLeftovers(real), ...OWN_FOLDERS.map(clearIn)]);
  return { folder: real, cleared: cleared.flat() };
}

/** The path of a folder of the job; null where it is not there, is no folder, or leads out. */
async function listedFolder(root: string, name: string): Promise<string | null> {
  try {
    const folder = await resolveInside(root, name);
    return (await stat(folder)).isDirectory() ? folder : null;
  } catch {
    return null;
  }
}

export interface BenchText {
  text: string;
  /** SHA-256 of the file's bytes, in hex: names this state of the file. */
  hash: string;
}

const sha256 = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

/** An editor that writes in place is waited for this often. */
const TRIES = 5;

async function readFileOf(job: Job, path: string, limit: number): Promise<Uint8Array> {
  for (let tried = 1; ; tried++) {
    const handle = await openInside(job.folder, path);
    try {
      return await readWhole(handle, path, limit);
    } catch (error) {
      if (!(error instanceof InputError) || error.code !== "changed-meanwhile" || tried === TRIES) throw error;
    } finally {
      await handle.close();
    }
    await setTimeout(20 * tried);
  }
}

/** Reads the bench file; it must be UTF-8 and at most 1 MiB. */
export async function readBench(job: Job): Promise<BenchText> {
  const bytes = await readFileOf(job, BENCH_FILE, BENCH_LIMIT);
  try {
    return { text: new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes), hash: sha256(bytes) };
  } catch {
    throw new InputError("not-utf-8", `${BENCH_FILE} is not UTF-8 text.`);
  }
}

/** Saves of one job wait for each other, so that no two of them see the same old state. */
const saving = new WeakMap<Job, Promise<unknown>>();

/**
 * Writes the bench file whole, if it still is the one that `expectedHash` names; otherwise throws `InputError`
 * `bench-changed` and changes nothing. Gives the new state.
 */
export function saveBench(job: Job, text: string, expectedHash: string): Promise<BenchText> {
  const bytes = new TextEncoder().encode(text);
  const save = async (): Promise<BenchText> => {
    if (bytes.length > BENCH_LIMIT) throw new InputError("too-large", `${BENCH_FILE} would be larger than 1 MiB.`);
    if (new TextDecoder("utf-8", { ignoreBOM: true }).decode(bytes) !== text) {
      throw new InputError("not-utf-8", "The text holds half a character and cannot be saved as UTF-8.");
    }
    const demandSame = async (): Promise<void> => {
      if (sha256(await readFileOf(job, BENCH_FILE, BENCH_LIMIT)) === expectedHash) return;
      throw new InputError("bench-changed", `${BENCH_FILE} was changed by someone else since it was read; not saved.`);
    };
    await demandSame();
    // Asked again at the last moment, for an editor that saved while the bytes went to the disk.
    await writeWhole(await resolveInside(job.folder, BENCH_FILE), bytes, demandSame);
    return { text, hash: sha256(bytes) };
  };
  const result = (saving.get(job) ?? Promise.resolve()).then(save, save);
  saving.set(job, result);
  return result;
}

export interface ListedFile {
  /** Path in the folder listed, parts joined by `/`. */
  name: string;
  size: number;
  /** Changes with every change of the file. */
  stamp: string;
  /** Why it cannot be used, where that is so; `size` is 0 then. */
  problem?: string;
}

/** The files of a folder of the job and its subfolders, by name; none where the folder is not there. */
export async function listFiles(job: Job, folder: string): Promise<ListedFile[]> {
  const root = await listedFolder(job.folder, folder);
  if (root === null) return [];
  const names: string[] = [];
  const walk = async (under: string): Promise<void> => {
    for (const entry of await readdir(join(root, under), { withFileTypes: true })) {
      const name = under === "" ? entry.name : `${under}/${entry.name}`;
      // Links to folders are not entered, so the walk ends.
      if (entry.isDirectory()) await walk(name);
      else if (!isTemporary(entry.name)) names.push(name);
      if (names.length > LIST_LIMIT) {
        const limit = LIST_LIMIT.toLocaleString("en");
        throw new InputError("too-large", `${visible(folder)} holds more than ${limit} files; it is not read.`);
      }
    }
  };
  try {
    await walk("");
  } catch (error) {
    if (systemCode(error) !== "ENOENT") throw fileProblem(error, folder, "be listed");
  }
  const files: ListedFile[] = [];
  for (const name of names.sort()) {
    try {
      const found = await stat(await resolveInside(job.folder, `${folder}/${name}`), { bigint: true });
      if (!found.isFile()) throw new InputError("not-a-file", `${visible(name)} is not a file.`);
      files.push({ name, size: Number(found.size), stamp: `${found.ino}-${found.size}-${found.mtimeNs}` });
    } catch (error) {
      const told = fileProblem(error, name, "be read");
      if (!(told instanceof InputError)) throw told;
      // A file that went away between the two looks is no longer listed.
      if (told.code !== "no-such-file") files.push({ name, size: 0, stamp: told.code, problem: told.message });
    }
  }
  return files;
}
