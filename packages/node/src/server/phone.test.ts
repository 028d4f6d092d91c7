import { cp, mkdtemp, rm, writeFile } from "node:fs/promises";
import { request } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Hono } from "hono";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { openJob } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";
import { createPairing, type Pairing } from "./pairing.ts";
import { createPhones, type Phones } from "./phone.ts";
import { createPhoneApp, phoneCookie } from "./phone-app.ts";
import { createRunBook } from "./runbook.ts";
import { createRunBookApi } from "./runbook-api.ts";
import { createShow } from "./show.ts";
import { createShowApi } from "./show-api.ts";
import { createPrompters } from "./show-prompter.ts";

let clock: number;
let pairing: Pairing;
beforeEach(() => {
  clock = Date.UTC(2026, 5, 6, 10);
  pairing = createPairing(() => clock);
});
const tryCode = (code: string): string => {
  clock += 1000;
  try {
    pairing.pair(code);
    return "paired";
  } catch (error) {
    return (error as { code: string }).code;
  }
};
const other = (code: string): string => String((Number(code) + 1) % 1_000_000).padStart(6, "0");

describe("a code", () => {
  it("lets one phone in, once, with or without a blank in it", () => {
    expect(tryCode("000000")).toBe("no-code");
    const { code } = pairing.newCode();
    expect(code).toMatch(/^\d{6}$/);
    expect(tryCode(` ${code.slice(0, 3)} ${code.slice(3)}`)).toBe("paired");
    expect(tryCode(code)).toBe("no-code");
    expect(pairing.phones()).toHaveLength(1);
  });

  it("is over after five minutes, and void once there is another", () => {
    const { code } = pairing.newCode();
    clock += 5 * 60_000;
    expect(tryCode(code)).toBe("no-code");
    const first = pairing.newCode().code;
    const second = pairing.newCode().code;
    if (first !== second) expect(tryCode(first)).toBe("wrong-code");
    expect(tryCode(second)).toBe("paired");
  });

  it("is void after five wrong tries, which cannot be made at once", () => {
    const { code } = pairing.newCode();
    for (let k = 0; k < 5; k++) expect(tryCode(other(code))).toBe("wrong-code");
    expect(tryCode(code)).toBe("no-code");
    const next = pairing.newCode().code;
    expect(tryCode(other(next))).toBe("wrong-code");
    expect(() => pairing.pair(next)).toThrow(/too quick/);
    expect(tryCode(next)).toBe("paired");
  });

  it("gives a token that is good until it is taken away or the day is over", () => {
    const tokens = [1, 2].map(() => {
      clock += 1000;
      return pairing.pair(pairing.newCode().code).token;
    });
    expect(tokens.map((each) => pairing.isPaired(each))).toEqual([true, true]);
    expect(pairing.isPaired(undefined) || pairing.isPaired("") || pairing.isPaired("x")).toBe(false);
    pairing.remove(pairing.phones()[0]!.id);
    expect(tokens.map((each) => pairing.isPaired(each))).toEqual([false, true]);
    clock += 16 * 3_600_000;
    expect(pairing.isPaired(tokens[1])).toBe(false);
  });
});

