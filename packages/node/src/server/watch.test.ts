import { mkdir, mkdtemp, rename, rm, symlink, unlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { type Job, openJob, readBench, saveBench } from "../store/index.ts";
import { type JobPart, type Watching, watchJob } from "./watch.ts";

let folder: string;
let job: Job;
let watching: Watching;
let told: (readonly JobPart[])[];
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), "rouse-watch-"));
  await writeFile(join(folder, "bench.yaml"), "one");
  job = await openJob(folder);
  told = [];
  watching = await watchJob(job, (what) => told.push(what));
});
afterEach(async () => {
  watching.close();
  await rm(folder, { recursive: true, force: true });
});

const until = (count: number): Promise<void> =>
  vi.waitFor(() => expect(told.length).toBeGreaterThanOrEqual(count), { timeout: 5_000, interval: 5 });

describe("watchJob", () => {
  it("tells a bench file written in place, and one renamed over, again and again", async () => {
    for (let turn = 1; turn <= 3; turn++) {
      const before = told.length;
      await writeFile(join(folder, "bench.yaml"), `in place ${turn}`);
      await until(before + 1);
      // A write in place may be told twice: emptied, then filled.
      await wait(100);
      const between = told.length;
      await writeFile(join(folder, "bench.yaml~"), `renamed ${turn}`);
      await rename(join(folder, "bench.yaml~"), join(folder, "bench.yaml"));
      await until(between + 1);
    }
    expect(told.every((what) => what.join() === "bench")).toBe(true);
  });

  it("tells it within 200 ms, as the page has to redraw in that time", async () => {
    const took: number[] = [];
    for (let turn = 0; turn < 5; turn++) {
      const { hash } = await readBench(job);
      const started = performance.now();
      await saveBench(job, `turn ${turn}`, hash);
      await until(turn + 1);
      took.push(performance.now() - started);
    }
    // The quickest of five, as a busy machine may delay any one.
    expect(Math.min(...took)).toBeLessThan(200);
  });

  it("tells many changes at once as few", async () => {
    for (let turn = 0; turn < 50; turn++) await writeFile(join(folder, "bench.yaml"), `burst ${turn}`);
    await until(1);
    await wait(150);
    expect(told.length).toBeLessThan(10);
    expect(new Set(told.flat())).toEqual(new Set(["bench"]));
  });

  it("tells images and catalogue, in folders made later as well", async () => {
    await mkdir(join(folder, "images"));
    await writeFile(join(folder, "images", "a.img"), "1");
    await until(1);
    expect(told.flat()).toEqual(Array(told.length).fill("images"));
    const before = told.length;
    await wait(100);
    await writeFile(join(folder, "images", "a.img"), "22");
    await until(before + 1);
    await mkdir(join(folder, "catalogue"));
    await writeFile(join(folder, "catalogue", "own.yaml"), "x");
    await vi.waitFor(() => expect(told.at(-1)).toEqual(["catalogue"]), { timeout: 5_000 });
  });

  it("goes on where a folder is exchanged for another, without waiting for the regular look", async () => {
    await mkdir(join(folder, "images"));
    const took: number[] = [];
    for (let turn = 0; turn < 3; turn++) {
      await writeFile(join(folder, "images", "old.img"), "");
      await wait(100);
      await rename(join(folder, "images"), join(folder, `old${turn}`));
      await mkdir(join(folder, "images"));
      await wait(100);
      const before = told.length;
      const started = performance.now();
      await writeFile(join(folder, "images", "new.img"), "1");
      await until(before + 1);
      took.push(performance.now() - started);
    }
    expect(took.sort((one, other) => one - other)[1]).toBeLessThan(500);
  });

  it("tells a bench file that went away, that became a link leading out, and that came back", async () => {
    await unlink(join(folder, "bench.yaml"));
    await until(1);
    await symlink("/etc/hostname", join(folder, "bench.yaml"));
    await until(2);
    await unlink(join(folder, "bench.yaml"));
    await writeFile(join(folder, "bench.yaml"), "back");
    await until(3);
    expect(told.flat()).toEqual(Array(told.length).fill("bench"));
  });

  it("says nothing of other files, and nothing after it was closed", async () => {
    await writeFile(join(folder, "log.jsonl"), "{}\n");
    await writeFile(join(folder, "notes.txt"), "x");
    await wait(150);
    watching.close();
    await writeFile(join(folder, "bench.yaml"), "unseen");
    await wait(150);
    expect(told).toEqual([]);
  });
});
