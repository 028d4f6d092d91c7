import { spawn } from "node:child_process";
import { once } from "node:events";
import { appendFile, mkdtemp, readdir, readFile, rm, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { type Job, openJob } from "./job.ts";
import { appendLog, readLog } from "./log.ts";

let folder: string;
let job: Job;
const clock = (): Date => new Date("2026-11-25T10:00:00Z");
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), "rouse-log-"));
  await writeFile(join(folder, "bench.yaml"), "");
  job = await openJob(folder);
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const logText = (): Promise<string> => readFile(join(folder, "log.jsonl"), "utf8");

describe("appendLog", () => {
  it("adds one JSON line an entry, with the time of the clock in front", async () => {
    expect(await appendLog(job, { did: "opened", note: "line\nfeed" }, clock)).toEqual({
      time: "2026-11-25T10:00:00.000Z",
      cut: null,
    });
    await appendLog(job, { time: "not this one", did: "closed" }, clock);
    expect(await logText()).toBe(
      '{"time":"2026-11-25T10:00:00.000Z","did":"opened","note":"line\\nfeed"}\n' +
        '{"time":"2026-11-25T10:00:00.000Z","did":"closed"}\n',
    );
    expect((await readLog(job)).entries.map(({ line, entry }) => [line, entry])).toEqual([
      [1, { did: "opened", note: "line\nfeed" }],
      [2, { did: "closed" }],
    ]);
  });

  it("reads back any entry that JSON can hold", async () => {
    let count = 0;
    await fc.assert(
      fc.asyncProperty(fc.dictionary(fc.string({ minLength: 1 }), fc.jsonValue()), async (entry) => {
        const plain = JSON.parse(JSON.stringify({ ...entry, time: undefined }));
        await appendLog(job, plain, clock);
        count += 1;
        const { entries, bad, torn } = await readLog(job);
        expect(entries.at(-1)).toMatchObject({ line: count });
        expect(JSON.stringify(entries.at(-1)?.entry)).toBe(JSON.stringify(plain));
        expect({ bad, torn }).toEqual({ bad: [], torn: null });
      }),
      { seed: 5, numRuns: 25 },
    );
  });

  it("cuts a torn last line off at whatever byte it was torn, and says so", async () => {
    await appendLog(job, { did: "first" }, clock);
    const whole = await logText();
    for (const length of [1, 7, 40, whole.length - 1]) {
      const torn = whole.slice(0, length);
      await writeFile(join(folder, "log.jsonl"), whole + torn);
      expect((await readLog(job)).torn).toEqual({ line: 2, text: torn, length });
      expect(await logText()).toBe(whole + torn);
      expect((await appendLog(job, { did: "next" }, clock)).cut).toEqual({ text: torn, length });
      expect((await readLog(job)).entries.map(({ entry }) => entry.did)).toEqual(["first", "next"]);
    }
    expect((await readdir(folder)).sort()).toEqual(["bench.yaml", "log.jsonl"]);
  });

  it("cuts a log that is nothing but a torn line, and shows it without control functions", async () => {
    await writeFile(join(folder, "log.jsonl"), '{"\u001b[2J');
    expect((await appendLog(job, {}, clock)).cut).toEqual({ text: '{"\\x1B[2J', length: 6 });
  });

  it("takes over the lock of a repairer that died", async () => {
    await writeFile(join(folder, "log.jsonl"), "torn");
    await writeFile(join(folder, "log.jsonl.repair"), "4194999\n");
    expect((await appendLog(job, {}, clock)).cut).toEqual({ text: "torn", length: 4 });
  });

  it("refuses what is no entry, and changes nothing", async () => {
    const circular: Record<string, unknown> = {};
    circular.self = circular;
    await expect(appendLog(job, circular, clock)).rejects.toMatchObject({ code: "log-entry" });
    await expect(appendLog(job, { big: "x".repeat(1024 * 1024) }, clock)).rejects.toMatchObject({ code: "log-entry" });
    expect((await readLog(job)).entries).toEqual([]);
    await writeFile(join(folder, "log.jsonl"), "x".repeat(1024 * 1024 + 1));
    await expect(appendLog(job, {}, clock)).rejects.toThrow(/longer than any entry/);
    expect(await logText()).toHaveLength(1024 * 1024 + 1);
  });

  it("refuses a log that is a link out of the folder", async () => {
    await symlink("/dev/null", join(folder, "log.jsonl"));
    await expect(appendLog(job, {}, clock)).rejects.toMatchObject({ code: "outside-folder" });
  });

  it("does not mix the entries of processes that write at once, even over a torn line", async () => {
    const program = join(folder, "writer.mjs");
    await build({
      stdin: {
        contents: `
          import { openJob } from "./job.ts";
          import { appendLog } from "./log.ts";
          const [, , folder, name] = process.argv;
          const job = await openJob(folder);
          for (let number = 0; number < 60; number++) {
            await appendLog(job, { name, number, fill: name.repeat(1 + (number * 997) % 9000) }, () => new Date());
          }`,
        resolveDir: fileURLToPath(new URL(".", import.meta.url)),
        loader: "ts",
      },
      bundle: true,
      platform: "node",
      format: "esm",
      outfile: program,
      logLevel: "error",
    });
    await appendFile(join(folder, "log.jsonl"), '{"torn');
    const writers = ["a", "b", "c"].map((name) =>
      spawn(process.execPath, [program, folder, name], { stdio: "inherit" }),
    );
    for (const [code] of await Promise.all(writers.map((writer) => once(writer, "exit")))) expect(code).toBe(0);
    const { entries, bad, torn } = await readLog(job);
    expect({ bad, torn }).toEqual({ bad: [], torn: null });
    for (const name of ["a", "b", "c"]) {
      const own = entries.filter(({ entry }) => entry.name === name).map(({ entry }) => entry.number);
      expect(own).toEqual(Array.from({ length: 60 }, (_, number) => number));
    }
  });
});

describe("readLog", () => {
  it("tells lines that are no entries by number and keeps the others", async () => {
    const good = '{"time":"2026-11-25T10:00:00Z","did":"x"}';
    const lines = [good, "not json", "[1]", '{"did":"no time"}', '{"time":"soon"}', "", good];
    await writeFile(
      join(folder, "log.jsonl"),
      Buffer.concat([Buffer.from(`${lines.join("\n")}\n`), Buffer.from([0xff, 0x0a])]),
    );
    const { entries, bad, torn } = await readLog(job);
    expect(entries.map(({ line }) => line)).toEqual([1, 7]);
    expect(bad.map(({ line }) => line)).toEqual([2, 3, 4, 5, 6, 8]);
    expect(bad[0]?.sentence).toBe("log.jsonl, line 2, is not JSON in UTF-8: not json.");
    expect(torn).toBeNull();
  });

  it("takes a missing log for an empty one", async () => {
    expect(await readLog(job)).toEqual({ entries: [], torn: null, bad: [] });
  });
});