describe("the server for phones", () => {
  const PORT = 7310;
  const HOST = `192.168.7.2:${PORT}`;
  const from = (remoteAddress?: string) => ({ incoming: { socket: { remoteAddress } } }) as never;
  let folder: string;
  let app: Hono<ServerEnv>;
  let close: () => Promise<void>;
  let cookie: string;
  let rooms: () => Hono<ServerEnv>[];
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), "rouse-phone-"));
    await cp("demo/mended", folder, { recursive: true });
    const job = await openJob(folder);
    const runBook = createRunBook(job, () => new Date(clock));
    const show = createShow(job);
    const prompters = createPrompters(job, show, () => new Date(clock));
    rooms = () => [createRunBookApi(runBook, { phone: true }), createShowApi(show, prompters, { phone: true })];
    await writeFile(join(folder, "phone.html"), "<!doctype html><html><head></head><p>front</p></html>");
    app = createPhoneApp({
      network: { address: "192.168.7.2", prefix: 24 },
      port: PORT,
      pairing,
      webRoot: folder,
      rooms: rooms(),
      tellFault: (_, fault) => {
        throw fault;
      },
    });
    cookie = `${phoneCookie(PORT)}=${pairing.pair(pairing.newCode().code).token}`;
    close = async () => {
      runBook.close();
      prompters.close();
      await rm(folder, { recursive: true, force: true });
    };
  });
  afterEach(() => close());

  const get = (path: string, headers: Record<string, string> = {}, peer = "192.168.7.30") =>
    app.request(path, { headers: { host: HOST, ...headers } }, from(peer));
  const post = (path: string, body: object, headers: Record<string, string> = {}) =>
    app.request(
      path,
      {
        method: "POST",
        headers: { host: HOST, origin: `http://${HOST}`, "content-type": "application/json", ...headers },
        body: JSON.stringify(body),
      },
      from("192.168.7.30"),
    );
  const codeOf = async (response: Response) => ((await response.json()) as { error: { code: string } }).error.code;

  it("gives an empty page to anyone near, and nothing else before pairing", async () => {
    const front = await get("/");
    expect(front.status).toBe(200);
    expect(front.headers.get("content-security-policy")).toMatch(/default-src 'none'.*frame-ancestors 'none'/);
    expect((await get("/api/runbook")).status).toBe(401);
    expect((await get("/api/runbook", { cookie: `${phoneCookie(PORT)}=x` })).status).toBe(401);
    expect((await post("/api/runbook/entries", { now: clock, entries: [] })).status).toBe(401);
    expect((await get("/api/runbook", { cookie })).status).toBe(200);
  });

  it("answers devices of its own network only, by its own name, from its own page", async () => {
    for (const peer of ["192.168.8.30", "10.0.0.1", "8.8.8.8", "127.0.0.1", "::1"])
      expect(await codeOf(await get("/", {}, peer)), peer).toBe("foreign-network");
    expect((await app.request("/", { headers: { host: HOST } }, from())).status).toBe(403);
    for (const host of [`localhost:${PORT}`, `127.0.0.1:${PORT}`, "192.168.7.2", `evil.example:${PORT}`, ""])
      expect(await codeOf(await get("/", { host })), host).toBe("foreign-host");
    const entries = { now: clock, entries: [] };
    for (const origin of ["null", "http://evil.example", `https://${HOST}`, ""])
      expect(await codeOf(await post("/api/runbook/entries", entries, { cookie, origin })), origin).toBe(
        "foreign-origin",
      );
    expect(await codeOf(await get("/api/runbook", { cookie, "sec-fetch-site": "cross-site" }))).toBe("foreign-site");
    const form = { cookie, "content-type": "text/plain" };
    expect((await post("/api/runbook/entries", entries, form)).status).toBe(415);
    expect((await post("/api/runbook/entries", entries, { cookie })).status).toBe(200);
  });

  it("pairs by the code and sets a cookie that scripts cannot read", async () => {
    clock += 1000;
    const { code } = pairing.newCode();
    expect(await codeOf(await post("/api/pair", { code: other(code) }))).toBe("wrong-code");
    clock += 1000;
    const paired = await post("/api/pair", { code });
    expect(paired.status).toBe(200);
    const set = paired.headers.get("set-cookie") ?? "";
    expect(set).toMatch(/HttpOnly/);
    expect(set).toMatch(/SameSite=Strict/);
    expect((await get("/api/runbook", { cookie: set.split(";")[0]! })).status).toBe(200);
  });

  it("has no way to files, bench, disks, lines or to letting others in", async () => {
    const paths = [
      "bench",
      "report",
      "schema",
      "images",
      "images/tern.img/bytes?offset=0&length=9",
      "live",
      "write",
      "write/targets",
      "disk",
      "time",
      "line",
      "phones",
      "show",
      "show/captures",
      "show/captures/x.jsonl",
      "runbook/files",
      "runbook/picture?path=bench.yaml",
      "runbook/paper",
    ];
    for (const path of paths) expect((await get(`/api/${path}`, { cookie })).status, path).toBe(404);
    for (const path of ["runbook/attach", "write/start", "phones/code", "report", "show/plan"])
      expect((await post(`/api/${path}`, {}, { cookie })).status, path).toBe(404);
    for (const path of ["/bench.yaml", "/show.yaml", "/index.html", "/log.jsonl", "/assets/..%2fbench.yaml"])
      expect((await get(path, { cookie })).status, path).toBe(404);
  });

  it("takes entries and photographs", async () => {
    const { book } = (await (await get("/api/runbook", { cookie })).json()) as {
      book: { steps: { id: string; basis: string }[] };
    };
    const { id: step, basis } = book.steps[0]!;
    const entry = { id: "from-phone-1", at: new Date(clock).toISOString(), step, basis, what: "tick" };
    const taken = await post("/api/runbook/entries", { now: clock, entries: [entry] }, { cookie });
    expect(await taken.json()).toEqual({ added: ["from-phone-1"], known: [], refused: [] });
    const photo = Buffer.from([0xff, 0xd8, 0xff, 0xe0, 1]).toString("base64");
    const kept = await post(
      "/api/runbook/photo",
      { now: clock, entry: { ...entry, id: "from-phone-2" }, photo },
      { cookie },
    );
    expect(await kept.json()).toMatchObject({ added: ["from-phone-2"] });
    for (const wrong of [{ photo: "%%%" }, { photo: "" }, { photo: "A".repeat(6_000_000) }, { photo: 3 }])
      expect((await post("/api/runbook/photo", { now: clock, entry, ...wrong }, { cookie })).status).toBe(400);
    expect((await post("/api/runbook/entries", { entries: "x" }, { cookie })).status).toBe(400);
  });

  it("listens only after the person's word, on the network that was chosen, and is gone when closed", async () => {
    const phones: Phones = createPhones(
      { webRoot: folder, tellFault: () => {}, rooms },
      { now: () => clock, networks: () => [{ address: "127.0.0.1", prefix: 8 }], port: 0 },
    );
    expect(phones.told().open).toBeNull();
    await expect(phones.open("10.9.9.9")).rejects.toMatchObject({ code: "no-network" });
    const { open } = await phones.open();
    const url = new URL(open!.address);
    const status = (host: string) =>
      new Promise<number>((resolve, reject) => {
        request({ host: "127.0.0.1", port: url.port, path: "/", headers: { host } }, (response) => {
          response.resume();
          resolve(response.statusCode ?? 0);
        })
          .on("error", reject)
          .end();
      });
    expect(await status(url.host)).toBe(200);
    expect(await status(`localhost:${url.port}`)).toBe(403);
    expect(open!.code?.code).toMatch(/^\d{6}$/);
    expect((await phones.close()).open).toBeNull();
    await expect(status(url.host)).rejects.toThrow();
  });
});
