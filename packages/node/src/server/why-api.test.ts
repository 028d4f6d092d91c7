import { cp, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { WhyTold } from "@rouse/core/diagnose/why";
import type { Hono } from "hono";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openJob } from "../store/index.ts";
import { fakeApp, PORT, TOKEN } from "./fakes.ts";
import type { ServerEnv } from "./guard.ts";
import { createWhyApi } from "./why-api.ts";

const HOST = `127.0.0.1:${PORT}`;
const own = { host: HOST, "x-rouse-token": TOKEN };
const change = { ...own, origin: `http://${HOST}`, "content-type": "application/json" };
const DEMO = fileURLToPath(new URL("../../../../demo", import.meta.url));

let folder: string;
let app: Hono<ServerEnv>;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "rouse-why-"));
  await cp(join(DEMO, "mended/bench.yaml"), join(folder, "bench.yaml"));
  app = fakeApp({ rooms: [createWhyApi(await openJob(folder))] }).app;
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const get = async (path: string) => (await (await app.request(`/api/${path}`, { headers: own })).json()) as WhyTold;
const post = (path: string, body: object, headers: Record<string, string> = change) =>
  app.request(`/api/${path}`, { method: "POST", headers, body: JSON.stringify(body) });
const told = async (path: string, body: object) => (await (await post(path, body)).json()) as WhyTold;

describe("the routes of the search", () => {
  it("take what is told and answered, give where it stands, and take it back", async () => {
    expect((await get("why")).answers).toEqual([]);
    expect((await told("why/tell", { text: "dark screen" })).causes[0]!.link).toBe("terminal");
    const { answers } = await told("why/answer", { test: "rail/+5 V", found: "4.2 V" });
    expect(answers.map(({ found }) => found)).toEqual(["dark, no light at all", "4.2 V: below its limit"]);
    expect((await told("why/undo", { id: answers[0]!.id })).answers.map(({ test }) => test)).toEqual(["rail/+5 V"]);
    expect((await get("why")).answers).toHaveLength(1);
    expect((await told("why/fresh", {})).answers).toEqual([]);
  });

  it("begin with a test, or with a step of the run book", async () => {
    expect((await get("why?from=clock")).asked!.id).toBe("clock");
    expect((await get("why?from=disk%2Ftern%2Fwrite")).asked!.id).toBe("read-back");
    expect((await get("why?from=nowhere")).asked).toBeNull();
  });

  it("refuse what they cannot read, and what comes from elsewhere", async () => {
    expect((await post("why/tell", { text: "nonsense" })).status).toBe(422);
    expect((await post("why/answer", { test: "nowhere", found: "x" })).status).toBe(400);
    expect((await post("why/undo", { id: "none" })).status).toBe(422);
    expect(
      (await post("why/tell", { text: "garbage" }, { ...change, origin: "http://elsewhere.example" })).status,
    ).toBe(403);
    expect((await post("why/tell", { text: "garbage" }, { ...change, "x-rouse-token": "" })).status).toBe(401);
    expect((await get("why")).answers).toEqual([]);
  });
});
