/**
 * Files written whole or not at all: a temporary file in the same folder, write, fsync, rename, fsync of the folder
 * (fsync(2): an fsync of the file does not bring its folder's entry to the disk). A crash leaves the old file or the
 * new one, and at most a temporary file, which `clearLeftovers` removes and tells.
 */
import { randomBytes } from "node:crypto";
import { constants } from "node:fs";
import { chmod, type FileHandle, open, readdir, rename, stat, unlink } from "node:fs/promises";
import { dirname, join } from "node:path";
import { NO_FOLLOW } from "./inside.ts";
import { fileProblem, systemCode } from "./problems.ts";

/** `.rouse-PROCESS-RANDOM.tmp`: the process number tells whether the writer still lives. */
const TEMPORARY = /^\.rouse-(\d+)-[0-9a-f]{16}\.tmp$/;

export const isTemporary = (name: string): boolean => TEMPORARY.test(name);

/** Brings a folder's entries to the disk; hosts that cannot do that for a folder are let pass. */
export async function syncFolder(folder: string): Promise<void> {
  let handle: FileHandle | undefined;
  try {
    handle = await open(folder, constants.O_RDONLY);
    await handle.sync();
  } catch (error) {
    if (!["EPERM", "EACCES", "EISDIR", "EINVAL", "ENOTSUP"].includes(systemCode(error))) throw error;
  } finally {
    await handle?.close();
  }
}

/** The permission bits of the file that is there; those of a new file where there is none. */
async function modeOf(path: string): Promise<number | undefined> {
  try {
    return (await stat(path)).mode & 0o777;
  } catch {
    return undefined;
  }
}

/**
 * Puts `bytes` at `path`: after any crash the file is the old one or the new one, whole. A symbolic link at `path` is
 * replaced, not followed. `beforeRename` runs when all bytes are on the disk; what it throws leaves the old file.
 */
export async function writeWhole(path: string, bytes: Uint8Array, beforeRename?: () => Promise<void>): Promise<void> {
  const folder = dirname(path);
  const temporary = join(folder, `.rouse-${process.pid}-${randomBytes(8).toString("hex")}.tmp`);
  let made = false;
  try {
    const handle = await open(temporary, constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL | NO_FOLLOW);
    made = true;
    try {
      await handle.writeFile(bytes);
      await handle.sync();
    } finally {
      await handle.close();
    }
    const mode = await modeOf(path);
    if (mode !== undefined) await chmod(temporary, mode);
    await beforeRename?.();
    await rename(temporary, path);
    made = false;
    await syncFolder(folder);
  } catch (error) {
    if (made) await unlink(temporary).catch(() => undefined);
    throw fileProblem(error, path, "be written");
  }
}

/** Whether a process of that number lives on this host. */
export function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return systemCode(error) === "EPERM";
  }
}

/** Removes temporary files of writers that died, and gives their names; those of living writers stay. */
export async function clearLeftovers(folder: string): Promise<string[]> {
  const removed: string[] = [];
  for (const name of (await readdir(folder)).sort()) {
    const pid = TEMPORARY.exec(name)?.[1];
    if (pid === undefined || isAlive(Number(pid))) continue;
    try {
      await unlink(join(folder, name));
      removed.push(name);
    } catch (error) {
      if (systemCode(error) !== "ENOENT") throw fileProblem(error, name, "be removed");
    }
  }
  return removed;
}
