import { cp, mkdir, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildChainedBlock } from "@rouse/core/volume";
import type { Hono } from "hono";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { type DeviceOpener, realOpener } from "../devices/write/index.ts";
import { type Job, openJob } from "../store/index.ts";
import { createDiskApi } from "./disk-api.ts";
import { fakeApp, PORT, TOKEN } from "./fakes.ts";
import type { ServerEnv } from "./guard.ts";
import { createTimeApi } from "./time-api.ts";
import { createWriteApi } from "./write-api.ts";
import { listTargets } from "./write-targets.ts";
import { createWriting, type PlanTold, type WriteState, type Writing } from "./writing.ts";

const HOST = `127.0.0.1:${PORT}`;
const own = { host: HOST, "x-rouse-token": TOKEN };
const change = { ...own, origin: `http://${HOST}`, "content-type": "application/json" };

const BENCH = `rouse: 1
name: rooms
computer: { cpu: { part: MC68A09E, clock: 1.5 MHz } }
buses: { disk bus: { kind: IEEE 488, rate: "4,000 byte/s" } }
drives: { drive: { class: zoned-77-track-two-side, bus: disk bus } }
images: { disk: { file: images/disk.img, recording: zoned-77-two-side, drive: drive } }
writers: { copier: { command: ["${process.execPath}", -e, "require('fs').copyFileSync(process.argv[1], process.argv[1] + '.out')", "{image}"] } }
`;

let top: string;
let job: Job;
let image: Uint8Array;
let app: Hono<ServerEnv>;
let writing: Writing;

/** The real opener, whose devices a test may change. */
type BlockDevice = Awaited<ReturnType<DeviceOpener["open"]>>;
let odd: (device: BlockDevice, mode: string) => BlockDevice = (device) => device;
const opener: DeviceOpener = { open: async (path, mode) => odd(await realOpener.open(path, mode), mode) };

beforeAll(async () => {
  top = await mkdtemp(join(tmpdir(), "rouse-rooms-"));
  await mkdir(join(top, "images"));
  await mkdir(join(top, "captures"));
  image = buildChainedBlock([{ path: "letters", type: "file", bytes: new Uint8Array(9000).fill(65) }], {
    layout: "77-track-two-sided",
    name: "ROOMS",
    id: "RO",
  });
  await writeFile(join(top, "bench.yaml"), BENCH);
  await writeFile(join(top, "images/disk.img"), image);
  await writeFile(join(top, "captures/read.csv"), "0,1\n0.001,0\n");
  job = await openJob(top);
  writing = createWriting(
    job,
    opener,
    () => new Date(),
    () => {},
  );
  app = fakeApp({ rooms: [createDiskApi(job), createTimeApi(job), createWriteApi(job, writing)] }).app;
});
afterAll(async () => {
  await writing?.close();
  await rm(top, { recursive: true, force: true });
});

const get = async (path: string) => app.request(`/api/${path}`, { headers: own });
const post = async (path: string, body: object, headers: Record<string, string> = change) =>
  app.request(`/api/${path}`, { method: "POST", headers, body: JSON.stringify(body) });
const errorOf = async (response: Response) => ((await response.json()) as { error: { code: string } }).error.code;

describe("the disk's routes", () => {
  it("tell how each image is recorded, and what recordings there are", async () => {
    const found = (await (await get("disk")).json()) as {
      images: { file: string; recording: string; drive: string; rotation: { value: number } }[];
      recordings: { id: string }[];
    };
    expect(found.images).toMatchObject([{ file: "disk.img", recording: "zoned-77-two-side", drive: "drive" }]);
    expect(found.images[0]!.rotation.value).toBeCloseTo(5, 1);
    expect(found.recordings.length).toBeGreaterThan(20);
  });

  it("give a capture's octets, and none from outside the folder", async () => {
    expect(await (await get("captures")).json()).toEqual([{ name: "read.csv", size: 12 }]);
    expect(await (await get("captures/read.csv")).text()).toBe("0,1\n0.001,0\n");
    expect((await get("captures/none.csv")).status).toBe(404);
    expect((await get("captures/..%2Fbench.yaml")).status).toBe(403);
  });
});

