import { mkdir, mkdtemp, rm, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Hono } from "hono";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openJob } from "../store/index.ts";
import { fakeApp, PORT, TOKEN } from "./fakes.ts";
import type { ServerEnv } from "./guard.ts";
import { createRehearseApi } from "./rehearse-api.ts";

const own = { host: `127.0.0.1:${PORT}`, "x-rouse-token": TOKEN };

let top: string;
let app: Hono<ServerEnv>;

beforeAll(async () => {
  top = await mkdtemp(join(tmpdir(), "rouse-rehearse-"));
  for (const folder of ["job/images", "job/roms", "job/catalogue"]) await mkdir(join(top, folder), { recursive: true });
  await writeFile(join(top, "job/bench.yaml"), "rouse: 1\nname: rehearsed\n");
  await writeFile(join(top, "job/images/a disk.img"), Uint8Array.of(1, 2, 3));
  await writeFile(join(top, "job/roms/monitor.rom"), Uint8Array.of(0xe0, 0));
  await writeFile(join(top, "outside.rom"), "no");
  await symlink(join(top, "outside.rom"), join(top, "job/roms/link.rom"));
  app = fakeApp({ rooms: [createRehearseApi(await openJob(join(top, "job")))] }).app;
});
afterAll(() => rm(top, { recursive: true, force: true }));

const get = (path: string, headers: Record<string, string> = own) => app.request(`/api/rehearsal/${path}`, { headers });
const bytes = async (path: string): Promise<number[]> => [...new Uint8Array(await (await get(path)).arrayBuffer())];

describe("the routes of the rehearsal", () => {
  it("give disks of images/ and ROMs from anywhere in the job folder, by the names of the bench file", async () => {
    expect(await bytes("disk?file=images%2Fa%20disk.img")).toEqual([1, 2, 3]);
    expect(await bytes("rom?file=.%2Froms%2Fmonitor.rom")).toEqual([0xe0, 0]);
  });

  it("give nothing from outside, nothing without a name, and nothing without the token", async () => {
    for (const [path, status] of [
      ["rom?file=..%2Foutside.rom", 403],
      ["rom?file=roms%2Flink.rom", 403],
      ["rom?file=%2Fetc%2Fhostname", 403],
      ["rom?file=none.rom", 404],
      ["disk?file=..%2F..%2Foutside.rom", 403],
      ["disk?file=bench.yaml", 404],
      ["rom", 400],
      ["disk?file=", 400],
    ] as const)
      expect((await get(path)).status, path).toBe(status);
    expect((await get("rom?file=roms%2Fmonitor.rom", { host: own.host })).status).toBe(401);
  });

  it("give the job's own catalogue files, and one sentence where one is not sound", async () => {
    expect(await (await get("catalogue")).json()).toEqual([]);
    await writeFile(join(top, "job/catalogue/mine.yaml"), "chips: [{ part: MC6850, title: mine }]\n");
    const answer = (await (await get("catalogue")).json()) as { file: string }[];
    await writeFile(join(top, "job/catalogue/mine.yaml"), "chips: 7\n");
    const bad = await get("catalogue");
    expect(answer.map(({ file }) => file)).toEqual(["catalogue/mine.yaml"]);
    expect(bad.status).toBe(422);
  });
});
