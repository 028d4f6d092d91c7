import { lstat, mkdir, realpath, rmdir, unlink } from "node:fs/promises";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { resolveInside } from "./inside.ts";
import { clashKey, hostName } from "./names.ts";
import { fileProblem, kindOf, systemCode } from "./problems.ts";
import { writeWhole } from "./whole.ts";

export interface FileToExtract {
  /** Path on the volume, for telling. */
  path: string;
  /** The names from the root down, each any string at all; they decide where the file goes. */
  nameParts: readonly string[];
  bytes: Uint8Array;
}

export interface Extracted {
  path: string;
  /** Path in the destination, parts joined by `/`. */
  hostPath: string;
  size: number;
}

/** A folder of the plan. */
interface PlannedFolder {
  hostPath: string;
  /** Clash keys of the host names given out. */
  taken: Set<string>;
  /** For the clash key of a plain host name, how far its variations are used up. */
  tried: Map<string, number>;
  folders: Map<string, PlannedFolder>;
}

const newFolder = (hostPath: string): PlannedFolder => ({
  hostPath,
  taken: new Set(),
  tried: new Map(),
  folders: new Map(),
});

const MOST_TOLD = 10;

/** A host path for `name` in `folder` that no host takes for another one there. */
function claim(folder: PlannedFolder, name: string): string {
  const plain = clashKey(hostName(name));
  for (let more = folder.tried.get(plain) ?? 0; ; more++) {
    const host = hostName(name, more);
    // A part of a long name is a folder of its own, not to be shared with another name.
    const key = clashKey(host);
    const first = key.split("/", 1)[0] ?? key;
    if (folder.taken.has(key) || folder.taken.has(first)) continue;
    folder.taken.add(key).add(first);
    folder.tried.set(plain, more + 1);
    return folder.hostPath === "" ? host : `${folder.hostPath}/${host}`;
  }
}

/** Where each file goes; names that would clash are written apart, so that `storedName` still gives each back. */
function plan(files: readonly FileToExtract[]): string[] {
  const root = newFolder("");
  return files.map((file) => {
    const name = file.nameParts.at(-1);
    if (name === undefined) throw new InputError("bad-name", `${visible(file.path)} has no name.`);
    let folder = root;
    for (const part of file.nameParts.slice(0, -1)) {
      let next = folder.folders.get(part);
      if (next === undefined) {
        next = newFolder(claim(folder, part));
        folder.folders.set(part, next);
      }
      folder = next;
    }
    return claim(folder, name);
  });
}

/** What stands at a path, links not followed; null where nothing does. */
async function standing(path: string): Promise<string | null> {
  try {
    return kindOf(await lstat(path));
  } catch (error) {
    if (["ENOENT", "ENOTDIR"].includes(systemCode(error))) return null;
    throw error;
  }
}

/**
 * Writes files of a volume below `destination`, which is made where it is missing. Nothing is written outside it,
 * whatever a name says and wherever links in it lead. Files that exist are listed and refused (`would-overwrite`)
 * unless `replace`. Each file is written whole; where one fails, those newly written are taken back.
 */
export async function extractTo(
  destination: string,
  files: readonly FileToExtract[],
  { replace = false }: { replace?: boolean } = {},
): Promise<Extracted[]> {
  const planned = plan(files);
  const newFiles: string[] = [];
  const newFolders: string[] = [];
  try {
    const made = await mkdir(destination, { recursive: true });
    const root = await realpath(destination);
    if (made !== undefined) newFolders.push(root);
    await demandFree(root, planned, replace);
    const written: Extracted[] = [];
    for (const [index, file] of files.entries()) {
      const hostPath = planned[index] as string;
      const folder = await makeFolders(root, hostPath, newFolders);
      const target = `${folder}/${hostPath.slice(hostPath.lastIndexOf("/") + 1)}`;
      const isNew = (await standing(target)) === null;
      await writeWhole(target, file.bytes, async () => {
        // The folder must still be the one that was checked.
        if ((await realpath(folder)) !== folder) {
          throw new InputError("outside-folder", `${visible(hostPath)} is refused: its folder was exchanged.`);
        }
      });
      if (isNew) newFiles.push(target);
      written.push({ path: file.path, hostPath, size: file.bytes.length });
    }
    return written;
  } catch (error) {
    for (const path of newFiles) await unlink(path).catch(() => undefined);
    for (const path of newFolders.reverse()) await rmdir(path).catch(() => undefined);
    throw fileProblem(error, destination, "be written to");
  }
}

/** Refuses, before anything is written, what the person has not allowed to be replaced or what never can be. */
async function demandFree(root: string, planned: readonly string[], replace: boolean): Promise<void> {
  const existing: string[] = [];
  for (const hostPath of planned) {
    const found = await standing(await resolveParent(root, hostPath));
    if (found === null) continue;
    if (replace && found !== "a file" && found !== "a symbolic link") {
      throw new InputError("not-a-file", `${visible(hostPath)} cannot be replaced: it is ${found}.`);
    }
    existing.push(visible(hostPath));
  }
  if (replace || existing.length === 0) return;
  const rest = existing.length > MOST_TOLD ? ` and ${existing.length - MOST_TOLD} more` : "";
  const list = existing.slice(0, MOST_TOLD).join(", ");
  throw new InputError("would-overwrite", `Nothing was written, because these exist already: ${list}${rest}.`);
}

/** The absolute path of a planned file: its folder free of links, its own name as it stands. */
async function resolveParent(root: string, hostPath: string): Promise<string> {
  const cut = hostPath.lastIndexOf("/");
  return `${await resolveInside(root, hostPath.slice(0, Math.max(0, cut)))}/${hostPath.slice(cut + 1)}`;
}

/** Makes the folders above a planned file one by one, each checked; gives the last, free of links. */
async function makeFolders(root: string, hostPath: string, made: string[]): Promise<string> {
  const parts = hostPath.split("/").slice(0, -1);
  for (let depth = 1; depth <= parts.length; depth++) {
    const folder = await resolveInside(root, parts.slice(0, depth).join("/"));
    try {
      await mkdir(folder);
      made.push(folder);
    } catch (error) {
      if (systemCode(error) !== "EEXIST") throw error;
      if ((await standing(folder)) !== "a folder") {
        throw new InputError(
          "not-a-folder",
          `${visible(hostPath)} cannot be written: a file stands where its folder should.`,
        );
      }
    }
  }
  return resolveInside(root, parts.join("/"));
}
