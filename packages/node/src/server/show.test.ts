import { appendFile, cp, mkdir, mkdtemp, readFile, rm, utimes, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { captureHead, captureLine } from "@rouse/core/show";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { openJob } from "../store/index.ts";
import { createShow, type ShowRoom } from "./show.ts";
import { createShowApi } from "./show-api.ts";
import { createPrompters, type Prompters, type PrompterTold } from "./show-prompter.ts";

const head = captureHead({ started: "2026-06-06T10:00:00Z", port: "p", rate: 2400, frame: "8N1", about: "a try" });
const line = (t: number, way: "in" | "out", text: string): string => {
  const bytes = Uint8Array.from(text, (each) => each.charCodeAt(0));
  return captureLine(way === "in" ? { t, in: bytes } : { t, out: bytes });
};

let folder: string;
let show: ShowRoom;
let prompters: Prompters;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), "rouse-show-"));
  await cp("demo/mended", folder, { recursive: true });
  await mkdir(join(folder, "captures"));
  const job = await openJob(folder);
  show = createShow(job);
  prompters = createPrompters(job, show, () => new Date());
});
afterEach(async () => {
  prompters.close();
  await rm(folder, { recursive: true, force: true });
});

describe("the script", () => {
  it("is planned as it stands or as given, and told wrong by line and key", async () => {
    const { plan, ends, spare } = await show.plan();
    expect(plan.scenes.map(({ scene }) => scene.name)).toContain("Logging in");
    expect(plan.latest?.clock).toMatch(/^15:\d\d:\d\d$/);
    expect([ends, spare]).toEqual([15.5 * 3600, 180]);
    await expect(show.plan("show: 1\ntitle: x\nscenes: []\n")).rejects.toMatchObject({ code: "bad-script" });
    await rm(join(folder, "show.yaml"));
    expect(await show.script()).toEqual({ text: "", hash: "" });
    await expect(show.plan()).rejects.toMatchObject({ code: "no-script" });
  });

  it("is planned with the waits of a rehearsal, where they are such", async () => {
    const wait = { low: 16, usual: 17, high: 18 };
    const { plan } = await show.plan(undefined, [undefined, wait]);
    expect(plan.scenes[1]).toMatchObject({ wait, modelled: { usual: expect.any(Number) } });
    expect(plan.scenes[2]).not.toHaveProperty("modelled");
    const api = createShowApi(show, prompters).onError((error, c) => c.text(error.message, 400));
    const { text } = await show.script();
    const planned = (waits: unknown) =>
      api.request("/show/plan", {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ text, waits }),
      });
    const told = (await (await planned([null, wait])).json()) as { plan: { scenes: { wait: unknown }[] } };
    expect(told.plan.scenes[1]!.wait).toEqual(wait);
    for (const wrong of [7, [7], [{ low: -1, usual: 0, high: 0 }], [{ low: 1 }], Array(1001).fill(null)])
      expect((await planned(wrong)).status, JSON.stringify(wrong).slice(0, 60)).toBe(400);
  });

  it("is saved only over the text that was read", async () => {
    const { text, hash } = await show.script();
    const saved = await show.save(`${text}# more\n`, hash);
    expect(saved.hash).not.toBe(hash);
    await expect(show.save("lost", hash)).rejects.toMatchObject({ code: "bench-changed" });
    expect(await readFile(join(folder, "show.yaml"), "utf8")).toBe(`${text}# more\n`);
    await rm(join(folder, "show.yaml"));
    expect((await show.save("new", "")).text).toBe("new");
  });
});

describe("captures", () => {
  it("are listed with their heads, and read only from their folder", async () => {
    await writeFile(join(folder, "captures/day.jsonl"), head + line(1, "in", "x"));
    await writeFile(join(folder, "captures/other.jsonl"), "no capture\n");
    await writeFile(join(folder, "captures/track.csv"), "s,x\n");
    expect((await show.captures()).map(({ name, head: found }) => [name, found?.about])).toEqual([
      ["day.jsonl", "a try"],
      ["other.jsonl", undefined],
    ]);
    expect(Buffer.from(await show.capture("day.jsonl")).toString()).toBe(head + line(1, "in", "x"));
    await expect(show.capture("../bench.yaml")).rejects.toMatchObject({ code: "outside-folder" });
  });
});

describe("a prompter", () => {
  const followed = (capture?: string) => {
    const told: PrompterTold[] = [];
    const leave = prompters.follow((state) => void told.push(state as PrompterTold), capture);
    const until = async (what: (state: PrompterTold) => boolean): Promise<PrompterTold> => {
      for (let k = 0; k < 400; k++) {
        const last = told.at(-1);
        if (last && what(last)) return last;
        await new Promise((done) => setTimeout(done, 25));
      }
      throw new Error(`never told: ${JSON.stringify(told.at(-1)?.session)}`);
    };
    return { until, leave, told };
  };

  it("is told where the session stands while the capture grows, also by half a line", async () => {
    const { until, leave } = followed();
    expect((await until(() => true)).session).toBeNull();
    const path = join(folder, "captures/now.jsonl");
    await writeFile(path, head + line(1, "in", "hello\r\n"));
    const begun = await until(({ session }) => session !== null);
    expect(begun.session).toMatchObject({ name: "now.jsonl", started: Date.UTC(2026, 5, 6, 10), place: { scene: 0 } });
    const login = line(4, "in", "login: ");
    await appendFile(path, login.slice(0, 9));
    await new Promise((done) => setTimeout(done, 400));
    await appendFile(path, login.slice(9));
    expect((await until(({ session }) => session!.place.scene === 2)).session?.place.since).toBe(4);
    await appendFile(path, line(6, "out", "visitor\r") + line(9, "in", "welcome\r\ntern: "));
    expect((await until(({ session }) => session!.place.scene === 3)).session?.place.since).toBe(9);
    leave();
  });

  it("takes no old session for a running one, unless that one is asked for", async () => {
    const path = join(folder, "captures/old.jsonl");
    await writeFile(path, head + line(4, "in", "login: "));
    await utimes(path, new Date(0), new Date(0));
    const { until, leave } = followed();
    const asked = followed("old.jsonl");
    expect((await asked.until(({ session }) => session !== null)).session?.place.scene).toBe(2);
    expect((await until(() => true)).session).toBeNull();
    leave();
    asked.leave();
    const none = followed("../bench.yaml");
    expect((await none.until(() => true)).session).toBeNull();
    none.leave();
  });

  it("is told anew when the script changes, and what is wrong with it", async () => {
    const { until, leave } = followed();
    await until(({ plan }) => plan !== null);
    await writeFile(join(folder, "show.yaml"), "show: 2\n");
    expect((await until(({ problem }) => problem !== null)).problem).toMatch(/^show\.yaml, line 1/);
    leave();
  });
});