describe("the time's routes", () => {
  const asked = { image: "disk", what: "format" };

  it("time a job, with values that are tried, and give its spans in columns", async () => {
    const timed = async (body: object) => (await (await post("time", { ...asked, ...body })).json()) as never;
    const whole: { answer: { seconds: number; known: boolean }; spans: { lane: string[]; start: number[] } } =
      await timed({});
    expect(whole.answer.known).toBe(true);
    expect(whole.spans.lane.length).toBe(whole.spans.start.length);
    expect(new Set(whole.spans.lane)).toContain("arm");
    const quick: typeof whole = await timed({ tried: { rotation: 6 } });
    expect(quick.answer.seconds).toBeLessThan(whole.answer.seconds);
  });

  it("fit what is missing to what was measured", async () => {
    const whole = (await (await post("time", { image: "disk", what: "load", name: "letters" })).json()) as {
      answer: { missing: { key: string }[] };
    };
    const { missing } = whole.answer;
    expect(missing.map(({ key }) => key)).toEqual(["computer.cpu.handling"]);
    const body = { image: "disk", what: "load", name: "letters", measured: ["load letters 12 s"] };
    const { fitted, answer } = (await (await post("time", body)).json()) as {
      fitted: { values: { id: string; low: number; high: number }[]; samples: unknown[] };
      answer: { seconds: number; known: boolean };
    };
    expect(fitted.values.map(({ id }) => id)).toEqual(["handling"]);
    expect(fitted.samples).toEqual([]);
    expect(answer.known).toBe(true);
    expect(answer.seconds).toBeGreaterThan(11);
    expect(answer.seconds).toBeLessThan(13);
  });

  it("give the curve over the interleave, and refuse what makes no sense", async () => {
    const curve = (await (await post("time/interleave", { image: "disk" })).json()) as { interleaves: unknown[] };
    expect(curve.interleaves.length).toBeGreaterThan(10);
    expect(await errorOf(await post("time", { ...asked, tried: { rotation: "fast" } }))).toBe("bad-request");
    expect(await errorOf(await post("time", { ...asked, tried: { size: 3 } }))).toBe("bad-request");
    expect(await errorOf(await post("time", { ...asked, measured: ["soon"] }))).toBe("bad-measurement");
    expect(await errorOf(await post("time", { ...asked, image: "none" }))).toBe("no-such-image");
  });
});

