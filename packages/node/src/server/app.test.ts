import { mkdir, mkdtemp, rm, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { InputError } from "@rouse/core/errors";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { fakeApp, PORT, TOKEN } from "./fakes.ts";
import { cookieName, newToken } from "./guard.ts";

const HOST = `127.0.0.1:${PORT}`;
const ORIGIN = `http://${HOST}`;
const own = { host: HOST, "x-rouse-token": TOKEN };
const change = { ...own, origin: ORIGIN, "content-type": "application/json" };
const put = (body: unknown, headers: Record<string, string> = change): RequestInit => ({
  method: "PUT",
  headers,
  body: typeof body === "string" ? body : JSON.stringify(body),
});
const errorOf = async (response: Response): Promise<{ code: string; sentence: string }> =>
  ((await response.json()) as { error: { code: string; sentence: string } }).error;

let webRoot: string;
beforeAll(async () => {
  const top = await mkdtemp(join(tmpdir(), "rouse-web-"));
  webRoot = join(top, "dist");
  await mkdir(join(webRoot, "assets"), { recursive: true });
  await writeFile(join(webRoot, "index.html"), "<!doctype html><html><head><title>Rouse</title></head></html>");
  await writeFile(join(webRoot, "assets", "index-Ab_1.js"), "export {};");
  await writeFile(join(webRoot, ".hidden.js"), "secret");
  await writeFile(join(webRoot, "notes.exe"), "unknown type");
  await writeFile(join(top, "secret.txt"), "secret");
  await symlink(join(top, "secret.txt"), join(webRoot, "out.txt"));
});
afterAll(() => rm(join(webRoot, ".."), { recursive: true, force: true }));

describe("Host", () => {
  it("is answered only under the three names of loopback, with the right port", async () => {
    const { app } = fakeApp();
    for (const host of [HOST, `localhost:${PORT}`, `LOCALHOST:${PORT}`, `[::1]:${PORT}`]) {
      expect((await app.request("/api/bench", { headers: { ...own, host } })).status, host).toBe(200);
    }
    for (const host of ["", "127.0.0.1", `127.0.0.1:${PORT + 1}`, `evil.example:${PORT}`, `127.0.0.1:${PORT}.evil`]) {
      const response = await app.request("/api/bench", { headers: { ...own, host } });
      expect(response.status, host).toBe(403);
      expect((await errorOf(response)).code).toBe("foreign-host");
    }
    expect((await app.request("/api/bench", { headers: { "x-rouse-token": TOKEN } })).status).toBe(403);
  });

  it("is checked before the address of the request, which a client may make up", async () => {
    const { app } = fakeApp();
    expect((await app.request("http://evil.example/api/bench", { headers: own })).status).toBe(200);
    expect((await app.request(`${ORIGIN}/api/bench`, { headers: { ...own, host: "evil.example" } })).status).toBe(403);
  });
});

describe("Origin", () => {
  const body = { text: "x", expectedHash: "h1" };

  it("must be our own where something is changed", async () => {
    const { app, calls } = fakeApp();
    const { origin: _, ...without } = change;
    const foreign = [
      "null",
      "http://evil.example",
      `http://localhost:${PORT}`,
      `https://${HOST}`,
      `${ORIGIN}.evil`,
      "",
    ];
    for (const headers of [without, ...foreign.map((origin) => ({ ...change, origin }))]) {
      for (const method of ["PUT", "POST", "DELETE", "PATCH", "OPTIONS"]) {
        const sent = method === "OPTIONS" ? {} : { body: JSON.stringify(body) };
        const response = await app.request("/api/bench", { method, headers, ...sent });
        expect(response.status, JSON.stringify([method, headers])).toBe(403);
        expect(response.headers.get("access-control-allow-origin")).toBeNull();
      }
    }
    expect(calls).toEqual([]);
    expect((await app.request("/api/bench", put(body))).status).toBe(200);
    const local = { ...change, host: `localhost:${PORT}`, origin: `http://localhost:${PORT}` };
    expect((await app.request("/api/report", { ...put({ text: "y" }, local), method: "POST" })).status).toBe(200);
  });

  it("is refused on reading too where a foreign one is given", async () => {
    const { app } = fakeApp();
    expect((await app.request("/api/bench", { headers: { ...own, origin: "null" } })).status).toBe(403);
    expect((await app.request("/api/bench", { headers: { ...own, origin: ORIGIN } })).status).toBe(200);
  });

  it("is joined by Sec-Fetch-Site: another site or port may follow a link to the page, and no more", async () => {
    const { app } = fakeApp({ webRoot });
    const visit = { "sec-fetch-mode": "navigate", "sec-fetch-dest": "document" };
    for (const site of ["cross-site", "same-site"]) {
      const foreign = { ...own, "sec-fetch-site": site };
      expect((await app.request("/api/bench", { headers: foreign })).status).toBe(403);
      expect((await app.request("/api/bench", { headers: { ...foreign, ...visit } })).status).toBe(403);
      expect((await app.request("/", { headers: { ...foreign, "sec-fetch-dest": "iframe" } })).status).toBe(403);
      expect((await app.request("/", { headers: { ...foreign, ...visit } })).status).toBe(200);
    }
    for (const site of ["same-origin", "none"]) {
      expect((await app.request("/api/bench", { headers: { ...own, "sec-fetch-site": site } })).status).toBe(200);
    }
  });
});

describe("the token", () => {
  it("is needed for everything", async () => {
    const { app } = fakeApp({ webRoot });
    for (const path of ["/api/bench", "/api/none", "/assets/index-Ab_1.js", "/none", "/api/live"]) {
      const response = await app.request(path, { headers: { host: HOST } });
      expect(response.status, path).toBe(401);
      expect((await errorOf(response)).code).toBe("no-token");
    }
    for (const token of ["", "wrong", TOKEN.slice(1), `${TOKEN}x`]) {
      expect((await app.request("/api/bench", { headers: { host: HOST, "x-rouse-token": token } })).status).toBe(401);
      expect((await app.request(`/?token=${token}`, { headers: { host: HOST } })).status).toBe(401);
    }
  });

  it("in the address is exchanged once for a cookie that scripts cannot read and other sites cannot send", async () => {
    const { app } = fakeApp({ webRoot });
    const response = await app.request(`/?token=${TOKEN}`, { headers: { host: HOST } });
    expect(response.status).toBe(303);
    expect(response.headers.get("location")).toBe("/");
    expect(response.headers.get("set-cookie")).toBe(`rouse-${PORT}=${TOKEN}; Path=/; HttpOnly; SameSite=Strict`);
    const cookie = `other=1; ${cookieName(PORT)}=${TOKEN}`;
    expect((await app.request("/", { headers: { host: HOST, cookie } })).status).toBe(200);
    expect((await app.request("/api/bench", { headers: { host: HOST, cookie } })).status).toBe(200);
    const other = `${cookieName(PORT + 1)}=${TOKEN}`;
    expect((await app.request("/api/bench", { headers: { host: HOST, cookie: other } })).status).toBe(401);
  });

  it("in the address opens nothing but the page", async () => {
    const { app } = fakeApp({ webRoot });
    expect((await app.request(`/api/bench?token=${TOKEN}`, { headers: { host: HOST } })).status).toBe(401);
    expect(
      (await app.request(`//evil.example/?token=${TOKEN}`, { headers: { host: HOST } })).headers.get("location"),
    ).toBeNull();
  });

  it("missing, shows a page that says what to do", async () => {
    const response = await fakeApp({ webRoot }).app.request("/", { headers: { host: HOST } });
    expect(response.status).toBe(401);
    expect(await response.text()).toContain("Open the whole address");
  });

  it("is long and new each time", () => {
    expect(newToken()).toMatch(/^[\w-]{43}$/);
    expect(newToken()).not.toBe(newToken());
  });
});

describe("headers", () => {
  it("are strict on every answer, refusals and faults included", async () => {
    const broken = async (): Promise<never> => {
      throw new Error("boom");
    };
    const { app } = fakeApp({ webRoot, over: { schema: broken } });
    const answers = await Promise.all([
      app.request("/", { headers: own }),
      app.request("/", { headers: { host: HOST } }),
      app.request("/api/bench", { headers: own }),
      app.request("/api/schema", { headers: own }),
      app.request("/api/none", { headers: own }),
      app.request("/", { headers: { host: "evil.example" } }),
      app.request(`/?token=${TOKEN}`, { headers: { host: HOST } }),
    ]);
    expect(answers.map(({ status }) => status)).toEqual([200, 401, 200, 500, 404, 403, 303]);
    for (const { headers } of answers) {
      const policy = headers.get("content-security-policy") ?? "";
      expect(policy).toContain("default-src 'none'; script-src 'self';");
      expect(policy).toContain(`connect-src 'self' ws://${HOST};`);
      expect(policy).toContain("frame-ancestors 'none'");
      expect(policy).not.toMatch(/unsafe|\*|evil/);
      expect(headers.get("x-content-type-options")).toBe("nosniff");
      expect(headers.get("referrer-policy")).toBe("same-origin");
      expect(headers.get("cross-origin-opener-policy")).toBe("same-origin");
      expect(headers.get("cross-origin-embedder-policy")).toBe("require-corp");
      expect(headers.get("cross-origin-resource-policy")).toBe("same-origin");
      expect(headers.get("cache-control")).toBe("no-store");
      expect(headers.get("access-control-allow-origin")).toBeNull();
    }
  });

  it("carry a nonce that the page is told and that no other answer has", async () => {
    const { app } = fakeApp({ webRoot });
    const nonces = new Set<string>();
    for (let turn = 0; turn < 3; turn++) {
      const response = await app.request("/", { headers: own });
      const nonce = /'nonce-([\w-]{22})'/.exec(response.headers.get("content-security-policy") ?? "")?.[1] ?? "";
      expect(await response.text()).toContain(`<head><meta name="csp-nonce" nonce="${nonce}">`);
      nonces.add(nonce);
    }
    expect(nonces.size).toBe(3);
  });
});

describe("pages", () => {
  const get = async (path: string): Promise<Response> => fakeApp({ webRoot }).app.request(path, { headers: own });

  it("are served with their type", async () => {
    const script = await get("/assets/index-Ab_1.js");
    expect(script.headers.get("content-type")).toBe("text/javascript; charset=utf-8");
    expect(await script.text()).toBe("export {};");
    expect((await get("/index.html")).headers.get("content-type")).toBe("text/html; charset=utf-8");
  });

  it("are not found outside the folder of the built page, however they are written", async () => {
    const paths = [
      "/../secret.txt",
      "/%2e%2e/secret.txt",
      "/..%2fsecret.txt",
      "/%2e%2e%2fsecret.txt",
      "/..%5csecret.txt",
      "/%252e%252e/secret.txt",
      "/assets/..%2f..%2fsecret.txt",
      "/out.txt",
      "/.hidden.js",
      "/%2ehidden.js",
      "/notes.exe",
      "/secret.txt%00.js",
      "//etc/hostname.txt",
      "/assets",
      "/%zz.js",
    ];
    for (const path of paths) {
      const response = await get(path);
      expect(response.status, path).toBe(404);
      expect(await response.text(), path).not.toContain("secret");
    }
  });

  it("are served from a folder that is reached through a link", async () => {
    const link = join(webRoot, "..", "link");
    await symlink(webRoot, link);
    const { app } = fakeApp({ webRoot: link });
    expect((await app.request("/", { headers: own })).status).toBe(200);
    expect((await app.request("/out.txt", { headers: own })).status).toBe(404);
  });

  it("say so where they have not been built", async () => {
    const response = await fakeApp().app.request("/", { headers: own });
    expect(response.status).toBe(404);
    expect((await errorOf(response)).sentence).toMatch(/has not been built/);
  });
});

describe("the API", () => {
  const get = async (path: string, made = fakeApp()): Promise<Response> => made.app.request(path, { headers: own });

  it("gives and saves the bench file, and refuses to save over a change", async () => {
    const { app } = fakeApp();
    expect(await (await app.request("/api/bench", { headers: own })).json()).toEqual({
      text: "name: Larkfield\n",
      hash: "h1",
    });
    expect(await (await app.request("/api/bench", put({ text: "a", expectedHash: "h1" }))).json()).toEqual({
      text: "a",
      hash: "h2",
    });
    const late = await app.request("/api/bench", put({ text: "b", expectedHash: "h1" }));
    expect(late.status).toBe(409);
    expect((await errorOf(late)).code).toBe("bench-changed");
  });

  it("reports on the saved bench and on a text not saved", async () => {
    const made = fakeApp();
    expect(await (await get("/api/report", made)).json()).toEqual({ of: "name: Larkfield\n" });
    const posted = await made.app.request("/api/report", { ...put({ text: "name: Tern\n" }), method: "POST" });
    expect(await posted.json()).toEqual({ of: "name: Tern\n" });
    expect(made.calls).toEqual([
      ["report", undefined],
      ["report", "name: Tern\n"],
    ]);
  });

  it("lists images and reports on one, whatever its name", async () => {
    const made = fakeApp();
    expect(await (await get("/api/images", made)).json()).toEqual([{ name: "tern.img", size: 1000 }]);
    for (const name of ["side b/data.img", "100%.img", "%2F.img", "é?#&.img", "../x", "a+b"]) {
      const response = await get(`/api/images/${encodeURIComponent(name)}/report`, made);
      expect(await response.json(), name).toEqual({ name });
    }
    expect((await get("/api/images/none/report")).status).toBe(404);
  });

  it("gives bytes of an image, within limits", async () => {
    const response = await get("/api/images/tern.img/bytes?offset=254&length=4");
    expect(response.headers.get("content-type")).toBe("application/octet-stream");
    expect(response.headers.get("x-rouse-size")).toBe("1000");
    expect([...new Uint8Array(await response.arrayBuffer())]).toEqual([254, 255, 0, 1]);
    const bad = [
      "",
      "offset=0",
      "offset=-1&length=1",
      "offset=0&length=65537",
      "offset=1e3&length=1",
      "offset=0x10&length=1",
    ];
    for (const query of bad) {
      const refused = await get(`/api/images/tern.img/bytes?${query}`);
      expect(refused.status, query).toBe(400);
      expect((await errorOf(refused)).sentence).toMatch(/must be a whole number/);
    }
  });

  it("shows a file of a volume as JSON, and gives it to save under a name that cannot leave its header", async () => {
    const made = fakeApp();
    const shown = await get("/api/images/tern.img/file?as=text&address=SYS%2FBoot:a%26b", made);
    expect(shown.headers.get("content-type")).toBe("application/json");
    expect(made.calls.at(-1)).toEqual(["imageFile", "tern.img", "SYS/Boot:a&b", "text"]);
    const saved = await get("/api/images/tern.img/file?as=bytes&address=x");
    expect(saved.headers.get("content-disposition")).toBe(
      "attachment; filename*=UTF-8''%C3%A9%20%22x%22%0D%0Aset-cookie%3A%20a%3Db",
    );
    expect(saved.headers.get("set-cookie")).toBeNull();
    expect((await saved.arrayBuffer()).byteLength).toBe(4);
    expect((await get("/api/images/tern.img/file?as=html&address=x")).status).toBe(400);
    expect((await get("/api/images/tern.img/file?as=text")).status).toBe(400);
  });

  it("gives the schema", async () => {
    expect(await (await get("/api/schema")).json()).toEqual({ title: "bench" });
  });

  it("refuses bodies that are no JSON, lack a field, are too large, or come as a form", async () => {
    const { app, calls } = fakeApp();
    const status = async (body: unknown, headers = change): Promise<number> =>
      (await app.request("/api/bench", put(body, headers))).status;
    expect(await status("{")).toBe(400);
    expect(await status("null")).toBe(400);
    expect(await status({ text: "x" })).toBe(400);
    expect(await status({ text: 1, expectedHash: "h1" })).toBe(400);
    expect(await status({ text: "x".repeat(7_000_000), expectedHash: "h1" })).toBe(413);
    expect(await status("text=x", { ...change, "content-type": "application/x-www-form-urlencoded" })).toBe(415);
    expect(await status("{}", { ...change, "content-type": "text/plain" })).toBe(415);
    expect(calls).toEqual([]);
  });

  it("turns an InputError into its code and sentence, and our own faults into an id without a stack", async () => {
    const secret = new Error("cannot read /home/someone/secret");
    const made = fakeApp({
      over: {
        schema: () => Promise.reject(secret),
        images: () => Promise.reject(new InputError("odd", "The image is odd.")),
      },
    });
    const odd = await get("/api/images", made);
    expect(odd.status).toBe(422);
    expect(await errorOf(odd)).toEqual({ code: "odd", sentence: "The image is odd." });
    const fault = await get("/api/schema", made);
    expect(fault.status).toBe(500);
    const text = await fault.text();
    expect(text).not.toMatch(/secret|at |\.ts/);
    expect(made.faults).toHaveLength(1);
    expect(made.faults[0]?.fault).toBe(secret);
    expect(text).toContain(made.faults[0]?.id);
  });

  it("answers in JSON where there is no such address or it is no WebSocket", async () => {
    expect((await errorOf(await get("/api/none"))).code).toBe("no-such-page");
    expect((await get("/api/live")).status).toBe(400);
    expect((await fakeApp().app.request("/x", put("{}"))).status).toBe(404);
  });
});
