import { createHash } from "node:crypto";
import { readdir, readFile, realpath, stat } from "node:fs/promises";
import { basename, dirname } from "node:path";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { KIND_NAMES, recogniseAll } from "@rouse/core/volume";
import type { DeviceOpener } from "./device.ts";

/** What a target is, told before anything is done to it. */
export interface TargetFacts {
  /** An adapter's is its name in the bench file. */
  path: string;
  kind: "block device" | "file" | "new file" | "adapter";
  /** Bytes; 0 for a new file, and for an adapter, whose disk is not seen before it is read. */
  size: number;
  /** Maker's words of a device, where the system tells them. */
  model?: string;
  removable?: boolean;
  readOnly?: boolean;
  /** Where it, or a part of it, is mounted or used. */
  mounted: readonly string[];
  /** What it holds now, in words; absent where nothing was recognised. */
  holds?: string;
  /** SHA-256 of samples of it, by which another disk in the drive is noticed; absent where it cannot be read. */
  samples?: string;
  /** The word that the person types to confirm; the target shows it. */
  word: string;
  /** An adapter's programs, as they would be called; without `readBack` nothing can be saved or compared. */
  calls?: { write: readonly string[]; readBack: readonly string[] | null };
}

const text = (path: string): Promise<string | undefined> =>
  readFile(path, "utf8").then(
    (found) => found.trim() || undefined,
    () => undefined,
  );

/** Device numbers of a block device and of the partitions on it, as the kernel prints them: `7:0`. */
async function numbersOf(name: string): Promise<string[]> {
  const folder = `/sys/class/block/${name}`;
  const own = await text(`${folder}/dev`);
  const parts = await readdir(folder).catch(() => []);
  const inner = await Promise.all(
    parts.filter((part) => part.startsWith(name)).map((part) => text(`${folder}/${part}/dev`)),
  );
  return [own, ...inner].filter((each) => each !== undefined);
}

/** Where a block device is mounted or swapped on, from the kernel's tables; its partitions count. */
export async function usesOf(path: string): Promise<string[]> {
  const numbers = await numbersOf(basename(await realpath(path).catch(() => path)));
  const table = (await text("/proc/self/mountinfo")) ?? "";
  const mounts = table
    .split("\n")
    .map((line) => line.split(" "))
    .filter((fields) => numbers.includes(fields[2] ?? ""))
    .map((fields) =>
      (fields[4] ?? "").replaceAll(/\\(\d{3})/g, (_, code: string) => String.fromCharCode(Number.parseInt(code, 8))),
    );
  const swaps = ((await text("/proc/swaps")) ?? "").split("\n").some((line) => line.startsWith(`${path} `));
  return swaps ? [...mounts, "swap"] : mounts;
}

/** Largest target whose content is read to say what it holds. */
const READ_LIMIT = 4 << 20;
/** Bytes of a sample; one at the start, one in the middle, where zoned disks have their directory. */
const SAMPLE = 16 << 10;

/** Looks at a target without opening it for writing. `samples` leaves out what it holds: a disk takes a minute to read. */
export async function targetFacts(
  path: string,
  opener: DeviceOpener,
  how: "whole" | "samples" = "whole",
): Promise<TargetFacts> {
  let found: Awaited<ReturnType<typeof stat>>;
  try {
    found = await stat(path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
    if (path.startsWith("/dev/"))
      throw new InputError("no-target", `${visible(path)} does not exist; is the drive plugged in?`);
    await stat(dirname(path)).catch(() => {
      throw new InputError("no-folder", `The folder of ${visible(path)} does not exist.`);
    });
    return { path, kind: "new file", size: 0, mounted: [], word: basename(path) };
  }
  if (found.isFile()) {
    const facts = { path, kind: "file" as const, size: found.size, mounted: await loopsOn(path), word: basename(path) };
    return { ...facts, ...(await content(path, facts.size, opener, how)) };
  }
  if (!found.isBlockDevice())
    throw new InputError("not-a-target", `${visible(path)} is neither a file nor a block device.`);
  const name = basename(await realpath(path));
  const folder = `/sys/class/block/${name}`;
  const size = Number((await text(`${folder}/size`)) ?? 0) * 512;
  const [model, removable, readOnly, backing] = await Promise.all([
    text(`${folder}/device/model`),
    text(`${folder}/removable`),
    text(`${folder}/ro`),
    text(`${folder}/loop/backing_file`),
  ]);
  return {
    path,
    kind: "block device",
    size,
    ...(model || backing ? { model: model ?? `loop over ${backing}` } : {}),
    removable: removable === "1",
    readOnly: readOnly === "1",
    mounted: await usesOf(path),
    word: name,
    ...(await content(path, size, opener, how)),
  };
}

/** Loop devices that stand on a file: writing under them is as bad as under a mount. */
async function loopsOn(path: string): Promise<string[]> {
  const real = await realpath(path);
  const names = await readdir("/sys/class/block").catch(() => []);
  const loops = await Promise.all(
    names
      .filter((name) => name.startsWith("loop"))
      .map(async (name) => [(await text(`/sys/class/block/${name}/loop/backing_file`)) ?? "", name] as const),
  );
  return loops.filter(([file]) => file === real).map(([, name]) => `/dev/${name}`);
}

/** What a target holds, and samples of it. */
async function content(
  path: string,
  size: number,
  opener: DeviceOpener,
  how: "whole" | "samples",
): Promise<Pick<TargetFacts, "holds" | "samples">> {
  if (size === 0 || size > READ_LIMIT) return {};
  const device = await opener.open(path, "read");
  try {
    const bytes = how === "whole" ? await device.read(0, size) : undefined;
    const hash = createHash("sha256");
    for (const at of [0, Math.floor(size / 2 / SAMPLE) * SAMPLE])
      hash.update(bytes ? bytes.subarray(at, at + SAMPLE) : await device.read(at, Math.min(SAMPLE, size - at)));
    const samples = hash.digest("hex");
    const [best] = bytes ? recogniseAll(bytes) : [];
    return best ? { holds: `${KIND_NAMES[best.kind]}, ${best.format}`, samples } : { samples };
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === "EIO") return { holds: "something that cannot be read everywhere" };
    throw error;
  } finally {
    await device.close();
  }
}

/** Above this size a target must be named twice: it is no flexible disk. */
const NAMED_TWICE = 4 << 20;

/** Throws an `InputError` where a target must not be written: mounted, of a wrong size, too large to be a disk. */
export function refuseUnfit(facts: TargetFacts, imageSize: number, again: string | undefined): void {
  const shown = visible(facts.path);
  if (facts.mounted.length > 0)
    throw new InputError(
      "mounted",
      `${shown} is in use (${facts.mounted.map(visible).join(", ")}); unmount it first. Nothing was written.`,
    );
  if (facts.readOnly)
    throw new InputError(
      "read-only",
      `${shown} is read-only; look at the disk's write-protect tab. Nothing was written.`,
    );
  const size = facts.kind === "new file" ? imageSize : facts.size;
  if (size > NAMED_TWICE && again !== facts.path)
    throw new InputError(
      "named-once",
      `${shown} has ${size.toLocaleString("en")} bytes, more than any flexible disk of this kind: name it twice if you mean it. Nothing was written.`,
    );
  if (facts.kind !== "new file" && facts.size !== imageSize)
    throw new InputError(
      "wrong-size",
      `${shown} has ${facts.size.toLocaleString("en")} bytes and the image ${imageSize.toLocaleString("en")}; they must be equal. Nothing was written.`,
    );
}
