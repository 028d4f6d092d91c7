import { mkdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { readFrame } from "@rouse/core/line";
import { capturedBytes, readCapture } from "@rouse/core/show";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { CaptureFile, LineSession, type LineSettings, RealPort, type SessionEvent } from "./index.ts";
import { portsOfKernel } from "./list.ts";
import { holdersOf, permissionSentence, portProblem, rateProblem } from "./problems.ts";
import { DoublePort } from "./testkit/double.ts";
import { Ptys } from "./testkit/pty.ts";

const SETTINGS: LineSettings = { rate: 9600, frame: readFrame("8N1"), flow: "none" };
const now = () => performance.now();
const text = (words: string) => new TextEncoder().encode(words);
const every = Uint8Array.from({ length: 4096 }, (_, at) => (at * 7 + (at >> 8)) & 0xff);
let ptys: Ptys;

beforeEach(() => {
  ptys = new Ptys();
});
afterEach(() => ptys.clear());

async function until(met: () => boolean, ms = 8000): Promise<void> {
  for (const start = now(); !met(); ) {
    if (now() - start > ms) throw new Error("it did not come to pass");
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}

const total = (chunks: readonly Uint8Array[]) => chunks.reduce((sum, each) => sum + each.length, 0);

describe("a real port", () => {
  it("carries all byte values both ways at once", async () => {
    const paths = await ptys.pair();
    const got: [Uint8Array[], Uint8Array[]] = [[], []];
    const ports = paths.map((path) => new RealPort(path)) as [RealPort, RealPort];
    for (const [at, port] of ports.entries())
      await port.open(SETTINGS, { data: (bytes) => got[at]!.push(bytes), closed: () => undefined });
    await Promise.all(ports.map((port) => port.write(every)));
    await Promise.all(ports.map((port) => port.drain()));
    await until(() => got.every((chunks) => total(chunks) >= every.length));
    for (const chunks of got) expect(Buffer.concat(chunks).equals(every)).toBe(true);
    await Promise.all(ports.map((port) => port.close()));
  });

  it("can be set to another rate and frame, and goes on", async () => {
    const got: Uint8Array[] = [];
    const far = await ptys.open("port", (bytes) => got.push(bytes));
    const port = new RealPort(far.path);
    const came: Uint8Array[] = [];
    await port.open(SETTINGS, { data: (bytes) => came.push(bytes), closed: () => undefined });
    await port.change({ rate: 300, frame: readFrame("7E2"), flow: "none" });
    await port.write(text("after"));
    far.send(text("back"));
    await until(() => total(got) === 5 && total(came) === 4);
    await port.close();
  });

  it("says that it is in use, and by whom", async () => {
    const far = await ptys.open("port", () => undefined);
    const held = new RealPort(far.path);
    await held.open(SETTINGS, { data: () => undefined, closed: () => undefined });
    const second = new RealPort(far.path);
    await expect(second.open(SETTINGS, { data: () => undefined, closed: () => undefined })).rejects.toMatchObject({
      code: "port-busy",
    });
    await held.close();
  });

  it("says that there is none of that name", async () => {
    const none = new RealPort("/dev/no-such-port");
    await expect(none.open(SETTINGS, { data: () => undefined, closed: () => undefined })).rejects.toThrow(
      "There is no port /dev/no-such-port; `rouse ports` lists those that are there.",
    );
  });

  it("says that a pty has no control lines", async () => {
    const far = await ptys.open("port", () => undefined);
    const port = new RealPort(far.path);
    await port.open(SETTINGS, { data: () => undefined, closed: () => undefined });
    expect(await port.readLines()).toBeUndefined();
    await expect(port.setLines({ dtr: false, rts: true })).rejects.toMatchObject({ code: "not-a-port" });
    await port.close();
  });
});

describe("what a person is told", () => {
  it("names the group of a port without permission, and how to join it", async () => {
    const groups = "root:x:0:\ndialout:x:20:\n";
    expect(permissionSentence("/dev/ttyUSB0", { mode: 0o20660, gid: 20 }, groups, "ann")).toBe(
      "You may not open /dev/ttyUSB0: it belongs to the group “dialout”. Join it with `sudo usermod -aG dialout ann`, then log in again.",
    );
    // Nobody is told to join root's group, nor one that may not open it either.
    for (const found of [{ mode: 0o20660, gid: 0 }, { mode: 0o20600, gid: 20 }, undefined])
      expect(permissionSentence("/dev/x", found, groups, "ann")).toContain("only the system's administrator may");
    const problem = await portProblem(new Error("Error: Permission denied, cannot open /dev/tty"), "/dev/tty", 9600);
    expect(problem).toMatchObject({ code: "no-permission" });
  });

  it("names the programs that hold a port", async () => {
    const proc = join(ptys.folder, "proc");
    mkdirSync(join(proc, "4711/fd"), { recursive: true });
    mkdirSync(join(proc, "12/fd"), { recursive: true });
    mkdirSync(join(proc, "self"), { recursive: true });
    const device = join(ptys.folder, "port");
    writeFileSync(device, "");
    symlinkSync(device, join(proc, "4711/fd/5"));
    symlinkSync("/dev/null", join(proc, "12/fd/0"));
    writeFileSync(join(proc, "4711/comm"), "logger\n");
    expect(await holdersOf(device, proc)).toEqual([{ pid: 4711, name: "logger" }]);
  });

  it.each(["/dev/null", "a-file", "."])("calls %s no serial port", async (name) => {
    writeFileSync(join(ptys.folder, "a-file"), "text");
    const path = name.startsWith("/") ? name : join(ptys.folder, name);
    await expect(
      new RealPort(path).open(SETTINGS, { data: () => undefined, closed: () => undefined }),
    ).rejects.toMatchObject({ code: "not-a-port" });
  });

  it("says of a capture whose folder is not there, and of one that is, why it cannot be made", async () => {
    const head = { started: "2026-01-01T00:00:00.000Z", port: "p", rate: 9600, frame: "8N1" };
    const make = (path: string) => CaptureFile.create(join(ptys.folder, path), head, now);
    await expect(make("none/a.jsonl")).rejects.toMatchObject({ code: "no-folder" });
    writeFileSync(join(ptys.folder, "a.jsonl"), "");
    await expect(make("a.jsonl")).rejects.toMatchObject({ code: "file-exists" });
  });

  it("says of a frame that the port cannot be set to it", async () => {
    const { path } = await ptys.open("near", () => undefined);
    const settings = { ...SETTINGS, frame: readFrame("8N1.5") };
    await expect(
      new RealPort(path).open(settings, { data: () => undefined, closed: () => undefined }),
    ).rejects.toMatchObject({ code: "no-frame" });
  });

  it("says which rate an adapter has where it does not make the one asked for", () => {
    expect(rateProblem("/dev/ttyUSB0", 134.5, 150)?.message).toContain("the nearest that it has is 150 bit/s");
    expect(rateProblem("/dev/ttyUSB0", 110, 109.9)).toBeUndefined();
  });

  it("lists the kernel's ports, those that exist, with what the adapter says of itself", async () => {
    const root = join(ptys.folder, "tty");
    const usb = join(ptys.folder, "usb/1-1");
    mkdirSync(join(usb, "1-1:1.0/ttyUSB0"), { recursive: true });
    writeFileSync(join(usb, "product"), "Serial adapter\n");
    writeFileSync(join(usb, "serial"), "A5\n");
    symlinkSync("/drivers/adapter", join(usb, "1-1:1.0/ttyUSB0/driver"));
    for (const name of ["ttyUSB0", "ttyS0", "ttyS1", "tty0"]) mkdirSync(join(root, name), { recursive: true });
    symlinkSync(join(usb, "1-1:1.0/ttyUSB0"), join(root, "ttyUSB0/device"));
    for (const [name, type] of [
      ["ttyS0", "4"],
      ["ttyS1", "0"],
    ] as const) {
      mkdirSync(join(root, name, "device"));
      symlinkSync("/drivers/serial8250", join(root, name, "device/driver"));
      writeFileSync(join(root, name, "type"), `${type}\n`);
    }
    expect(await portsOfKernel(root)).toEqual([
      { path: "/dev/ttyS0", about: "driver serial8250" },
      { path: "/dev/ttyUSB0", about: "Serial adapter", serial: "A5" },
    ]);
  });
});

describe("a session", () => {
  it("shows all windows the same, and a late one what came before", async () => {
    const [port, far] = DoublePort.pair();
    await far.open(SETTINGS, { data: () => undefined, closed: () => undefined });
    const session = new LineSession(port, SETTINGS);
    const seen: SessionEvent[][] = [[], []];
    for (const events of seen) session.subscribe((event) => events.push(event));
    await session.open();
    await far.write(text("READY"));
    await session.write(text("DIR\r"));
    await until(() => seen[0]!.some((each) => each.kind === "in"));
    expect(seen[0]).toEqual(seen[1]);
    expect(Buffer.from(session.recent).toString()).toBe("READY");
    await session.close();
  });

  it("keeps no more than it says of what came", async () => {
    const [port, far] = DoublePort.pair();
    await far.open(SETTINGS, { data: () => undefined, closed: () => undefined });
    const session = new LineSession(port, SETTINGS);
    await session.open();
    for (let at = 0; at < 40; at++) await far.write(every);
    await far.drain();
    expect(session.recent.length).toBe(64 << 10);
    await session.close();
  });

  it("shows and switches control lines, and sends break", async () => {
    const [port, far] = DoublePort.pair();
    await far.open(SETTINGS, { data: () => undefined, closed: () => undefined });
    const session = new LineSession(port, SETTINGS);
    await session.open();
    expect(session.linesIn).toEqual({ cts: true, dsr: true, dcd: true });
    await far.setLines({ dtr: true, rts: false });
    await until(() => session.linesIn?.cts === false);
    await session.setLines({ dtr: false });
    expect(port.lines).toEqual({ dtr: false, rts: true });
    await session.sendBreak(250);
    expect(port.breaks).toEqual([250]);
    await session.close();
  });

  it("goes on at the old rate where the port refuses a new one", async () => {
    const [port] = DoublePort.pair({ refuses: (rate) => rate > 19_200 });
    const session = new LineSession(port, SETTINGS);
    await session.open();
    await expect(session.change({ ...SETTINGS, rate: 38_400 })).rejects.toThrow(/38400/);
    expect(session.state).toBe("open");
    expect(port.settings?.rate).toBe(9600);
    await session.close();
  });

  it("comes back when a pulled adapter is put back, on a real pty", async () => {
    const first = await ptys.open("port", () => undefined);
    const path = join(ptys.folder, "session.jsonl");
    const capture = await CaptureFile.create(
      path,
      { started: "2026-11-25T10:00:00.000Z", port: first.path, rate: 9600, frame: "8N1" },
      now,
    );
    const session = new LineSession(new RealPort(first.path), SETTINGS, { capture, retryEvery: 50 });
    await session.open();
    first.send(text("before"));
    await until(() => session.recent.length === 6);
    await first.end();
    await until(() => session.state === "lost");
    await expect(session.write(text("x"))).rejects.toThrow(/not plugged in/);
    const second = await ptys.open("port", () => undefined);
    await until(() => session.state === "open");
    second.send(text(", after"));
    await until(() => session.recent.length === 13);
    await session.close();
    const read = readCapture(readFileSync(path));
    expect(Buffer.from(capturedBytes(read, "in").bytes).toString()).toBe("before, after");
    expect(read.entries.flatMap((each) => ("link" in each ? [each.link] : []))).toEqual(["lost", "back"]);
  });

  it("is not written over a file that is there", async () => {
    const path = join(ptys.folder, "there");
    writeFileSync(path, "mine");
    const head = { started: "", port: "", rate: 1, frame: "8N1" };
    await expect(CaptureFile.create(path, head, now)).rejects.toMatchObject({ code: "file-exists" });
    expect(readFileSync(path, "utf8")).toBe("mine");
  });
});
