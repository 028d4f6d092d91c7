import { once } from "node:events";
import { request } from "node:http";
import { connect, createServer } from "node:net";
import { networkInterfaces } from "node:os";
import { afterEach, describe, expect, it } from "vitest";
import { WebSocket } from "ws";
import { type FakeApp, fakeApp, TOKEN } from "./fakes.ts";
import { cookieName } from "./guard.ts";
import type { LiveMessage } from "./live.ts";
import { type Started, startServer } from "./start.ts";

const open: { close(): unknown }[] = [];
afterEach(async () => {
  for (const one of open.splice(0).reverse()) await one.close();
});

async function start(port = 0): Promise<Started & { made: FakeApp }> {
  let made: FakeApp | undefined;
  const started = await startServer(
    (found) => {
      made = fakeApp({ port: found });
      return made.app;
    },
    { port },
  );
  open.push(started);
  return { ...started, made: made as FakeApp };
}

/** Sends bytes as they are and gives the first line of the answer. */
async function raw(port: number, text: string): Promise<string> {
  const socket = connect(port, "127.0.0.1");
  socket.setTimeout(5_000, () => socket.destroy(new Error("no answer")));
  socket.write(text.replaceAll("\n", "\r\n"));
  let answer = "";
  for await (const chunk of socket) answer += chunk;
  return answer.split("\r\n", 1)[0] ?? "";
}

function status(port: number, path: string, headers: Record<string, string>, method = "GET"): Promise<number> {
  return new Promise((resolve, reject) => {
    request({ host: "127.0.0.1", port, path, method, headers }, (response) => {
      response.resume();
      resolve(response.statusCode ?? 0);
    })
      .on("error", reject)
      .end();
  });
}

describe("startServer", () => {
  it("listens on 127.0.0.1 only", async () => {
    const { port, address } = await start();
    expect(address).toBe(`http://127.0.0.1:${port}/`);
    expect(await status(port, "/api/bench", { "x-rouse-token": TOKEN })).toBe(200);
    const others = Object.values(networkInterfaces()).flatMap((found) => found ?? []);
    for (const { address: host, scopeid } of others) {
      if (host === "127.0.0.1" || scopeid) continue;
      const socket = connect(port, host);
      await expect(once(socket, "connect"), host).rejects.toMatchObject({ code: "ECONNREFUSED" });
    }
  });

  it("takes the next port where one is taken, and says where none is free", async () => {
    const taken = createServer().listen(0, "127.0.0.1");
    open.push(taken);
    await once(taken, "listening");
    const { port } = taken.address() as { port: number };
    const started = await start(port);
    expect(started.port).toBeGreaterThan(port);
    expect(await status(started.port, "/api/bench", { "x-rouse-token": TOKEN })).toBe(200);
    const last = createServer();
    open.push(last);
    last.listen(65_535, "127.0.0.1");
    await once(last, "listening");
    await expect(start(65_535)).rejects.toMatchObject({ code: "no-free-port" });
  });

  it("closes with its sockets, so that the port is free again", async () => {
    const started = await start();
    const socket = new WebSocket(`ws://127.0.0.1:${started.port}/api/live`, {
      origin: `http://127.0.0.1:${started.port}`,
      headers: { "x-rouse-token": TOKEN },
    });
    await once(socket, "message");
    const gone = once(socket, "close");
    await started.close();
    await gone;
    expect((await start(started.port)).port).toBe(started.port);
  });
});

describe("the server on a socket", () => {
  it("refuses foreign, missing and doubled hosts", async () => {
    const { port } = await start();
    const ask = (lines: string): Promise<string> => raw(port, `GET /api/bench HTTP/1.1\n${lines}Connection: close\n\n`);
    const token = `X-Rouse-Token: ${TOKEN}\n`;
    expect(await ask(`Host: localhost:${port}\n${token}`)).toBe("HTTP/1.1 200 OK");
    expect(await ask(`Host: evil.example:${port}\n${token}`)).toBe("HTTP/1.1 403 Forbidden");
    expect(await ask(`Host: evil.example\nHost: localhost:${port}\n${token}`)).toMatch(/ 40[03] /);
    expect(await ask(token)).toBe("HTTP/1.1 400 Bad Request");
    expect(await ask(`Host: local host\n${token}`)).toMatch(/ 40[03] /);
  });

  it("refuses changes without our origin", async () => {
    const { port, made } = await start();
    const headers = { "x-rouse-token": TOKEN, "content-type": "application/json" };
    expect(await status(port, "/api/bench", headers, "PUT")).toBe(403);
    expect(await status(port, "/api/bench", { ...headers, origin: "null" }, "PUT")).toBe(403);
    expect(await status(port, "/api/bench", { ...headers, origin: `http://127.0.0.1:${port}` }, "PUT")).toBe(400);
    expect(made.calls).toEqual([]);
  });

  it("serves nothing above the web root for a path sent as it is", async () => {
    const { port } = await start();
    const ask = (path: string): Promise<string> =>
      raw(port, `GET ${path} HTTP/1.1\nHost: localhost:${port}\nX-Rouse-Token: ${TOKEN}\nConnection: close\n\n`);
    for (const path of ["/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd", "/..\\..\\x.txt"]) {
      expect(await ask(path), path).toMatch(/ 40[04] /);
    }
  });

  it("answers an upgrade to something else instead of leaving it open", async () => {
    const { port } = await start();
    const lines = `Host: localhost:${port}\nX-Rouse-Token: ${TOKEN}\nConnection: Upgrade\nUpgrade: h2c\n\n`;
    expect(await raw(port, `GET / HTTP/1.1\n${lines}`)).toBe("HTTP/1.1 400 Bad Request");
  });
});

