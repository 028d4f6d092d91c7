import { readdir, readFile, stat } from "node:fs/promises";
import { join } from "node:path";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import type { TreeEntry } from "@rouse/core/volume";
import { IMAGE_LIMIT } from "./image.ts";
import { storedName } from "./names.ts";
import { fileProblem, kindOf } from "./problems.ts";

/** More files than any disk of the trade has entries for. */
const MOST_FILES = 20_000;

/**
 * Reads a folder as the tree of a volume. Percent forms that `rouse extract` writes stand for the names they came from.
 * Symbolic links, devices and other things that are neither file nor folder are refused by name.
 */
export async function readTree(folder: string): Promise<TreeEntry[]> {
  const out: TreeEntry[] = [];
  let bytes = 0;
  const walk = async (path: string, inside: string): Promise<void> => {
    const names = await readdir(path, { withFileTypes: true }).catch((error) => {
      throw fileProblem(error, path, "be read as a folder");
    });
    for (const each of names.sort((a, b) => (a.name < b.name ? -1 : 1))) {
      const host = join(path, each.name);
      const own = inside === "" ? storedName(each.name) : `${inside}/${storedName(each.name)}`;
      if (out.length >= MOST_FILES)
        throw new InputError("too-many-files", `${visible(folder)} holds more than ${MOST_FILES} files.`);
      if (each.isDirectory()) {
        out.push({ path: own, type: "folder", bytes: new Uint8Array(0) });
        await walk(host, own);
      } else if (each.isFile()) {
        bytes += (await stat(host)).size;
        if (bytes > IMAGE_LIMIT)
          throw new InputError(
            "too-large",
            `${visible(folder)} holds more than ${IMAGE_LIMIT} bytes, and no disk does.`,
          );
        const content = await readFile(host).catch((error) => {
          throw fileProblem(error, host, "be read");
        });
        out.push({ path: own, type: "file", bytes: new Uint8Array(content) });
      } else
        throw new InputError(
          "not-a-file",
          `${visible(host)} is ${kindOf(each)}; only files and folders go on an image.`,
        );
    }
  };
  await walk(folder, "");
  return out;
}
