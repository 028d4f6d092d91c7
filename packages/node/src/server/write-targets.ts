import { readdir, readFile } from "node:fs/promises";
import { basename, dirname, join } from "node:path";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { usesOf } from "../devices/write/index.ts";
import { type Job, resolveInside } from "../store/index.ts";

/** A block device that may be meant: one that can be taken out, or a loop over a file. */
export interface ListedTarget {
  path: string;
  /** Bytes; 0 where no disk is in it. */
  size: number;
  model: string | null;
  /** Where it is mounted or used; such a device is refused. */
  mounted: readonly string[];
}

const SYS_BLOCK = "/sys/block";

const text = (path: string): Promise<string> =>
  readFile(path, "utf8").then(
    (found) => found.trim(),
    () => "",
  );

/** Devices that can be taken out and loops in use, as the kernel lists them (sysfs); nothing is opened. */
export async function listTargets(sys = SYS_BLOCK): Promise<ListedTarget[]> {
  const names = await readdir(sys).catch(() => []);
  const found = await Promise.all(
    names.sort().map(async (name): Promise<ListedTarget | undefined> => {
      const told = ["removable", "size", "device/model", "loop/backing_file"];
      const [removable, sectors, model, backing] = await Promise.all(told.map((each) => text(join(sys, name, each))));
      if (removable !== "1" && !backing) return undefined;
      const path = `/dev/${name}`;
      const shown = model || (backing ? `loop over ${backing}` : null);
      // The kernel counts in 512 bytes whatever the device's own sector is.
      return { path, size: Number(sectors) * 512, model: shown, mounted: await usesOf(path) };
    }),
  );
  return found.filter((each) => each !== undefined);
}

/** Files of the job that are no target. */
const OWN = /^(bench\.ya?ml|log\.jsonl|.*\.journal|\..*)$/i;

/**
 * The path of a target that the page named: a device of the list, or the name of a file that lies in the job folder
 * itself. Anything else is refused.
 */
export async function targetPath(job: Job, wish: { device?: string; file?: string }): Promise<string> {
  if (wish.device !== undefined) {
    if ((await listTargets()).some(({ path }) => path === wish.device)) return wish.device;
    throw new InputError("not-a-target", `${visible(wish.device)} is not a device that can be taken out.`);
  }
  const name = wish.file ?? "";
  if (!/^\w[\w .+-]{0,99}$/.test(name))
    throw new InputError("not-a-target", "Name a file by letters, digits, dots, blanks and dashes, without a folder.");
  const path = await resolveInside(job.folder, name);
  if (dirname(path) !== job.folder || OWN.test(name) || OWN.test(basename(path)))
    throw new InputError("not-a-target", `${visible(name)} is a file of the job's own and is not written over.`);
  return path;
}

/** How the page names a target of the job's journals; nothing where it lies outside what the page may write to. */
export const wishFor = (job: Job, target: string): { device: string } | { file: string } | Record<string, never> => {
  if (target.startsWith("/dev/")) return { device: target };
  return dirname(target) === job.folder ? { file: basename(target) } : {};
};
