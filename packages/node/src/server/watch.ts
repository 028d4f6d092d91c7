/** Notices changes in a job folder, whoever makes them and however: in place, or renamed over as editors do. */
import { type FSWatcher, watch } from "node:fs";
import { join } from "node:path";
import { InputError } from "@rouse/core/errors";
import { BENCH_FILE, CATALOGUE_FOLDER, IMAGES_FOLDER, type Job, listFiles, openInside } from "../store/index.ts";

export type JobPart = "bench" | "images" | "catalogue";

export interface Watching {
  close(): void;
}

/** A change is told when nothing more has happened for so long; ms. */
const QUIET = 40;
/** The folder is looked at this often whatever the host's notices say, which some file systems never give; ms. */
const LOOK = 2_000;

type Snapshot = Readonly<Record<JobPart, string>>;

async function benchStamp(job: Job): Promise<string> {
  try {
    const handle = await openInside(job.folder, BENCH_FILE);
    try {
      const { ino, size, mtimeNs } = await handle.stat({ bigint: true });
      return `${ino}-${size}-${mtimeNs}`;
    } finally {
      await handle.close();
    }
  } catch (error) {
    if (error instanceof InputError) return error.code;
    throw error;
  }
}

async function folderStamp(job: Job, folder: string): Promise<string> {
  try {
    return JSON.stringify(await listFiles(job, folder));
  } catch (error) {
    if (error instanceof InputError) return error.code;
    throw error;
  }
}

async function look(job: Job): Promise<Snapshot> {
  const [bench, images, catalogue] = await Promise.all([
    benchStamp(job),
    folderStamp(job, IMAGES_FOLDER),
    folderStamp(job, CATALOGUE_FOLDER),
  ]);
  return { bench, images, catalogue };
}

/** Calls `onChange` with the parts of the job that differ from when they were last looked at. Resolves when it watches. */
export async function watchJob(job: Job, onChange: (what: readonly JobPart[]) => void): Promise<Watching> {
  const watchers = new Map<string, FSWatcher>();
  let closed = false;
  let quiet: NodeJS.Timeout | undefined;
  let looking = false;
  let again = false;

  const drop = (folder: string): void => {
    watchers.get(folder)?.close();
    watchers.delete(folder);
  };
  /** Folders are watched, not files: a file renamed over is another file. */
  const listen = (): void => {
    for (const folder of ["", IMAGES_FOLDER, CATALOGUE_FOLDER]) {
      if (watchers.has(folder)) continue;
      try {
        const watcher = watch(join(job.folder, folder), { persistent: false }, soon);
        watcher.on("error", () => drop(folder));
        watchers.set(folder, watcher);
      } catch {
        // Not there, or the host gives no more notices: the regular look finds its changes.
      }
    }
  };
  const compare = async (): Promise<void> => {
    if (closed) return;
    if (looking) {
      again = true;
      return;
    }
    looking = true;
    try {
      const next = await look(job);
      const what = (["bench", "images", "catalogue"] as const).filter((part) => next[part] !== last[part]);
      last = next;
      // A folder that was exchanged for another has to be watched anew.
      for (const part of what) if (part !== "bench") drop(part);
      if (!closed) listen();
      if (what.length > 0 && !closed) onChange(what);
    } finally {
      looking = false;
    }
    if (again) {
      again = false;
      soon();
    }
  };
  const lookNow = (): void => {
    // A look that fails (too many open files, say) is made again at the next turn.
    compare().catch(() => undefined);
  };
  function soon(): void {
    clearTimeout(quiet);
    if (!closed) quiet = setTimeout(lookNow, QUIET);
  }

  listen();
  let last = await look(job);
  const regular = setInterval(lookNow, LOOK);
  regular.unref();
  return {
    close() {
      closed = true;
      clearTimeout(quiet);
      clearInterval(regular);
      for (const folder of [...watchers.keys()]) drop(folder);
    },
  };
}
