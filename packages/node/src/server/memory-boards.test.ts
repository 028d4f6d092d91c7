import { cp, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { BusTiming, FanOut, Fitting, RailState } from "@rouse/core/board";
import { MemoryMap, type PackedMemory, unpackMemory } from "@rouse/core/memory";
import type { Hono } from "hono";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openJob } from "../store/index.ts";
import { createBoardsApi } from "./boards-api.ts";
import { fakeApp, PORT, TOKEN } from "./fakes.ts";
import type { ServerEnv } from "./guard.ts";
import { createMemoryApi } from "./memory-api.ts";

const HOST = `127.0.0.1:${PORT}`;
const own = { host: HOST, "x-rouse-token": TOKEN };
const change = { ...own, origin: `http://${HOST}`, "content-type": "application/json" };

let folder: string;
let app: Hono<ServerEnv>;
let text: string;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "rouse-boards-"));
  await cp("demo/first-try/bench.yaml", join(folder, "bench.yaml"));
  text = await readFile(join(folder, "bench.yaml"), "utf8");
  const job = await openJob(folder);
  app = fakeApp({ rooms: [createMemoryApi(job), createBoardsApi(job)] }).app;
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const get = async (path: string) => (await app.request(`/api/${path}`, { headers: own })).json();
const boards = async (body: object) =>
  (
    await app.request("/api/boards", { method: "POST", headers: change, body: JSON.stringify(body) })
  ).json() as Promise<{
    rails: RailState[];
    lines: FanOut[];
    reads: (BusTiming & { name: string })[];
    fittings: Fitting[];
    findings: { id: string; verdict: string }[];
    clock: number;
    error?: { code: string };
  }>;

describe("the memory's route", () => {
  it("gives what the page makes the same map of, with what is wrong in it", async () => {
    const told = (await get("memory")) as {
      memory: PackedMemory;
      findings: { looked: number; clashes: unknown[] };
      rooms: unknown[];
      wanted: number;
    };
    const map = new MemoryMap(unpackMemory(told.memory));
    const answer = map.whoAnswers({ ...map.powerOn, latches: { window: 3 } }, 0xc123);
    expect(answer.read).toMatchObject({ region: "window", bank: 3, board: "main board" });
    expect(answer.read!.chips[7]).toMatchObject({ place: "U35", bits: [7] });
    expect(told).toMatchObject({ findings: { looked: 10, clashes: [] }, wanted: 2 });
  });

  it("shows the first address at which two forms of a select differ", async () => {
    const other = text.replace(
      "size: 48 KiB,",
      "size: 48 KiB, select: [not (A15 and A14), not A15 or (not A14 and A13)],",
    );
    await writeFile(join(folder, "bench.yaml"), other);
    expect(await get("memory")).toMatchObject({
      proofs: [
        { region: "main", equal: false, difference: { address: 0x8000, others: [], first: true } },
        { region: "main", equal: true },
      ],
    });
    await writeFile(join(folder, "bench.yaml"), text);
  });
});

describe("the boards' route", () => {
  it("gives supply, lines, reads and fitting", async () => {
    const { rails, lines, reads, fittings, clock } = await boards({});
    expect(rails[0]).toMatchObject({ rail: "+5 V", limit: 3, regulator: { part: "LM323", limit: 125 } });
    expect(rails[0]!.load.max).toBeCloseTo(2.89, 2);
    expect(lines.map((each) => each.title)).toContain("A15..A12");
    expect(reads.map((each) => each.name)).toEqual(["main memory", "monitor ROM"]);
    expect(fittings[0]!.undo.length).toBe(3);
    expect(clock).toBe(1.5e6);
  });

  it("tries another clock, with the row strobe in its place of the cycle, and other air", async () => {
    const now = await boards({});
    const fast = await boards({ clock: now.reads[0]!.fastest, ambient: 45 });
    // There the address has nothing left before the row strobe, as the fastest clock says.
    expect(fast.reads[0]!.strobe!.margin * 1e9).toBeCloseTo(0, 6);
    expect(fast.reads[0]!.fastest / now.reads[0]!.fastest).toBeCloseTo(1, 9);
    expect(fast.rails[0]!.regulator!.heat.junction - now.rails[0]!.regulator!.heat.junction).toBeCloseTo(10, 9);
    expect(fast.clock).toBe(1.5e6);
    const verdict = (told: typeof fast, id: string) => told.findings.find((each) => each.id === id)?.verdict;
    expect(verdict(now, "bus-timing/main memory")).toBe("runs");
    expect(verdict(await boards({ clock: 2e6 }), "bus-timing/main memory")).toBe("stops");
    expect((await boards({ clock: "fast" })).error?.code).toBe("bad-request");
    expect((await boards({ clock: 0 })).error?.code).toBe("bad-request");
  });

  it("says what a bench without boards and memory lacks", async () => {
    await writeFile(join(folder, "bench.yaml"), "rouse: 1\nname: x\n");
    expect((await boards({})).error?.code).toBe("no-boards");
    expect(await get("memory")).toMatchObject({ error: { code: "no-memory" } });
    await writeFile(join(folder, "bench.yaml"), "rouse: 2\n");
    expect((await boards({})).error?.code).toBe("bad-bench");
    await writeFile(join(folder, "bench.yaml"), text);
  });
});
