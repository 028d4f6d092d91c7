import type { Stats } from "node:fs";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";

/** The code of a failed file operation (`ENOENT`), or `""` where the error is none of those. */
export const systemCode = (error: unknown): string =>
  error instanceof Error && "code" in error && typeof error.code === "string" ? error.code : "";

const REASONS: Readonly<Record<string, readonly [code: string, reason: string]>> = {
  ENOENT: ["no-such-file", "it does not exist"],
  ENOTDIR: ["no-such-file", "a part of its path is a file, not a folder"],
  EACCES: ["file-access", "permission is denied"],
  EPERM: ["file-access", "permission is denied"],
  EROFS: ["file-access", "the file system is read-only"],
  EEXIST: ["not-a-folder", "a file stands there"],
  EISDIR: ["not-a-file", "it is a folder"],
  ELOOP: ["outside-folder", "it is a symbolic link"],
  ENXIO: ["not-a-file", "it is a device or a pipe that nothing answers"],
  ENAMETOOLONG: ["name-too-long", "its name is too long for this host"],
  ENOSPC: ["no-space", "there is no space left"],
  EDQUOT: ["no-space", "the quota is used up"],
  EFBIG: ["too-large", "it is too large for the file system"],
  EIO: ["file-access", "the storage reports a read or write error"],
};

/** Turns a failed file operation into one sentence; anything unforeseen is passed on unchanged. `doing`: "be read". */
export function fileProblem(error: unknown, path: string, doing: string): unknown {
  const known = REASONS[systemCode(error)];
  return known ? new InputError(known[0], `${visible(path)} cannot ${doing}: ${known[1]}.`) : error;
}

/** What a directory entry is, for a sentence. */
export function kindOf(stat: Pick<Stats, "isFile" | "isDirectory" | "isFIFO" | "isSocket" | "isSymbolicLink">): string {
  if (stat.isFile()) return "a file";
  if (stat.isDirectory()) return "a folder";
  if (stat.isSymbolicLink()) return "a symbolic link";
  if (stat.isFIFO()) return "a named pipe";
  if (stat.isSocket()) return "a socket";
  return "a device";
}
