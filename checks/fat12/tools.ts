import { execFileSync, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";

/** Runs Debian's FAT utilities on images in a folder that is removed afterwards. */

const PACKAGES = { "mkfs.fat": "dosfstools", "fsck.fat": "dosfstools", mtools: "mtools" } as const;

/** Time zone and checks of the utilities, so that nothing depends on this machine. */
const env = {
  ...process.env,
  PATH: `${process.env.PATH}:/usr/sbin:/sbin`,
  TZ: "UTC",
  LC_ALL: "C.UTF-8",
  MTOOLS_SKIP_CHECK: "1",
};

/** Fails with the name of the package where a tool is not installed. */
export function requireTools(): void {
  for (const [tool, packageName] of Object.entries(PACKAGES))
    if (spawnSync(tool, ["--help"], { env, stdio: "ignore" }).error)
      throw new Error(`${tool} is not installed; install it with: apt-get install ${packageName}`);
}

export const run = (tool: string, args: readonly string[], input: Uint8Array = new Uint8Array()): Buffer =>
  execFileSync(tool, [...args], { env, input, stdio: ["pipe", "pipe", "pipe"], maxBuffer: 1 << 26 });

const FSCK: keyof typeof PACKAGES = "fsck.fat";

/** What `fsck.fat -n` says of an image: exit code 0 for clean, 1 for errors found, and its lines. */
export function fsck(file: string): { code: number; text: string } {
  const done = spawnSync(FSCK, ["-n", file], { env, encoding: "utf8" });
  return { code: done.status ?? -1, text: `${done.stdout}${done.stderr}` };
}

export interface Made {
  path: string;
  /** undefined for a folder */
  bytes?: Uint8Array;
}

/** Modification time of every file made here. */
export const MODIFIED = "1988-04-12 10:30:02";

export class Workshop {
  readonly folder = mkdtempSync(join(tmpdir(), "rouse-fat12-"));
  #count = 0;

  path(name = `${this.#count++}.img`): string {
    return join(this.folder, name);
  }

  write(bytes: Uint8Array, name?: string): string {
    const path = this.path(name);
    writeFileSync(path, bytes);
    return path;
  }

  remove(): void {
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** Puts folders and files on the volume in `image`. */
  fill(image: string, tree: readonly Made[]): void {
    const source = this.path(`tree-${this.#count++}`);
    mkdirSync(source);
    const time = new Date(`${MODIFIED.replace(" ", "T")}Z`);
    for (const { path, bytes } of tree) {
      const target = join(source, path);
      mkdirSync(bytes ? dirname(target) : target, { recursive: true });
      if (!bytes) continue;
      writeFileSync(target, bytes);
      utimesSync(target, time, time);
    }
    const top = new Set(tree.map(({ path }) => path.split("/")[0]!));
    run("mcopy", ["-s", "-m", "-i", image, ...[...top].map((name) => join(source, name)), "::/"]);
  }

  /** Copies everything out with `mcopy` and reads a file of it back. */
  copyOut(image: string): (path: string) => Uint8Array {
    const target = this.path(`out-${this.#count++}`);
    mkdirSync(target);
    run("mcopy", ["-s", "-n", "-i", image, "::/", target]);
    return (path) => new Uint8Array(readFileSync(join(target, path)));
  }
}

/** Paths that `mdir` lists, hidden ones included; folders end in a slash. */
export const listing = (image: string): string[] =>
  run("mdir", ["-/", "-b", "-a", "-i", image, "::/"])
    .toString()
    .split("\n")
    .filter(Boolean)
    .map((line) => line.replace("::/", ""))
    .sort();

/** A small generator of numbers from a seed (mulberry32), so that every run makes the same. */
export function numbers(seed: number): (below: number) => number {
  let state = seed >>> 0;
  return (below) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) % below;
  };
}

/** A tree that fills a small disk with files of many sizes; names in capitals, as `mdir` shows them without long names. */
export function tree(seed: number, scale: number): Made[] {
  const next = numbers(seed);
  const bytes = (length: number): Uint8Array => Uint8Array.from({ length }, () => next(256));
  return [
    { path: "README.TXT", bytes: bytes(700) },
    { path: "EMPTY", bytes: bytes(0) },
    { path: "ONE.B", bytes: bytes(1) },
    { path: "SECTOR.BIN", bytes: bytes(512) },
    { path: "CLUSTER.BIN", bytes: bytes(1024) },
    { path: "BIG.DAT", bytes: bytes(scale * 9000 + next(3000)) },
    { path: "WORK" },
    { path: "WORK/A.TXT", bytes: bytes(3000 + next(900)) },
    { path: "WORK/B.TXT", bytes: bytes(5000 + next(900)) },
    { path: "WORK/DEEPER" },
    { path: "WORK/DEEPER/LEAF.C", bytes: bytes(2100 + next(500)) },
    { path: "NOTES" },
    ...Array.from({ length: 40 }, (_, i) => ({ path: `NOTES/N${i}.TXT`, bytes: bytes(600 + next(900)) })),
    { path: "LAST.BIN", bytes: bytes(scale * 4000 + next(2000)) },
  ];
}
