/**
 * The log of a job, `log.jsonl`: one JSON object a line, only ever added to. Each entry is a single write to a file
 * opened for appending, so entries of two processes never mix. A writer that died may leave a torn last line: reading
 * tells it, and the next entry first cuts it off and says so.
 */
import { constants } from "node:fs";
import { type FileHandle, open, readFile, unlink } from "node:fs/promises";
import { setTimeout as wait } from "node:timers/promises";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { NO_FOLLOW, openInside, readWhole, resolveInside } from "./inside.ts";
import type { Job } from "./job.ts";
import { fileProblem, systemCode } from "./problems.ts";
import { isAlive, syncFolder } from "./whole.ts";

const LOG_FILE = "log.jsonl";
const LOG_LIMIT = 256 * 1024 * 1024;
const ENTRY_LIMIT = 1024 * 1024;
const LINE_FEED = 0x0a;
/** A line that is still being written is whole after this; ms. */
const SETTLE = 50;
/** How long another process may take to repair the log; ms. */
const PATIENCE = 5_000;

/** What is logged: a JSON object; `time` is put in front by `appendLog`. */
export type LogEntry = Readonly<Record<string, unknown>>;

export interface ReadLog {
  entries: readonly { line: number; time: string; entry: LogEntry }[];
  /** The torn last line, where there is one: its beginning, safe to show, and its length in bytes. */
  torn: { line: number; text: string; length: number } | null;
  /** Other lines that are no entries: 1-based number, and what is wrong. */
  bad: readonly { line: number; sentence: string }[];
}

export interface Appended {
  time: string;
  /** The torn line that was cut off first: its beginning, safe to show, and its length in bytes. */
  cut: { text: string; length: number } | null;
}

const beginning = (bytes: Uint8Array): string => visible(new TextDecoder().decode(bytes.subarray(0, 200)));

function readEntry(bytes: Uint8Array): { time: string; entry: LogEntry } | string {
  let value: unknown;
  try {
    value = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes));
  } catch {
    return `is not JSON in UTF-8: ${beginning(bytes)}`;
  }
  if (typeof value !== "object" || value === null || Array.isArray(value)) return "is not a JSON object";
  const { time, ...entry } = value as Record<string, unknown>;
  return typeof time === "string" && !Number.isNaN(Date.parse(time)) ? { time, entry } : 'has no readable "time"';
}

/** Reads the log; an absent one is empty. Nothing is changed: a torn last line and bad lines are told. */
export async function readLog(job: Job): Promise<ReadLog> {
  let bytes: Uint8Array;
  try {
    const handle = await openInside(job.folder, LOG_FILE);
    try {
      bytes = await readWhole(handle, LOG_FILE, LOG_LIMIT);
    } finally {
      await handle.close();
    }
  } catch (error) {
    if (!(error instanceof InputError) || error.code !== "no-such-file") throw error;
    return { entries: [], torn: null, bad: [] };
  }
  const entries: { line: number; time: string; entry: LogEntry }[] = [];
  const bad: { line: number; sentence: string }[] = [];
  let start = 0;
  let line = 1;
  for (let end = bytes.indexOf(LINE_FEED); end !== -1; end = bytes.indexOf(LINE_FEED, start)) {
    const read = readEntry(bytes.subarray(start, end));
    if (typeof read === "string") bad.push({ line, sentence: `${LOG_FILE}, line ${line}, ${read}.` });
    else entries.push({ line, ...read });
    start = end + 1;
    line += 1;
  }
  const rest = bytes.subarray(start);
  return { entries, torn: rest.length > 0 ? { line, text: beginning(rest), length: rest.length } : null, bad };
}

/**
 * Adds an entry with the time of `now`, and has it on the disk when done. A torn last line is cut off first and given
 * back in `cut`. Throws `InputError` `log-entry` for what JSON cannot hold, or an entry above 1 MiB.
 */
