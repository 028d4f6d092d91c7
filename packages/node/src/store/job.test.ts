import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { closeSync, openSync, writeSync } from "node:fs";
import { mkdir, mkdtemp, readFile, rename, rm, symlink, truncate, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { IMAGE_LIMIT, readImage } from "./image.ts";
import { openInside, resolveInside } from "./inside.ts";
import { listFiles, openJob, readBench, saveBench } from "./job.ts";

/** POSIX, mkfifo. */
const MAKE_PIPE = "mkfifo";

let top: string;
let folder: string;
beforeEach(async () => {
  top = await mkdtemp(join(tmpdir(), "rouse-job-"));
  folder = join(top, "job");
  await mkdir(join(folder, "images", "side b"), { recursive: true });
  await writeFile(join(folder, "bench.yaml"), "name: Larkfield\n");
  await writeFile(join(folder, "images", "tern.img"), "tern");
  await writeFile(join(top, "secret"), "secret");
});
afterEach(() => rm(top, { recursive: true, force: true }));

describe("openJob", () => {
  it("opens a folder that holds a bench file, through a link as well", async () => {
    await symlink(folder, join(top, "link"));
    expect((await openJob(join(top, "link"))).folder).toBe((await openJob(folder)).folder);
  });

  it("says what is missing", async () => {
    await expect(openJob(join(top, "none"))).rejects.toMatchObject({ code: "no-such-file" });
    await expect(openJob(join(top, "secret"))).rejects.toMatchObject({ code: "not-a-folder" });
    await expect(openJob(join(folder, "images"))).rejects.toThrow(/is not a job folder: it holds no bench\.yaml\.$/);
  });

  it("removes what a crashed writer left, and tells it", async () => {
    // No process has this number: it is above the highest that the kernel gives.
    await writeFile(join(folder, ".rouse-4194999-0123456789abcdef.tmp"), "half");
    await writeFile(join(folder, "images", ".rouse-4194999-0123456789abcdef.tmp"), "half");
    const job = await openJob(folder);
    expect(job.cleared).toEqual([".rouse-4194999-0123456789abcdef.tmp", "images/.rouse-4194999-0123456789abcdef.tmp"]);
    expect((await openJob(folder)).cleared).toEqual([]);
  });
});

describe("resolveInside", () => {
  const refused = { name: "InputError", code: "outside-folder" };

  it("refuses paths that could lead out, on any host", async () => {
    for (const path of ["..", "../secret", "images/../../secret", "/etc/passwd", "\\\\h\\s", "C:\\x", "c:x", "a\\b"]) {
      await expect(resolveInside(folder, path), path).rejects.toMatchObject(refused);
    }
    await expect(resolveInside(folder, "a\0b")).rejects.toMatchObject({ message: expect.stringContaining("\\x00") });
  });

  it("refuses links that lead out, as a file, a folder, a parent of a new file, or to nowhere", async () => {
    await symlink(join(top, "secret"), join(folder, "file"));
    await symlink(top, join(folder, "up"));
    await symlink("../..", join(folder, "images", "relative"));
    await symlink(join(top, "not yet there"), join(folder, "dangling"));
    await symlink("loop", join(folder, "loop"));
    for (const path of ["file", "up", "up/secret", "up/new/file", "images/relative/new", "dangling", "loop"]) {
      await expect(resolveInside(folder, path), path).rejects.toMatchObject(refused);
    }
    await expect(openInside(folder, "file")).rejects.toThrow(/^file is refused: the symbolic link file leads out/);
  });

  it("follows links that stay inside, and gives the place of a file to be made", async () => {
    await symlink("images", join(folder, "disks"));
    expect(await resolveInside(folder, "disks/tern.img")).toBe(join(folder, "images", "tern.img"));
    expect(await resolveInside(folder, "./disks//new/file")).toBe(join(folder, "images", "new", "file"));
    await expect(resolveInside(folder, "bench.yaml/x")).rejects.toMatchObject({ code: "no-such-file" });
  });

  it("does not mistake a neighbour with a longer name for the inside", async () => {
    await mkdir(join(top, "job2"));
    await symlink(join(top, "job2"), join(folder, "neighbour"));
    await expect(resolveInside(folder, "neighbour/x")).rejects.toMatchObject(refused);
  });
});

describe("openInside", () => {
  it("never opens a file outside while folders are exchanged under it", async () => {
    await mkdir(join(top, "outside"));
    await writeFile(join(top, "outside", "f"), "outside");
    await mkdir(join(folder, "swap"));
    await writeFile(join(folder, "swap", "f"), "inside");
    await symlink(join(top, "outside"), join(folder, "evil"));
    let running = true;
    const exchange = async (): Promise<void> => {
      for (let turn = 0; running; turn++) {
        // Now and then the folder stays where it belongs for a while, else some machines never meet it there.
        for (let pause = (turn % 7) * 8; pause > 0; pause--) await new Promise(setImmediate);
        await rename(join(folder, "swap"), join(folder, "kept"));
        await rename(join(folder, "evil"), join(folder, "swap"));
        await rename(join(folder, "swap"), join(folder, "evil"));
        await rename(join(folder, "kept"), join(folder, "swap"));
      }
    };
    const exchanging = exchange();
    const seen = { inside: 0, outside: 0, refused: 0 };
    for (let turn = 0; turn < 1500; turn++) {
      try {
        const handle = await openInside(folder, "swap/f");
        const text = await handle.readFile("utf8");
        await handle.close();
        if (text === "inside") seen.inside += 1;
        else seen.outside += 1;
      } catch (error) {
        expect(error).toMatchObject({ name: "InputError" });
        seen.refused += 1;
      }
    }
    running = false;
    await exchanging;
    expect(seen.outside).toBe(0);
    expect(seen.inside).toBeGreaterThan(0);
    expect(seen.refused).toBeGreaterThan(0);
  });
});

/**
 * Saves the bench file in place as an editor does on a slow disk: empties it, and then adds a letter at each turn of the event loop, so
 * that no read goes from its first look at the file to its last without one, as long as it `goesOn`. Gives what it wrote.
 */
function editor(goesOn: () => boolean): Promise<string> {
  const file = openSync(join(folder, "bench.yaml"), "w");
  let text = "";
  return new Promise((resolve) => {
    const add = (): void => {
      const letter = String.fromCharCode(97 + (text.length % 26));
      writeSync(file, letter);
      text += letter;
      if (goesOn()) setImmediate(add);
      else {
        closeSync(file);
        resolve(text);
      }
    };
    add();
  });
}

const forMilliseconds = (count: number) => {
  const end = performance.now() + count;
  return () => performance.now() < end;
};

describe("readBench", () => {
  it("waits for an editor that writes in place, and reads nothing half written", async () => {
    const job = await openJob(folder);
    const written = editor(forMilliseconds(50));
    const { text } = await readBench(job);
    expect(text.length).toBeGreaterThan(100);
    expect(text).toBe(await written);
  });

  it("says so where the editor does not come to an end", async () => {
    const job = await openJob(folder);
    let isReading = true;
    const written = editor(() => isReading);
    await expect(readBench(job)).rejects.toMatchObject({
      code: "changed-meanwhile",
      message: "bench.yaml changed while it was read; read it again.",
    });
    isReading = false;
    await written;
  });
});

describe("saveBench", () => {
  it("saves over the state that was read, and refuses a state changed meanwhile", async () => {
    const job = await openJob(folder);
    const first = await readBench(job);
    expect(first).toEqual({
      text: "name: Larkfield\n",
      hash: createHash("sha256").update("name: Larkfield\n").digest("hex"),
    });
    const second = await saveBench(job, "name: Tern\n", first.hash);
    expect(await readBench(job)).toEqual(second);
    await expect(saveBench(job, "name: lost\n", first.hash)).rejects.toMatchObject({ code: "bench-changed" });
    expect((await readBench(job)).text).toBe("name: Tern\n");
  });

  it("does not save over what an editor was writing", async () => {
    const job = await openJob(folder);
    const { hash } = await readBench(job);
    const written = editor(forMilliseconds(50));
    await expect(saveBench(job, "name: lost\n", hash)).rejects.toMatchObject({ code: "bench-changed" });
    expect((await readBench(job)).text).toBe(await written);
  });

  it("lets one of many saves at once through, and none of the others is lost silently", async () => {
    const job = await openJob(folder);
    const { hash } = await readBench(job);
    const saves = Array.from({ length: 8 }, (_, index) => saveBench(job, `name: n${index}\n`, hash));
    const results = await Promise.allSettled(saves);
    expect(results.filter(({ status }) => status === "fulfilled")).toHaveLength(1);
    for (const result of results) if (result.status === "rejected") expect(result.reason.code).toBe("bench-changed");
  });

  it("keeps a mark at the start and every character, and refuses half a character or a file too large", async () => {
    const job = await openJob(folder);
    const { hash } = await saveBench(job, "\ufeffname: é\r\n", (await readBench(job)).hash);
    expect((await readBench(job)).text).toBe("\ufeffname: é\r\n");
    await expect(saveBench(job, "\ud800", hash)).rejects.toMatchObject({ code: "not-utf-8" });
    await expect(saveBench(job, "#".repeat(1024 * 1024 + 1), hash)).rejects.toMatchObject({ code: "too-large" });
  });

  it("writes through a link inside the folder and refuses one that leads out", async () => {
    await mkdir(join(folder, "dossier"));
    await rename(join(folder, "bench.yaml"), join(folder, "dossier", "real.yaml"));
    await symlink("dossier/real.yaml", join(folder, "bench.yaml"));
    const job = await openJob(folder);
    const { hash } = await saveBench(job, "name: there\n", (await readBench(job)).hash);
    expect(await readFile(join(folder, "dossier", "real.yaml"), "utf8")).toBe("name: there\n");
    await rm(join(folder, "bench.yaml"));
    await symlink(join(top, "secret"), join(folder, "bench.yaml"));
    await expect(saveBench(job, "x", hash)).rejects.toMatchObject({ code: "outside-folder" });
    await expect(openJob(folder)).rejects.toMatchObject({ code: "outside-folder" });
    expect(await readFile(join(top, "secret"), "utf8")).toBe("secret");
  });

  it("tells a bench file that is not UTF-8", async () => {
    await writeFile(join(folder, "bench.yaml"), new Uint8Array([0x6e, 0xff, 0xfe]));
    await expect(readBench(await openJob(folder))).rejects.toMatchObject({ code: "not-utf-8" });
  });
});

describe("listFiles", () => {
  it("lists images with their sizes, and says of each that cannot be used why", async () => {
    await writeFile(join(folder, "images", "side b", "data.img"), "12");
    await symlink(join(top, "secret"), join(folder, "images", "out.img"));
    await symlink(top, join(folder, "images", "up"));
    execFileSync(MAKE_PIPE, [join(folder, "images", "pipe")]);
    const listed = await listFiles(await openJob(folder), "images");
    expect(listed.map(({ name, size, problem }) => [name, size, problem?.replace(/^.*?: /, "")])).toEqual([
      ["out.img", 0, "the symbolic link out.img leads out of the folder."],
      ["pipe", 0, "pipe is not a file."],
      ["side b/data.img", 2, undefined],
      ["tern.img", 4, undefined],
      ["up", 0, "the symbolic link up leads out of the folder."],
    ]);
  });

  it("lists nothing where the folder is missing or leads out", async () => {
    const job = await openJob(folder);
    expect(await listFiles(job, "catalogue")).toEqual([]);
    await symlink(top, join(folder, "catalogue"));
    expect(await listFiles(job, "catalogue")).toEqual([]);
  });
});

describe("readImage", () => {
  it("gives bytes, size and SHA-256 (FIPS 180-2, example B.1: abc)", async () => {
    await writeFile(join(folder, "images", "abc"), "abc");
    const sha256 = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    const image = await readImage({ job: await openJob(folder), name: "abc" });
    expect(image).toEqual({ bytes: new Uint8Array([0x61, 0x62, 0x63]), sha256, size: 3 });
    expect((await readImage(join(folder, "images", "abc"))).sha256).toBe(sha256);
  });

  it("refuses what is too large before reading it", async () => {
    const path = join(folder, "images", "huge.img");
    await writeFile(path, "");
    await truncate(path, IMAGE_LIMIT + 1);
    await expect(readImage(path)).rejects.toThrow(/it has 67,108,865 bytes, the limit is 67,108,864\.$/);
    await expect(readImage(join(folder, "bench.yaml"), 3)).rejects.toMatchObject({ code: "too-large" });
  });

  it("refuses devices, pipes, folders and absent files in one sentence, without waiting", async () => {
    const pipe = join(folder, "images", "pipe");
    execFileSync(MAKE_PIPE, [pipe]);
    const job = await openJob(folder);
    await expect(readImage(pipe)).rejects.toThrow(/is a named pipe, not a file\.$/);
    await expect(readImage({ job, name: "pipe" })).rejects.toMatchObject({ code: "not-a-file" });
    await expect(readImage("/dev/zero")).rejects.toThrow("/dev/zero is a device, not a file.");
    await expect(readImage(folder)).rejects.toMatchObject({ code: "not-a-file" });
    await expect(readImage({ job, name: "none" })).rejects.toMatchObject({ code: "no-such-file" });
    await expect(readImage({ job, name: "../bench.yaml" })).rejects.toMatchObject({ code: "outside-folder" });
  });
});
