import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Bench, BenchWriter } from "@rouse/core/bench";
import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { buildFat12 } from "@rouse/core/volume";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Job, openJob, readLog } from "../../store/index.ts";
import { planAdapter, runThroughAdapter } from "./through-adapter.ts";

let folder: string;
let job: Job;
let image: Uint8Array;
const now = () => new Date("2026-06-06T10:00:00Z");
const disk = () => join(folder, "the disk");

/** An adapter as a person might have: it copies between its disk, a file, and what it is told. */
const COPY = `const [from, to, bad] = process.argv.slice(1);
const bytes = require("fs").readFileSync(from);
console.log("track 20/80");
if (bad) bytes[Number(bad)] ^= 1;
require("fs").writeFileSync(to, bytes);
console.log("\\u001b[31mall copied");`;
const call = (...args: string[]): string[] => [process.execPath, "-e", COPY, ...args];

/** The job's bench with a writer that may lack or spoil something. */
function benchWith(writer: Partial<BenchWriter>): Bench {
  const { bench } = readBench("rouse: 1\nname: x\n", loadCatalogue());
  const whole = { name: "my adapter", path: "writers.my adapter", command: call("{image}", disk()), ...writer };
  return { ...bench!, writers: [{ progress: "track (\\d+)/(\\d+)", ...whole }] };
}
const request = (more: object = {}) => ({ job, image: "disk.img", writer: "my adapter", ...more });
const readBack = () => call(disk(), "{back}");

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "rouse-adapter-"));
  mkdirSync(join(folder, "job/images"), { recursive: true });
  writeFileSync(join(folder, "job/bench.yaml"), "rouse: 1\nname: x\n");
  image = buildFat12([{ path: "NOTES.TXT", type: "file", bytes: new Uint8Array(5000).fill(65), wishes: {} }], {
    format: "160K",
  });
  writeFileSync(join(folder, "job/images/disk.img"), image);
  job = await openJob(join(folder, "job"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("a write through an adapter", () => {
  it("saves what was on the disk, writes, reads back, compares and leaves a certificate", async () => {
    const before = new Uint8Array(image.length).fill(0xe5);
    writeFileSync(disk(), before);
    const plan = await planAdapter(request(), benchWith({ readBack: readBack() }), now);
    expect(plan.target).toMatchObject({ kind: "adapter", word: "my adapter" });
    expect(plan.target.calls!.write.slice(3)).toEqual([join(job.folder, "images/disk.img"), disk()]);
    expect(plan.target.calls!.readBack!.at(-1)).toBe("a temporary file");
    // A plan starts nothing.
    expect(readFileSync(disk()).equals(before)).toBe(true);
    const told: string[] = [];
    const onProgress = ({ stage, done }: { stage: string; done: number }) => told.push(`${stage} ${done}`);
    const certificate = await runThroughAdapter(plan, { now, onProgress });
    expect(certificate).toMatchObject({
      kind: "write-certificate",
      target: { path: "my adapter", kind: "adapter" },
      verified: true,
      compared: true,
      blocksVerified: 320,
      retries: 0,
      sha256ReadBack: plan.image.sha256,
      copyOfBefore: plan.copyTo,
    });
    expect(certificate.output).toContain("all copied");
    expect(told).toContain("writing 80");
    expect(told.at(-1)).toBe("verifying 320");
    expect(readFileSync(disk()).equals(image)).toBe(true);
    expect(readFileSync(join(job.folder, "images", plan.copyTo!)).equals(before)).toBe(true);
    expect((await readLog(job)).entries.at(-1)!.entry).toMatchObject({ kind: "write-certificate", verified: true });
  });

  it("tells a block that reads wrong by the file it belongs to, after reading again", async () => {
    const plan = await planAdapter(
      request({ withoutCopy: true }),
      benchWith({ readBack: [...readBack(), String(512 * 8 + 3)] }),
      now,
    );
    const certificate = await runThroughAdapter(plan, { now });
    expect(certificate).toMatchObject({ verified: false, blocksVerified: 319, retries: 2, sha256ReadBack: null });
    expect(certificate.bad).toMatchObject([{ block: 8, tries: 3, why: "what is read differs from the image" }]);
    expect(certificate.bad[0]!.holds).toContain("NOTES.TXT");
  });

  it("says that nothing was compared where the bench does not say how to read back", async () => {
    const plan = await planAdapter(request(), benchWith({}), now);
    expect(plan.copyTo).toBeNull();
    expect(await runThroughAdapter(plan, { now })).toMatchObject({
      verified: false,
      compared: false,
      blocksVerified: 0,
    });
  });

  it("writes nothing where what is on the disk cannot be saved, and leaves no file behind", async () => {
    writeFileSync(disk(), "as it was");
    const images = readdirSync(join(job.folder, "images"));
    const failing = [process.execPath, "-e", "process.exit(4)"];
    const broken = await planAdapter(request(), benchWith({ readBack: failing }), now);
    await expect(runThroughAdapter(broken, { now })).rejects.toMatchObject({ code: "not-saved" });
    const silent = await planAdapter(request(), benchWith({ readBack: [process.execPath, "-e", "0"] }), now);
    await expect(runThroughAdapter(silent, { now })).rejects.toThrow("left no file");
    expect(readFileSync(disk(), "utf8")).toBe("as it was");
    expect(readdirSync(join(job.folder, "images"))).toEqual(images);
  });

  it("refuses a writer that the bench lacks, and to go on in the middle", async () => {
    await expect(planAdapter(request({ writer: "other" }), benchWith({}), now)).rejects.toMatchObject({
      code: "no-writer",
    });
    await expect(planAdapter(request({ resume: true }), benchWith({}), now)).rejects.toMatchObject({
      code: "nothing-to-resume",
    });
  });
});
