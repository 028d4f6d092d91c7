import { type ChildProcess, spawn } from "node:child_process";
import { createHash } from "node:crypto";
import { once } from "node:events";
import { mkdir, mkdtemp, readdir, readFile, rm, stat, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { clearLeftovers, isTemporary, writeWhole } from "./whole.ts";

let top: string;
beforeAll(async () => {
  top = await mkdtemp(join(tmpdir(), "rouse-whole-"));
});
afterAll(() => rm(top, { recursive: true, force: true }));

describe("writeWhole", () => {
  it("replaces a file and leaves nothing beside it", async () => {
    const folder = join(top, "plain");
    await mkdir(folder);
    await writeWhole(join(folder, "f"), new Uint8Array([1, 2, 3]));
    await writeWhole(join(folder, "f"), new Uint8Array([4]));
    expect([...(await readFile(join(folder, "f")))]).toEqual([4]);
    expect(await readdir(folder)).toEqual(["f"]);
  });

  it("leaves the old file and no temporary one where the last question says no", async () => {
    const folder = join(top, "asked");
    await mkdir(folder);
    await writeFile(join(folder, "f"), "old");
    const no = (): Promise<void> => Promise.reject(new Error("no"));
    await expect(writeWhole(join(folder, "f"), new Uint8Array(9), no)).rejects.toThrow("no");
    expect(await readFile(join(folder, "f"), "utf8")).toBe("old");
    expect(await readdir(folder)).toEqual(["f"]);
  });

  it("replaces a symbolic link and does not follow it", async () => {
    const folder = join(top, "linked");
    await mkdir(folder);
    await writeFile(join(top, "target"), "safe");
    await symlink(join(top, "target"), join(folder, "f"));
    await writeWhole(join(folder, "f"), new TextEncoder().encode("new"));
    expect(await readFile(join(top, "target"), "utf8")).toBe("safe");
    expect(await readFile(join(folder, "f"), "utf8")).toBe("new");
  });

  it("says in one sentence why a file cannot be written", async () => {
    await expect(writeWhole(join(top, "missing", "f"), new Uint8Array(1))).rejects.toMatchObject({
      name: "InputError",
      message: expect.stringMatching(/missing\/f cannot be written: it does not exist\.$/),
    });
    await expect(writeWhole("/dev/full/f", new Uint8Array(1))).rejects.toMatchObject({ name: "InputError" });
  });
});

/** A writer that goes on until it is killed; each content carries its number and its own SHA-256. */
const WRITER = `
import { createHash } from "node:crypto";
import { writeSync } from "node:fs";
import { writeWhole } from "./whole.ts";
for (let number = 1; ; number++) {
  const body = Buffer.alloc(1000 + ((number * 7919) % 150000), number % 251);
  const head = Buffer.from(number + " " + createHash("sha256").update(body).digest("hex") + "\\n");
  await writeWhole(process.argv[2], Buffer.concat([head, body]));
  writeSync(1, number + "\\n");
}
`;

/** The number in a content of the writer; throws where the content is not whole. */
function numberOf(content: Buffer): number {
  const cut = content.indexOf(10);
  const [number, hash] = content.subarray(0, cut).toString().split(" ");
  const body = content.subarray(cut + 1);
  if (createHash("sha256").update(body).digest("hex") !== hash) throw new Error(`not whole: ${content.length} bytes`);
  return Number(number);
}

describe("writeWhole, killed at any moment", () => {
  it("always leaves the old file or the new one, whole (60 kills)", async () => {
    const writer = join(top, "writer.mjs");
    await build({
      stdin: { contents: WRITER, resolveDir: fileURLToPath(new URL(".", import.meta.url)), loader: "ts" },
      bundle: true,
      platform: "node",
      format: "esm",
      outfile: writer,
      logLevel: "error",
    });
    const delays = fc.sample(fc.integer({ min: 0, max: 40 }), { numRuns: 60, seed: 3 });
    let leftovers = 0;
    let writes = 0;
    const kill = async (index: number): Promise<void> => {
      const folder = join(top, `kill${index}`);
      await mkdir(folder);
      const path = join(folder, "f");
      const child: ChildProcess = spawn(process.execPath, [writer, path], { stdio: ["ignore", "pipe", "inherit"] });
      let told = "";
      child.stdout?.on("data", (data) => {
        told += data;
      });
      await once(child.stdout!, "data");
      await new Promise((resolve) => setTimeout(resolve, delays[index]));
      child.kill("SIGKILL");
      await once(child, "close");
      const done = Number(told.trimEnd().split("\n").at(-1));
      // Told as done, so it is there; the next one may have been renamed before it could be told.
      expect([done, done + 1]).toContain(numberOf(await readFile(path)));
      const temporary = (await readdir(folder)).filter(isTemporary);
      expect(await clearLeftovers(folder)).toEqual(temporary);
      expect(await readdir(folder)).toEqual(["f"]);
      leftovers += temporary.length;
      writes += done;
    };
    const queue = delays.map((_, index) => index);
    const work = async (): Promise<void> => {
      for (let index = queue.shift(); index !== undefined; index = queue.shift()) await kill(index);
    };
    await Promise.all([work(), work(), work()]);
    // The kills did land inside writes; otherwise the test would show nothing.
    expect(leftovers).toBeGreaterThan(10);
    expect(writes).toBeGreaterThan(60);
  });
});

describe("clearLeftovers", () => {
  it("leaves the temporary files of living writers, and all other files", async () => {
    const folder = join(top, "living");
    await mkdir(folder);
    const living = `.rouse-${process.pid}-0123456789abcdef.tmp`;
    await writeFile(join(folder, living), "");
    await writeFile(join(folder, ".rouse-notes.tmp"), "");
    expect(await clearLeftovers(folder)).toEqual([]);
    expect((await readdir(folder)).sort()).toEqual([living, ".rouse-notes.tmp"].sort());
    expect((await stat(join(folder, living))).isFile()).toBe(true);
  });
});