describe("/api/live", () => {
  /** The status that an upgrade is answered with; 101 where it succeeds. */
  function upgrade(port: number, path: string, headers: Record<string, string>): Promise<number> {
    return new Promise((resolve, reject) => {
      const socket = new WebSocket(`ws://127.0.0.1:${port}${path}`, { headers });
      socket.on("unexpected-response", (_request, response) => resolve(response.statusCode ?? 0));
      socket.on("open", () => {
        socket.close();
        resolve(101);
      });
      socket.on("error", reject);
    });
  }

  it("lets in only our own page with the token", async () => {
    const { port } = await start();
    const origin = `http://127.0.0.1:${port}`;
    const cookie = `${cookieName(port)}=${TOKEN}`;
    expect(await upgrade(port, "/api/live", { origin, cookie })).toBe(101);
    expect(await upgrade(port, "/api/live", { origin, "x-rouse-token": TOKEN })).toBe(101);
    expect(await upgrade(port, "/api/live", { origin })).toBe(401);
    expect(await upgrade(port, "/api/live", { cookie })).toBe(403);
    for (const foreign of ["null", "http://evil.example", `http://127.0.0.1:${port + 1}`, `http://localhost:${port}`]) {
      expect(await upgrade(port, "/api/live", { origin: foreign, cookie }), foreign).toBe(403);
    }
    expect(await upgrade(port, "/api/live", { origin, cookie, host: `evil.example:${port}` })).toBe(403);
    expect(await upgrade(port, "/api/live", { origin, cookie, "sec-fetch-site": "same-site" })).toBe(403);
    expect(await upgrade(port, "/api/other", { origin, cookie })).toBe(404);
  });

  it("greets each page with the number of the last change, and tells all pages the next", async () => {
    const { port, made } = await start();
    const join = async (): Promise<{ socket: WebSocket; heard: LiveMessage[] }> => {
      const socket = new WebSocket(`ws://127.0.0.1:${port}/api/live`, {
        origin: `http://127.0.0.1:${port}`,
        headers: { "x-rouse-token": TOKEN },
      });
      const heard: LiveMessage[] = [];
      socket.on("message", (data) => heard.push(JSON.parse(String(data))));
      await once(socket, "message");
      return { socket, heard };
    };
    const first = await join();
    expect(first.heard).toEqual([{ kind: "hello", run: "run-1", change: 0 }]);
    expect(made.live.tell(["bench"])).toBe(1);
    await once(first.socket, "message");
    expect(first.heard[1]).toEqual({ kind: "changed", run: "run-1", change: 1, what: ["bench"] });
    first.socket.terminate();
    await once(first.socket, "close");
    made.live.tell(["images"]);
    // It comes back, and sees by the number that it missed one.
    const again = await join();
    expect(again.heard).toEqual([{ kind: "hello", run: "run-1", change: 2 }]);
    const other = await join();
    made.live.tell(["bench", "catalogue"]);
    await Promise.all([once(again.socket, "message"), once(other.socket, "message")]);
    expect([again.heard.at(-1), other.heard.at(-1)]).toEqual(
      Array(2).fill({ kind: "changed", run: "run-1", change: 3, what: ["bench", "catalogue"] }),
    );
  });

  it("drops a page that sends more than any page has to say", async () => {
    const { port } = await start();
    const socket = new WebSocket(`ws://127.0.0.1:${port}/api/live`, {
      origin: `http://127.0.0.1:${port}`,
      headers: { "x-rouse-token": TOKEN },
    });
    await once(socket, "open");
    socket.send("x".repeat(5_000));
    const [code] = await once(socket, "close");
    // RFC 6455 section 7.4.1: message too big.
    expect(code).toBe(1009);
  });
});