export async function appendLog(job: Job, entry: LogEntry, now: () => Date): Promise<Appended> {
  const time = now().toISOString();
  const bytes = lineOf(time, entry);
  const path = await resolveInside(job.folder, LOG_FILE);
  let handle: FileHandle | undefined;
  try {
    handle = await open(path, constants.O_RDWR | constants.O_APPEND | constants.O_CREAT | NO_FOLLOW);
    if (!(await handle.stat()).isFile()) throw new InputError("not-a-file", `${LOG_FILE} is not a file.`);
    const cut = (await tornTail(handle)) === null ? null : await repair(handle, path);
    const { bytesWritten } = await handle.write(bytes);
    await handle.sync();
    await syncFolder(job.folder);
    if (bytesWritten === bytes.length) return { time, cut };
    throw new InputError("no-space", `${LOG_FILE}: only a part of the entry could be written; it will be cut off.`);
  } catch (error) {
    throw fileProblem(error, LOG_FILE, "be written");
  } finally {
    await handle?.close();
  }
}

function lineOf(time: string, entry: LogEntry): Uint8Array {
  let text: string;
  try {
    const { time: _, ...rest } = entry;
    text = JSON.stringify({ time, ...rest });
  } catch {
    throw new InputError("log-entry", "The log entry cannot be written as JSON.");
  }
  const bytes = new TextEncoder().encode(`${text}\n`);
  if (bytes.length <= ENTRY_LIMIT) return bytes;
  throw new InputError("log-entry", `The log entry is larger than ${ENTRY_LIMIT.toLocaleString("en")} bytes.`);
}

/**
 * Where the torn last line starts, and its bytes; null where the file is empty or ends with a line feed. No entry is
 * longer than the limit, so a longer last line is not ours to cut.
 */
async function tornTail(handle: FileHandle): Promise<{ start: number; bytes: Uint8Array } | null> {
  const { size } = await handle.stat();
  if (size === 0) return null;
  const last = new Uint8Array(1);
  await handle.read(last, 0, 1, size - 1);
  if (last[0] === LINE_FEED) return null;
  const from = Math.max(0, size - ENTRY_LIMIT);
  const tail = new Uint8Array(size - from);
  const { bytesRead } = await handle.read(tail, 0, tail.length, from);
  const feed = tail.subarray(0, bytesRead).lastIndexOf(LINE_FEED);
  if (feed !== -1) return { start: from + feed + 1, bytes: tail.slice(feed + 1, bytesRead) };
  if (from === 0) return { start: 0, bytes: tail.slice(0, bytesRead) };
  throw new InputError("log-entry", `${LOG_FILE} ends with a line longer than any entry; it is not added to.`);
}

/**
 * Cuts a torn last line off. Only one process at a time does so, or the second would cut what the first has added;
 * a line that grows is another process's, still being written.
 */
async function repair(handle: FileHandle, path: string): Promise<Appended["cut"]> {
  const lock = `${path}.repair`;
  await takeLock(lock);
  try {
    for (;;) {
      const { size } = await handle.stat();
      await wait(SETTLE);
      if ((await handle.stat()).size !== size) continue;
      const torn = await tornTail(handle);
      if (torn === null) return null;
      await handle.truncate(torn.start);
      await handle.sync();
      return { text: beginning(torn.bytes), length: torn.bytes.length };
    }
  } finally {
    await unlink(lock);
  }
}

/** Makes the lock file, with the number of this process in it; one whose process died is taken over. */
async function takeLock(lock: string): Promise<void> {
  for (let waited = 0; waited < PATIENCE; waited += SETTLE) {
    try {
      const handle = await open(lock, constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL | NO_FOLLOW);
      try {
        await handle.writeFile(`${process.pid}\n`);
      } finally {
        await handle.close();
      }
      return;
    } catch (error) {
      if (systemCode(error) !== "EEXIST") throw error;
    }
    await wait(SETTLE);
    const owner = Number.parseInt(await readFile(lock, "utf8").catch(() => ""), 10);
    if (owner > 0 && !isAlive(owner)) await unlink(lock).catch(() => undefined);
  }
  throw new InputError("log-busy", `${LOG_FILE} is being repaired by another process; remove ${visible(lock)} if not.`);
}
