import { mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { capturedBytes, readCapture } from "@rouse/core/show";
import fc from "fast-check";
import type { Hono } from "hono";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { DoublePort } from "../devices/line/testkit/double.ts";
import { Ptys } from "../devices/line/testkit/pty.ts";
import { openJob } from "../store/index.ts";
import { fakeApp, PORT, TOKEN } from "./fakes.ts";
import type { ServerEnv } from "./guard.ts";
import { createLineApi } from "./line-api.ts";
import { createLineDesk, type LineDesk, type LineWindow, realLines } from "./line-desk.ts";
import { LineHistory } from "./line-history.ts";
import type { SeatTold } from "./line-types.ts";

const HOST = `127.0.0.1:${PORT}`;
const own = { host: HOST, "x-rouse-token": TOKEN };
const LOOP = "/dev/loop";
const SETTINGS = { rate: 115_200, frame: "8N1" };

const BENCH = `rouse: 1
name: line
ports:
  console: { uart: MC6850, at: $FF00, clock: 1.8432 MHz, divide: 48, ratio: 16, format: 7E1, connector: DB-25, role: DTE, levels: V.28, away: 20 ms }
terminals:
  screen: { class: screen-40-small, rate: "2,400 bit/s", format: 7E1, connector: DB-25, role: DTE, levels: V.28 }
cables:
  cable: { kind: straight, from: console, to: screen }
`;

let top: string;
let app: Hono<ServerEnv>;
let desk: LineDesk;
let loop: DoublePort;
let ptys: Ptys;
const faults: unknown[] = [];

beforeAll(async () => {
  top = await mkdtemp(join(tmpdir(), "rouse-line-"));
  await writeFile(join(top, "bench.yaml"), BENCH);
  ptys = new Ptys();
  const job = await openJob(top);
  loop = new DoublePort(LOOP);
  const source = {
    list: () => Promise.resolve([{ path: LOOP, about: "a plug" }]),
    make: (path: string) => (path === LOOP ? loop : realLines.make(path)),
    demandPort: (path: string) => (path === LOOP ? Promise.resolve() : realLines.demandPort(path)),
  };
  desk = createLineDesk(job, source, (error) => faults.push(error));
  app = fakeApp({ rooms: [createLineApi(job, desk)] }).app;
});
afterEach(async () => {
  for (const { port } of desk.seats()) await desk.seat(port).close();
  expect(faults).toEqual([]);
});
afterAll(async () => {
  await desk.close();
  await ptys.clear();
  await rm(top, { recursive: true, force: true });
});

async function post(what: string, body: object): Promise<{ status: number; sentence: string | undefined }> {
  const headers = { ...own, origin: `http://${HOST}`, "content-type": "application/json" };
  const answer = await app.request(`/api/line/${what}`, { method: "POST", headers, body: JSON.stringify(body) });
  const told = (await answer.json()) as { error?: { sentence: string } };
  return { status: answer.status, sentence: told.error?.sentence };
}
const get = async <T>(path: string): Promise<T> =>
  (await (await app.request(`/api/line${path}`, { headers: own })).json()) as T;
const seatOf = (port: string): SeatTold => desk.seats().find((each) => each.port === port)!;

async function until(holds: () => boolean, what: string): Promise<void> {
  for (let waited = 0; !holds(); waited += 5) {
    if (waited > 10_000) throw new Error(`never: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}

/** A page: it puts the frames together by their positions, and may be reloaded. */
class Page {
  readonly port: string;
  run = "";
  answers = false;
  /** What has been seen of each way, by position. */
  readonly seen = new Map<number, number>();
  position = 0;
  #leave: (() => void) | undefined;

  constructor(port: string) {
    this.port = port;
  }
  open(): void {
    const window: LineWindow = {
      port: this.port,
      ...(this.run ? { seen: { run: this.run, position: this.position } } : {}),
      text: (message) => {
        if (message.kind === "port") this.run = message.run;
        if (message.kind === "answers") this.answers = message.yes;
      },
      bytes: (frame) => {
        const head = new DataView(frame.buffer);
        const at = head.getFloat64(1);
        for (const [index, byte] of frame.subarray(17).entries()) this.seen.set(at + index, byte);
        this.position = Math.max(this.position, at + frame.length - 17);
      },
    };
    this.#leave = desk.join(window);
  }
  close(): void {
    this.#leave?.();
  }
  get bytes(): Uint8Array {
    return Uint8Array.from({ length: this.position }, (_, at) => this.seen.get(at) ?? -1);
  }
}

const many = Uint8Array.from({ length: 150_000 }, (_, at) => (at * 31 + (at >> 8) * 7) & 0xff);

describe("a session in the server", () => {
  it("loses no byte of a stream while its page is reloaded again and again, and captures all of it", async () => {
    const pty = await ptys.open("stream", () => undefined);
    const page = new Page(pty.path);
    page.open();
    expect((await post("open", { port: pty.path, ...SETTINGS })).status).toBe(200);
    for (let at = 0; at < many.length; at += 5000) {
      pty.send(many.subarray(at, at + 5000));
      await new Promise((resolve) => setTimeout(resolve, 2));
      if ((at / 5000) % 3 === 1) page.close();
      if ((at / 5000) % 3 === 2) page.open();
    }
    await until(() => seatOf(pty.path).received === many.length, "all bytes came");
    page.close();
    page.open();
    expect(Buffer.from(page.bytes).equals(many)).toBe(true);
    const { name } = seatOf(pty.path).capture!;
    await desk.seat(pty.path).close();
    expect(Buffer.from(capturedBytes(readCapture(await readFile(join(top, name))), "in").bytes).equals(many)).toBe(
      true,
    );
  });

  it("shows all windows what each sends, and lets one answer for the terminal", async () => {
    await post("open", { port: LOOP, ...SETTINGS });
    const [one, other] = [new Page(LOOP), new Page(LOOP)];
    one.open();
    other.open();
    expect([one.answers, other.answers, seatOf(LOOP).windows]).toEqual([true, false, 2]);
    expect((await post("type", { port: LOOP, text: "LIST\r" })).status).toBe(200);
    await until(() => other.position >= 10, "it came back by the plug");
    expect(Buffer.from(other.bytes).toString()).toBe("LIST\rLIST\r");
    one.close();
    expect([other.answers, seatOf(LOOP).windows]).toEqual([true, 1]);
    other.close();
  });

  it("switches control lines and sends a break", async () => {
    await post("open", { port: LOOP, ...SETTINGS, capture: false });
    await post("lines", { port: LOOP, dtr: false });
    expect(loop.lines).toEqual({ dtr: false, rts: true });
    await post("break", { port: LOOP, ms: 300 });
    expect(loop.breaks).toEqual([300]);
    expect(seatOf(LOOP).capture).toBeNull();
    await post("lines", { port: LOOP, dtr: true });
  });

  it("tells of a pulled adapter, and goes on when it is back", async () => {
    await post("open", { port: LOOP, ...SETTINGS });
    loop.pull();
    expect(seatOf(LOOP).state).toBe("lost");
    expect(await post("type", { port: LOOP, text: "x" })).toMatchObject({ sentence: `${LOOP} is not plugged in.` });
    loop.plugIn();
    await until(() => seatOf(LOOP).state === "open", "open again");
    expect((await post("type", { port: LOOP, text: "x" })).status).toBe(200);
  });

  it("refuses what is no serial port, before it is opened", async () => {
    const open = async (port: string) => (await post("open", { port, ...SETTINGS })).sentence;
    expect(await open("/dev/null")).toBe("/dev/null is not a serial port.");
    expect(await open(join(top, "bench.yaml"))).toMatch(/bench\.yaml is not a serial port\.$/);
    expect(await open("/dev/ttyNONE9")).toBe("There is no port /dev/ttyNONE9.");
    expect((await post("type", { port: "/dev/none", text: "x" })).sentence).toBe("/dev/none is not open.");
  });

  it("answers any request with a sentence", async () => {
    const what = fc.constantFrom("open", "close", "type", "break", "lines", "paste", "send", "receive", "test", "stop");
    const body = fc.record(
      {
        port: fc.oneof(fc.constantFrom("/dev/null", "", "/dev/none"), fc.jsonValue()),
        rate: fc.jsonValue(),
        frame: fc.oneof(fc.constantFrom("8N1", "9X9"), fc.jsonValue()),
        text: fc.jsonValue(),
        files: fc.jsonValue(),
        protocol: fc.oneof(fc.constantFrom("xmodem", "text"), fc.jsonValue()),
        ms: fc.jsonValue(),
        rates: fc.jsonValue(),
        name: fc.jsonValue(),
      },
      { requiredKeys: [] },
    );
    await fc.assert(
      fc.asyncProperty(what, body, async (each, sent) => {
        const { status, sentence } = await post(each, sent);
        expect([400, 422]).toContain(status);
        expect(sentence).toMatch(/^[^\n]{10,}$/);
      }),
      { seed: 4, numRuns: 150 },
    );
  });
});

describe("files over the line", () => {
  it("takes a file from Debian's sx, keeps it, and numbers the second of the same name", async () => {
    await writeFile(join(top, "sent.bin"), many.subarray(0, 3000));
    for (const name of ["game.bin", "game.bin (2)"]) {
      const far = await ptys.program(`far-${name.length}`, `sx -q ${join(top, "sent.bin")}`);
      await post("open", { port: far.path, ...SETTINGS });
      const asked = { port: far.path, protocol: "xmodem-crc", name: "game.bin" };
      expect((await post("receive", asked)).status).toBe(200);
      expect((await post("type", { port: far.path, text: "x" })).sentence).toContain("A file is under way");
      await until(() => seatOf(far.path).work?.state !== "running", "received");
      // Filled up to whole blocks of 128.
      expect(seatOf(far.path).work).toMatchObject({ state: "done", transfer: { saved: [{ name, size: 3072 }] } });
      const saved = await readFile(join(top, "received", name));
      expect(saved.subarray(0, 3000).equals(many.subarray(0, 3000))).toBe(true);
      await desk.seat(far.path).close();
      await far.end();
    }
    expect(await get("/received")).toEqual([
      { name: "game.bin", size: 3072 },
      { name: "game.bin (2)", size: 3072 },
    ]);
    const answer = await app.request("/api/line/received/game.bin", { headers: own });
    expect((await answer.arrayBuffer()).byteLength).toBe(3072);
    const outside = await app.request(`/api/line/received/${encodeURIComponent("../bench.yaml")}`, { headers: own });
    expect(outside.status).toBe(403);
  });

  it("stops a transfer, and tells that it was stopped", async () => {
    const pty = await ptys.open("nobody", () => undefined);
    await post("open", { port: pty.path, ...SETTINGS });
    const files = [{ name: "a.bin", base64: Buffer.from(many.subarray(0, 500)).toString("base64") }];
    await post("send", { port: pty.path, protocol: "ymodem", files });
    expect(seatOf(pty.path).work).toMatchObject({ kind: "send", state: "running" });
    expect((await post("send", { port: pty.path, protocol: "ymodem", files })).sentence).toContain("under way");
    await post("stop", { port: pty.path });
    await until(() => seatOf(pty.path).work?.state === "stopped", "stopped");
  });

  it("refuses eight-bit protocols on seven bits, and more files than the protocol takes", async () => {
    await post("open", { port: LOOP, rate: 2400, frame: "7E1" });
    const file = { name: "a", base64: "" };
    const send = async (protocol: string) =>
      (await post("send", { port: LOOP, protocol, files: [file, file] })).sentence;
    expect(await send("xmodem")).toBe("xmodem needs 8 data bits, not 7E1.");
    expect(await send("text")).toBe("text takes one file; ymodem takes any number.");
  });

  it("pastes at a pace, lines ended as a keyboard would", async () => {
    let got = "";
    const pty = await ptys.open("paste", (bytes) => {
      got += Buffer.from(bytes).toString("latin1");
    });
    await post("open", { port: pty.path, ...SETTINGS });
    await post("paste", { port: pty.path, text: "10 PRINT 1\n20 END\n", line: 5 });
    await until(() => seatOf(pty.path).work?.state === "done", "pasted");
    await until(() => got.length >= 18, "arrived");
    expect(got).toBe("10 PRINT 1\r20 END\r");
  });
});

describe("the line itself", () => {
  it("is tested with a plug, the session closed meanwhile and opened again", async () => {
    await post("open", { port: LOOP, ...SETTINGS });
    await post("test", { port: LOOP, frame: "8N1", rates: [9600, 19_200], seconds: 0.1 });
    await until(() => seatOf(LOOP).work?.state === "done", "tested");
    const { work } = seatOf(LOOP);
    expect(work?.test?.results.map(({ rate, verdict }) => [rate, verdict])).toEqual([
      [9600, "good"],
      [19_200, "good"],
    ]);
    expect(work?.test?.verdict).toBe("Line good to 19,200 bit/s, the highest that was tried.");
    expect(work?.test?.controls).toEqual(["RTS is followed by CTS", "DTR is followed by DSR, DCD"]);
    expect(seatOf(LOOP)).toMatchObject({ state: "open", settings: { ...SETTINGS, flow: "none" } });
    // The session before the test and the one after it.
    expect((await readdir(join(top, "captures"))).filter((each) => each.startsWith("line-")).length).toBeGreaterThan(1);
  });

  it("takes settings, screen, safe pace and cable from the bench", async () => {
    const { ends, screens, cables } = await get<{ ends: object[]; screens: object[]; cables: object[] }>("/bench");
    // 7E1 at 2,400 bit/s: 4.17 ms a character; a part that keeps one, 20 ms away (issue: safe pacing).
    expect(ends[0]).toMatchObject({ name: "console", rate: 2400, frame: "7E1", pace: { character: 20 } });
    expect(screens).toMatchObject([{ name: "screen", columns: 40, bits: 7 }]);
    expect(cables).toHaveLength(1);
    const straight = await get<{ problems: { grave: boolean }[] }>("/cables/cable");
    expect(straight.problems.some(({ grave }) => grave)).toBe(true);
    const variant = encodeURIComponent("without handshake");
    const designed = await get<{ problems: object[]; beep: string[][] }>(`/cables/cable?variant=${variant}`);
    expect(designed.problems.filter((each) => (each as { grave: boolean }).grave)).toEqual([]);
    expect(designed.beep).toContainEqual(["console 2", "screen 3"]);
    const drawing = await app.request(`/api/line/cables/cable/drawing?variant=${variant}`, { headers: own });
    expect(drawing.headers.get("content-type")).toBe("image/svg+xml");
    expect(await drawing.text()).toMatch(/^<svg /);
  });
});

describe("what has passed", () => {
  it("is told from any position, and kept to a megabyte", () => {
    const history = new LineHistory();
    for (let at = 0; at < 3000; at++) history.add("in", many.subarray(at, at + 500), at);
    expect(history.position).toBe(1_500_000);
    expect(history.position - history.first).toBeLessThan((1 << 20) + 2048);
    const frames = history.since(1_499_000);
    expect(frames.reduce((sum, each) => sum + each.length - 17, 0)).toBe(1000);
    expect(new DataView(frames[0]!.buffer).getFloat64(1)).toBe(1_499_000);
    expect(history.since(history.position)).toEqual([]);
  });
});