describe("the write's routes", () => {
  afterEach(async () => {
    odd = (device) => device;
  });
  const target = () => join(top, "out.img");
  const plan = async (more: object = {}): Promise<PlanTold> =>
    (await (await post("write/plan", { image: "disk.img", file: "out.img", ...more })).json()) as PlanTold;
  const ended = async (): Promise<WriteState> => {
    for (;;) {
      const state = writing.state();
      if (state && state.state !== "running" && state.state !== "stopping") return state;
      await new Promise((resolve) => setTimeout(resolve, 5));
    }
  };

  it("list devices that can be taken out and loops in use, and nothing else", async () => {
    const sys = join(top, "sys");
    const put = async (name: string, files: Record<string, string>) => {
      for (const [file, text] of Object.entries(files)) {
        await mkdir(join(sys, name, file, ".."), { recursive: true });
        await writeFile(join(sys, name, file), `${text}\n`);
      }
    };
    await put("sda", { removable: "0", size: "1000000" });
    await put("sdb", { removable: "1", size: "2880", "device/model": "FLOPPY" });
    await put("loop0", { removable: "0", size: "0" });
    await put("loop1", { removable: "0", size: "1440", "loop/backing_file": "/tmp/a.img" });
    expect(await listTargets(sys)).toEqual([
      { path: "/dev/loop1", size: 737_280, model: "loop over /tmp/a.img", mounted: [] },
      { path: "/dev/sdb", size: 1_474_560, model: "FLOPPY", mounted: [] },
    ]);
    expect(await listTargets(join(top, "none"))).toEqual([]);
  });

  it("refuse targets that are the job's own or lie elsewhere", async () => {
    for (const file of ["bench.yaml", "log.jsonl", "../x.img", "images/disk.img", ".hidden", "write-a.journal", ""])
      expect(await errorOf(await post("write/plan", { image: "disk.img", file })), file).toBe("not-a-target");
    expect(await errorOf(await post("write/plan", { image: "disk.img", device: "/dev/sda" }))).toBe("not-a-target");
    expect((await post("write/plan", { image: "disk.img", file: "out.img" }, own)).status).toBe(403);
  });

  it("write nothing until the word of the last plan is given", async () => {
    const first = await plan();
    expect(first).toMatchObject({ target: { kind: "new file", word: "out.img" }, copyTo: null });
    expect(first.fit.map(({ link, verdict }) => `${link} ${verdict}`)).toContain("image runs");
    expect(first.estimates?.writing.seconds).toBeGreaterThan(60);
    expect(first.estimates?.writing.known).toBe(false);
    const second = await plan();
    expect(await errorOf(await post("write/start", { plan: first.id, word: "out.img" }))).toBe("no-plan");
    expect(await errorOf(await post("write/start", { plan: second.id, word: "out" }))).toBe("not-confirmed");
    await expect(readFile(target())).rejects.toThrow();
  });

  it("go on without a page, and certify what was read back", async () => {
    const { id } = await plan();
    const states: string[] = [];
    const leave = writing.follow((state) => states.push(state?.progress?.stage ?? String(state?.state)));
    expect(await (await post("write/start", { plan: id, word: "out.img" })).json()).toMatchObject({ state: "running" });
    const { state, certificate } = await ended();
    leave();
    expect(state).toBe("done");
    expect(certificate).toMatchObject({ verified: true, bad: [] });
    expect(Buffer.compare(await readFile(target()), image)).toBe(0);
    expect(states[0]).toBe("running");
    expect(states).toContain("verifying");
    const told = (await (await get("write")).json()) as { certificates: { ended: string }[] };
    expect(told.certificates).toMatchObject([{ image: { name: "disk.img" }, ended: certificate!.ended }]);
  });

  it("stop after the stretch at hand, and go on from there", async () => {
    odd = (device, mode) =>
      mode === "read"
        ? device
        : {
            ...device,
            write: (offset, bytes) => new Promise((done) => setTimeout(() => done(device.write(offset, bytes)), 3)),
          };
    const { id, copyTo } = await plan();
    expect(copyTo).toMatch(/^before-out\.img-/);
    await post("write/start", { plan: id, word: "out.img" });
    expect(await errorOf(await post("write/start", { plan: id, word: "out.img" }))).toBe("write-running");
    while ((writing.state()?.progress?.stage ?? "saving") === "saving")
      await new Promise((done) => setTimeout(done, 2));
    expect(await (await post("write/stop", {})).json()).toMatchObject({ state: "stopping" });
    expect(await ended()).toMatchObject({ state: "failed", problem: { code: "interrupted" } });
    expect(await errorOf(await post("write/plan", { image: "disk.img", file: "out.img" }))).toBe("unfinished");
    odd = (device) => device;
    const rest = await plan({ resume: true });
    expect(rest.from).toBeGreaterThan(0);
    await post("write/start", { plan: rest.id, word: "out.img" });
    expect(await ended()).toMatchObject({ state: "done", certificate: { verified: true, resumedFrom: rest.from } });
  });

  it("list a write that another process left unfinished, to be gone on with", async () => {
    odd = (device, mode) =>
      mode === "read"
        ? device
        : {
            ...device,
            write: (offset, bytes) =>
              offset < 100_000
                ? device.write(offset, bytes)
                : Promise.reject(Object.assign(new Error("x"), { code: "ENOSPC" })),
          };
    const { id } = await plan({ file: "left.img" });
    await post("write/start", { plan: id, word: "left.img" });
    expect(await ended()).toMatchObject({ state: "failed", problem: { code: "target-failed" } });
    odd = (device) => device;
    const { interrupted } = (await (await get("write")).json()) as { interrupted: { done: number }[] };
    expect(interrupted).toMatchObject([{ image: "disk.img", file: "left.img", blocks: 4166 }]);
    const rest = await plan({ file: "left.img", resume: true });
    expect(rest.from).toBe(interrupted[0]!.done);
    await post("write/start", { plan: rest.id, word: "left.img" });
    expect(await ended()).toMatchObject({ state: "done", certificate: { verified: true } });
    expect(((await (await get("write")).json()) as { interrupted: unknown[] }).interrupted).toEqual([]);
  });

  it("call an adapter as the bench file gave it at the start, and not as a page made it", async () => {
    const listed = async () =>
      ((await (await get("write/targets")).json()) as { writers: { name: string; problem: string | null }[] }).writers;
    expect(await listed()).toMatchObject([{ name: "copier", readsBack: false, problem: null }]);
    const told = await plan({ file: undefined, writer: "copier" });
    expect(told).toMatchObject({ target: { kind: "adapter", word: "copier" }, copyTo: null });
    await post("write/start", { plan: told.id, word: "copier" });
    expect(await ended()).toMatchObject({ state: "done", certificate: { compared: false, verified: false } });
    expect(Buffer.compare(await readFile(join(top, "images/disk.img.out")), image)).toBe(0);
    await rm(join(top, "images/disk.img.out"));
    await writeFile(join(top, "bench.yaml"), BENCH.replace(".out", ".other"));
    expect((await listed())[0]!.problem).toMatch(/changed since the workbench was opened/);
    const refused = await post("write/plan", { image: "disk.img", writer: "copier" });
    expect(await errorOf(refused)).toBe("writer-changed");
    await writeFile(join(top, "bench.yaml"), BENCH);
    expect(await errorOf(await post("write/plan", { image: "disk.img", writer: "none" }))).toBe("no-writer");
  });

  it("refuse a target that changed between plan and word", async () => {
    const { id } = await plan();
    await cp(join(top, "images/disk.img"), join(top, "other.img"));
    await rm(target());
    expect(await errorOf(await post("write/start", { plan: id, word: "out.img" }))).toBe("target-changed");
  });
});
