import { createHash } from "node:crypto";
import { lstat, mkdir, open, readdir, readFile, rename, rm } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { visible } from "@rouse/core/bytes";
import {
  type Algorithm,
  type BagFault,
  type BagReader,
  makeBag,
  type PayloadFile,
  verifyBag,
} from "@rouse/core/dossier";
import { InputError } from "@rouse/core/errors";

const hash = (algorithm: Algorithm, bytes: Uint8Array): string => createHash(algorithm).update(bytes).digest("hex");

/** Files below a folder, parts joined by `/`; links are told apart and never followed. */
async function filesBelow(folder: string): Promise<string[]> {
  const found: string[] = [];
  const walk = async (under: string): Promise<void> => {
    for (const entry of await readdir(join(folder, under), { withFileTypes: true })) {
      const name = under === "" ? entry.name : `${under}/${entry.name}`;
      if (entry.isDirectory()) await walk(name);
      else if (entry.isFile()) found.push(name);
    }
  };
  await walk("");
  return found.sort();
}

/** What of a job folder goes into a bag: everything that is its own, without files left by interrupted work. */
export async function jobPayload(folder: string): Promise<PayloadFile[]> {
  const names = (await filesBelow(folder)).filter(
    (name) => !name.split("/").some((part) => part.startsWith(".")) && !name.endsWith(".journal"),
  );
  return Promise.all(
    names.map(async (name) => ({
      path: `data/job/${name}`,
      bytes: new Uint8Array(await readFile(join(folder, name))),
    })),
  );
}

/**
 * Writes a bag into a folder that is not there yet: everything beside it first, then one rename. The same payload gives
 * the same bytes.
 */
export async function writeBag(
  folder: string,
  payload: readonly PayloadFile[],
  info: Parameters<typeof makeBag>[1],
): Promise<PayloadFile[]> {
  const to = resolve(folder);
  const taken = await lstat(to).then(
    () => true,
    () => false,
  );
  if (taken) throw new InputError("would-overwrite", `${visible(folder)} is there already; nothing was written.`);
  const files = makeBag(payload, info, hash);
  const making = join(dirname(to), `.${basename(to)}.${process.pid}.making`);
  try {
    // Not its parents: a folder that is not there is a slip of the pen.
    await mkdir(making);
    for (const { path, bytes } of files) {
      const file = join(making, ...path.split("/"));
      await mkdir(dirname(file), { recursive: true });
      const handle = await open(file, "wx");
      try {
        await handle.writeFile(bytes);
        await handle.sync();
      } finally {
        await handle.close();
      }
    }
    await rename(making, to);
  } catch (error) {
    await rm(making, { recursive: true, force: true });
    if ((error as NodeJS.ErrnoException).code === "ENOENT")
      throw new InputError("no-folder", `The folder of ${visible(folder)} does not exist.`);
    throw error;
  }
  return files;
}

/** Verifies a bag in a folder. Throws an `InputError` where there is no folder. */
export async function verifyBagFolder(folder: string): Promise<BagFault[]> {
  const found = await lstat(folder).catch(() => undefined);
  if (!found?.isDirectory()) throw new InputError("no-bag", `${visible(folder)} is not a folder.`);
  const reader: BagReader = {
    list: () => filesBelow(folder),
    read: async (path) => new Uint8Array(await readFile(join(folder, ...path.split("/")))),
  };
  return verifyBag(reader, hash, (bytes) => new TextDecoder().decode(bytes));
}
