/**
 * Paths that stay inside one folder. Node has no way to open a file relative to an open folder, so the path is walked
 * link by link, opened without following a last link, and the open file is then asked where it is. A process that
 * swaps folders during the walk is met with a refusal, not with a file from outside.
 */
import { constants } from "node:fs";
import { type FileHandle, lstat, open, readlink, realpath, stat } from "node:fs/promises";
import { join, relative, sep } from "node:path";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { fileProblem, kindOf, systemCode } from "./problems.ts";

/** Undefined on hosts without the flag. */
export const NO_FOLLOW = constants.O_NOFOLLOW ?? 0;
/** Keeps the opening of a pipe or a device from waiting for its other end. */
const NO_WAIT = constants.O_NONBLOCK ?? 0;

/** Whether `path` is `root` or below it; both absolute and free of links. */
function isInside(root: string, path: string): boolean {
  const way = relative(root, path);
  return way === "" || (way !== ".." && !way.startsWith(`..${sep}`) && !/^([/\\]|[A-Za-z]:)/.test(way));
}

const refuse = (path: string, why: string): InputError =>
  new InputError("outside-folder", `${visible(path)} is refused: ${why}.`);

/** The parts of a relative path written with `/`; refuses what could lead out of any folder on any host. */
function partsOf(path: string): string[] {
  if (path.includes("\0")) throw refuse(path, "a path cannot hold a zero byte");
  if (/^([/\\]|[A-Za-z]:)/.test(path)) throw refuse(path, "only paths relative to the folder are used");
  if (path.includes("\\")) throw refuse(path, 'folders are parted by "/"');
  const parts = path.split("/").filter((part) => part !== "" && part !== ".");
  if (parts.includes("..")) throw refuse(path, '".." could lead out of the folder');
  return parts;
}

/**
 * The absolute path, free of links, of a file in `root` (itself absolute and free of links) that exists or is to be
 * made. Links that stay inside are followed. Throws `InputError` `outside-folder` where the path or a link leads out.
 */
export async function resolveInside(root: string, path: string): Promise<string> {
  const parts = partsOf(path);
  let at = root;
  for (const [index, part] of parts.entries()) {
    const next = join(at, part);
    let linked: boolean;
    try {
      linked = (await lstat(next)).isSymbolicLink();
    } catch (error) {
      if (systemCode(error) === "ENOENT") return join(next, ...parts.slice(index + 1));
      throw fileProblem(error, path, "be used");
    }
    at = next;
    if (!linked) continue;
    try {
      at = await realpath(next);
    } catch {
      throw refuse(path, `${visible(part)} is a symbolic link that leads nowhere`);
    }
    if (!isInside(root, at)) throw refuse(path, `the symbolic link ${visible(part)} leads out of the folder`);
  }
  return at;
}

/** Opens a regular file for reading; devices, pipes, sockets and folders are refused before they are touched. */
export async function openRegular(path: string, shown = path, flags = 0): Promise<FileHandle> {
  const demandFile = (found: { isFile(): boolean } & Parameters<typeof kindOf>[0]): void => {
    if (!found.isFile()) throw new InputError("not-a-file", `${visible(shown)} is ${kindOf(found)}, not a file.`);
  };
  let handle: FileHandle | undefined;
  try {
    demandFile(await stat(path));
    handle = await open(path, constants.O_RDONLY | NO_WAIT | flags);
    demandFile(await handle.stat());
    return handle;
  } catch (error) {
    await handle?.close();
    throw fileProblem(error, shown, "be read");
  }
}

/**
 * Whether an open file is the one that `path` names inside `root`. The kernel tells an open file's own path where it
 * has /proc (proc(5), /proc/pid/fd); elsewhere the path is walked again and must lead to the same file, which leaves
 * a process that swaps folders twice within microseconds a way in.
 */
async function liesInside(root: string, path: string, handle: FileHandle): Promise<boolean> {
  const own = await readlink(`/proc/self/fd/${handle.fd}`).catch(() => null);
  if (own !== null) return isInside(root, own);
  const opened = await handle.stat({ bigint: true });
  const found = await lstat(await resolveInside(root, path), { bigint: true });
  return opened.dev === found.dev && opened.ino === found.ino;
}

/** Opens a regular file of `root` for reading; see `resolveInside` for what is refused. */
export async function openInside(root: string, path: string): Promise<FileHandle> {
  const handle = await openRegular(await resolveInside(root, path), path, NO_FOLLOW);
  try {
    if (await liesInside(root, path, handle)) return handle;
    throw refuse(path, "its folder was exchanged while it was opened");
  } catch (error) {
    await handle.close();
    throw fileProblem(error, path, "be read");
  }
}

/** Reads the whole of an open file; refuses more than `limit` bytes before anything is allocated. */
export async function readWhole(handle: FileHandle, shown: string, limit: number): Promise<Uint8Array> {
  try {
    const before = await handle.stat({ bigint: true });
    if (before.size > BigInt(limit)) {
      const sizes = `it has ${before.size.toLocaleString("en")} bytes, the limit is ${limit.toLocaleString("en")}`;
      throw new InputError("too-large", `${visible(shown)} is too large to read: ${sizes}.`);
    }
    const bytes = new Uint8Array(Number(before.size));
    let filled = 0;
    while (filled < bytes.length) {
      const { bytesRead } = await handle.read(bytes, filled, bytes.length - filled, filled);
      if (bytesRead === 0) break;
      filled += bytesRead;
    }
    const after = await handle.stat({ bigint: true });
    if (filled < bytes.length || after.size !== before.size || after.mtimeNs !== before.mtimeNs) {
      throw new InputError("changed-meanwhile", `${visible(shown)} changed while it was read; read it again.`);
    }
    return bytes;
  } catch (error) {
    throw fileProblem(error, shown, "be read");
  }
}
