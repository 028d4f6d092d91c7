import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { createJob, isUnsaved } from "./job.ts";

interface Asked {
  path: string;
  method: string;
  body: { text?: string; expectedHash?: string };
}

/** A server over nothing but memory, and a WebSocket that tells what a test wants. */
let disk: { text: string; hash: string };
let asked: Asked[];
let delay: (text: string) => number;
let sockets: FakeSocket[];

class FakeSocket {
  onopen: (() => void) | null = null;
  onmessage: ((event: { data: string }) => void) | null = null;
  onclose: (() => void) | null = null;
  constructor() {
    sockets.push(this);
  }
  tell(message: object): void {
    this.onmessage?.({ data: JSON.stringify(message) });
  }
  close(): void {}
}

const answer = (body: object, status = 200): Response => new Response(JSON.stringify(body), { status });

async function fakeFetch(path: string, init: RequestInit = {}): Promise<Response> {
  const body = init.body ? (JSON.parse(String(init.body)) as Asked["body"]) : {};
  asked.push({ path, method: init.method ?? "GET", body });
  if (path === "/api/images") return answer([]);
  if (path === "/api/report") {
    await new Promise((resolve, reject) => {
      setTimeout(resolve, delay(body.text ?? ""));
      init.signal?.addEventListener("abort", () => reject(new DOMException("stopped", "AbortError")));
    });
    return answer({ verdict: "runs", links: [], of: body.text });
  }
  if (init.method !== "PUT") return answer(disk);
  if (body.expectedHash !== disk.hash)
    return answer({ error: { code: "bench-changed", sentence: "It changed." } }, 409);
  disk = { text: body.text ?? "", hash: `hash of ${body.text}` };
  return answer(disk);
}

beforeEach(() => {
  disk = { text: "one", hash: "h1" };
  asked = [];
  sockets = [];
  delay = () => 1;
  vi.useFakeTimers();
  vi.stubGlobal("fetch", fakeFetch);
  vi.stubGlobal("WebSocket", FakeSocket);
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

const started = async () => {
  const job = createJob();
  job.start();
  sockets[0]!.onopen?.();
  sockets[0]!.tell({ kind: "hello", run: "r", change: 0 });
  await vi.advanceTimersByTimeAsync(20);
  return job;
};
const outsideEdit = async (text: string) => {
  disk = { text, hash: `h ${text}` };
  sockets.at(-1)!.tell({ kind: "changed", run: "r", change: 1, what: ["bench"] });
  await vi.advanceTimersByTimeAsync(20);
};
const reportOf = (job: ReturnType<typeof createJob>) => (job.get().report as unknown as { of: string } | null)?.of;

describe("the opened job", () => {
  it("reads the bench file and its chain", async () => {
    const job = await started();
    expect(job.get().text).toBe("one");
    expect(reportOf(job)).toBe("one");
  });

  it("asks once for quick typing, and shows only the answer to the latest text", async () => {
    const job = await started();
    const before = asked.length;
    for (const text of ["t", "tw", "two"]) job.write(text);
    await vi.advanceTimersByTimeAsync(60);
    expect(asked.slice(before).map(({ body }) => body.text)).toEqual(["two"]);
    delay = (text) => (text === "slow" ? 500 : 1);
    job.write("slow");
    await vi.advanceTimersByTimeAsync(60);
    job.write("quick");
    await vi.advanceTimersByTimeAsync(1000);
    expect(reportOf(job)).toBe("quick");
  });

  it("saves against the text it was read as", async () => {
    const job = await started();
    job.write("two");
    expect(isUnsaved(job.get())).toBe(true);
    await job.save();
    expect(isUnsaved(job.get())).toBe(false);
    expect(disk.text).toBe("two");
    expect(asked.findLast(({ method }) => method === "PUT")?.body.expectedHash).toBe("h1");
  });

  it("follows an edit made elsewhere where nothing was edited here", async () => {
    const job = await started();
    await outsideEdit("theirs");
    expect(job.get()).toMatchObject({ text: "theirs", outside: null });
    expect(reportOf(job)).toBe("theirs");
  });

  it("leaves the choice to the person where both sides were edited", async () => {
    const job = await started();
    job.write("mine");
    await outsideEdit("theirs");
    expect(job.get()).toMatchObject({ text: "mine", outside: { text: "theirs" } });
    job.keepMine();
    await job.save();
    expect(disk.text).toBe("mine");
    job.write("mine again");
    await outsideEdit("theirs again");
    job.takeTheirs();
    expect(job.get()).toMatchObject({ text: "theirs again", outside: null });
    expect(isUnsaved(job.get())).toBe(false);
  });

  it("offers the choice too where a save is refused", async () => {
    const job = await started();
    job.write("mine");
    disk = { text: "theirs", hash: "h2" };
    await job.save();
    expect(job.get()).toMatchObject({ text: "mine", outside: { text: "theirs" }, saving: false });
    expect(disk.text).toBe("theirs");
  });

  it("connects again after a break, waiting longer each time, and catches up on what it missed", async () => {
    const job = await started();
    sockets[0]!.onclose?.();
    expect(job.get().connection).toBe("lost");
    await vi.advanceTimersByTimeAsync(399);
    expect(sockets).toHaveLength(1);
    await vi.advanceTimersByTimeAsync(1);
    expect(sockets).toHaveLength(2);
    sockets[1]!.onclose?.();
    await vi.advanceTimersByTimeAsync(799);
    expect(sockets).toHaveLength(2);
    await vi.advanceTimersByTimeAsync(1);
    expect(sockets).toHaveLength(3);
    disk = { text: "meanwhile", hash: "h9" };
    sockets[2]!.onopen?.();
    sockets[2]!.tell({ kind: "hello", run: "r", change: 4 });
    await vi.advanceTimersByTimeAsync(20);
    expect(job.get()).toMatchObject({ connection: "open", text: "meanwhile" });
  });
});
