import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { capturedBytes, readCapture } from "@rouse/core/show";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { seeded } from "../devices/line/testkit/faulty.ts";
import { Ptys } from "../devices/line/testkit/pty.ts";
import { transferProgress } from "./line-options.ts";

const ROUSE = join(fileURLToPath(new URL("../../../..", import.meta.url)), "packages/node/bin/rouse.js");
let ptys: Ptys;

beforeEach(() => {
  ptys = new Ptys();
});
afterEach(() => ptys.clear());

const sleep = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** The built command at work. */
function start(args: readonly string[], input?: string) {
  const child: ChildProcess = spawn(process.execPath, [ROUSE, ...args], { cwd: ptys.folder, stdio: "pipe" });
  const told = { out: "", err: "" };
  child.stdout?.on("data", (chunk) => {
    told.out += String(chunk);
  });
  child.stderr?.on("data", (chunk) => {
    told.err += String(chunk);
  });
  if (input !== undefined) child.stdin?.end(input);
  const done = new Promise<{ status: number | null; out: string; err: string }>((resolve) =>
    child.on("close", (status) => resolve({ status, ...told })),
  );
  return { child, told, done };
}

async function until(met: () => boolean, ms = 15_000): Promise<void> {
  for (const from = performance.now(); !met(); await sleep(20))
    if (performance.now() - from > ms) throw new Error("it did not come to pass");
}

const bytes = (length: number) => {
  const random = seeded(9);
  return Buffer.from(Uint8Array.from({ length }, () => Math.floor(random() * 256)));
};

describe("rouse ports", () => {
  it("prints a list for machines", async () => {
    const { status, out } = await start(["ports", "--json"]).done;
    expect(status).toBe(0);
    expect(JSON.parse(out)).toMatchObject({ format: "rouse-ports", version: 1 });
  });
});

describe("rouse send and rouse receive", () => {
  it("bring a file over a pair of ports", async () => {
    const [one, other] = await ptys.pair();
    writeFileSync(join(ptys.folder, "a.bin"), bytes(2560));
    const receiving = start(["receive", other, "b.bin", "--protocol", "xmodem-crc"]);
    const sending = start(["send", one, "a.bin", "--protocol", "xmodem-crc"]);
    // On a line that does no harm nothing is told of but the file.
    expect(await sending.done).toMatchObject({
      status: 0,
      err: "a.bin: begins, 2560 bytes\na.bin: 2560 bytes, done\n",
    });
    expect(await receiving.done).toEqual({ status: 0, out: "b.bin: 2560 bytes\n", err: "b.bin: 2560 bytes, done\n" });
    expect(readFileSync(join(ptys.folder, "b.bin")).equals(bytes(2560))).toBe(true);
  });

  it("let no control function of a file's name reach the terminal", () => {
    const told: string[] = [];
    const spy = vi.spyOn(process.stderr, "write").mockImplementation((text) => told.push(String(text)) > 0);
    transferProgress(false)({ kind: "file begins", name: "a\u001b]0;b\u0007" });
    spy.mockRestore();
    expect(told.join("")).toMatch(/^[ -~]+: begins\n$/);
  });

  it("bring a batch to another program, with names and dates", async () => {
    writeFileSync(join(ptys.folder, "one.bin"), bytes(3000));
    writeFileSync(join(ptys.folder, "two.txt"), "second\n");
    writeFileSync(
      join(ptys.folder, "run.sh"),
      `mkdir ${join(ptys.folder, "got")} && cd ${join(ptys.folder, "got")} && exec rb -q\n`,
    );
    const { path } = await ptys.program("port", `sh ${join(ptys.folder, "run.sh")}`);
    const { status } = await start(["send", path, "one.bin", "two.txt", "--protocol", "ymodem"]).done;
    expect(status).toBe(0);
    await until(() => existsSync(join(ptys.folder, "got/two.txt")));
    expect(readFileSync(join(ptys.folder, "got/one.bin")).equals(bytes(3000))).toBe(true);
    expect(readFileSync(join(ptys.folder, "got/two.txt"), "utf8")).toBe("second\n");
    expect(Math.floor(statSync(join(ptys.folder, "got/one.bin")).mtimeMs / 1000)).toBe(
      Math.floor(statSync(join(ptys.folder, "one.bin")).mtimeMs / 1000),
    );
  });

  it("leave nothing written over, and say so first", async () => {
    writeFileSync(join(ptys.folder, "there"), "mine");
    const { status, err } = await start(["receive", "/dev/none", "there", "--protocol", "xmodem"]).done;
    expect(status).toBe(2);
    expect(err).toBe("rouse: there exists already; --force writes over it.\n");
  });

  it("refuse a frame of seven bits for a protocol, and a port that is not there", async () => {
    writeFileSync(join(ptys.folder, "a"), "x");
    const seven = await start(["send", "/dev/none", "a", "-p", "xmodem", "-f", "7E1"]).done;
    expect(seven.err).toBe("rouse: xmodem needs 8 data bits, not 7E1.\n");
    const none = await start(["send", "/dev/none", "a", "-p", "xmodem"]).done;
    expect(none).toMatchObject({
      status: 2,
      err: "rouse: There is no port /dev/none; `rouse ports` lists those that are there.\n",
    });
  });

  it("say in one sentence what could not be kept", async () => {
    const far = await ptys.open("port", () => undefined);
    mkdirSync(join(ptys.folder, "folder"));
    const receiving = start(["receive", far.path, "folder", "--protocol", "text", "--quiet", "300 ms", "--force"]);
    await until(() => receiving.told.err.includes("begins"));
    far.send(Buffer.from("10 PRINT\r\n"));
    const { status, err } = await receiving.done;
    expect(status).toBe(2);
    expect(err).toMatch(/rouse: folder cannot be written: it is a folder\.\n$/);
  });

  it("keep text that came until they are stopped", async () => {
    const far = await ptys.open("port", () => undefined);
    const receiving = start(["receive", far.path, "text", "--protocol", "text", "--quiet", "60 s"]);
    await until(() => receiving.told.err.includes("begins"));
    far.send(Buffer.from("10 PRINT\r\n"));
    await sleep(300);
    receiving.child.kill("SIGINT");
    expect((await receiving.done).status).toBe(0);
    expect(readFileSync(join(ptys.folder, "text"), "utf8")).toBe("10 PRINT\r\n");
  });
});

describe("rouse talk", () => {
  it("sends standard input, shows the answer, and keeps both with their times", async () => {
    const { path } = await ptys.program("port", "cat");
    const { status, out } = await start(["talk", path, "--quiet", "500 ms", "--capture", "kept.jsonl"], "HELLO\r\n")
      .done;
    expect({ status, out }).toEqual({ status: 0, out: "HELLO\r\n" });
    const capture = readCapture(readFileSync(join(ptys.folder, "kept.jsonl")));
    for (const way of ["in", "out"] as const)
      expect(Buffer.from(capturedBytes(capture, way).bytes).toString()).toBe("HELLO\r\n");
  });

  it("obeys its command key on a terminal, and lets every other byte through", async () => {
    let got = "";
    const far = await ptys.open("port", (chunk) => {
      got += Buffer.from(chunk).toString("latin1");
    });
    let shown = "";
    const desk = spawn("socat", ["STDIO", `EXEC:${process.execPath} ${ROUSE} talk ${far.path},pty,setsid,ctty,rawer`]);
    desk.stdout.on("data", (chunk) => {
      shown += String(chunk);
    });
    await until(() => shown.includes("Ctrl-_ is the command key"));
    desk.stdin.write("A\u001d\u0003B\u001f\u001fC");
    await until(() => got === "A\u001d\u0003B\u001fC");
    far.send(Buffer.from("READY\r\n"));
    await until(() => shown.includes("READY\r\n"));
    desk.stdin.write("\u001fx");
    await until(() => shown.includes("[hex view on]"));
    far.send(Uint8Array.of(0x41, 0x00, 0xff));
    await until(() => shown.includes("< 41 00 FF"));
    desk.stdin.write("\u001fx\u001fe");
    await until(() => shown.includes("[local echo on]"));
    writeFileSync(join(ptys.folder, "list"), "10 END\n");
    desk.stdin.write(`\u001fp${join(ptys.folder, "list")}\r`);
    await until(() => got.endsWith("10 END\r"));
    desk.stdin.write("\u001fd");
    await until(() => shown.includes("has no such setting"));
    desk.stdin.write("\u001fq");
    await new Promise((resolve) => desk.once("exit", resolve));
  });

  it("loses at most the last second of a capture when it is killed", async () => {
    const far = await ptys.open("port", () => undefined);
    const { child, told, done } = start(["talk", far.path, "--capture", "kept.jsonl"]);
    const capture = join(ptys.folder, "kept.jsonl");
    const keptNow = () =>
      existsSync(capture) ? Buffer.from(capturedBytes(readCapture(readFileSync(capture)), "in").bytes).toString() : "";
    // Until the port is open, what is sent gets lost.
    while (!keptNow().includes("open\r\n")) {
      far.send(Buffer.from("open\r\n"));
      await sleep(100);
    }
    let sent = "";
    for (let count = 0; count < 30; count++) {
      const line = `line ${count}\r\n`;
      sent += line;
      far.send(Buffer.from(line));
      await sleep(50);
    }
    const before = sent.slice(0, sent.indexOf("line 10\r"));
    child.kill("SIGKILL");
    await done;
    const kept = keptNow().replace(/^(open\r\n)+/, "");
    expect(sent.startsWith(kept)).toBe(true);
    expect(kept.startsWith(before), told.err).toBe(true);
  });
});

describe("rouse line-test", () => {
  it("measures an echo at each rate", async () => {
    const { path } = await ptys.program("port", "cat");
    const { status, out } = await start(["line-test", path, "--rates", "9600,19200", "--time", "300 ms"]).done;
    expect(out).toContain("Line good to 19,200 bit/s, the highest that was tried.");
    expect(out).toContain("control lines: this port does not show any");
    expect(status).toBe(0);
  });

  it("says that nothing comes back", async () => {
    const far = await ptys.open("port", () => undefined);
    const { status, out } = await start(["line-test", far.path, "--rates", "19200", "--time", "200 ms"]).done;
    expect(out).toContain("Line not good: nothing comes back at 19,200 bit/s already.");
    expect(status).toBe(1);
  });
});

describe("rouse listen at a port", () => {
  it("tells frame and text of what comes", async () => {
    const far = await ptys.open("port", () => undefined);
    const listening = start(["listen", far.path, "--rates", "2400", "--time", "4 s"]);
    const even = Array.from(Buffer.from("TERN READY, LOGIN: 0123456789\r\n".repeat(4)), (code) => {
      const odd = [0, 1, 2, 3, 4, 5, 6].filter((bit) => (code >> bit) & 1).length % 2;
      return code | (odd << 7);
    });
    await sleep(600);
    while (listening.child.exitCode === null) {
      far.send(Uint8Array.from(even));
      await sleep(300);
    }
    const { status, out } = await listening.done;
    expect(out).toMatch(/^2,400 bit\/s, 7E1: 100 % of \d+ bytes make sense/);
    expect(out).toContain("TERN READY, LOGIN: 0123456789");
    expect(status).toBe(0);
  });
});

describe("rouse bridge", () => {
  it("makes a small terminal show what the computer writes for a large one, and brings its keys back", async () => {
    let [typed, shown] = ["", ""];
    const host = await ptys.open("host", (chunk) => {
      typed += Buffer.from(chunk).toString("latin1");
    });
    const terminal = await ptys.open("terminal", (chunk) => {
      shown += Buffer.from(chunk).toString("latin1");
    });
    const small = ["--terminal", "screen-40-upper", "--code", "de"];
    const bridging = start(["bridge", host.path, terminal.path, ...small]);
    await until(() => bridging.told.out.includes("Ctrl-C ends it."));
    // A small ä is the sign at 07/11, and its capital that at 05/11.
    host.send(Buffer.from("\u001b[2J\u001b[3;5HLogin: {"));
    await until(() => shown.includes("LOGIN: ["));
    // The terminal has capitals only, and knows nothing of ECMA-48.
    expect(shown).not.toContain("\u001b[");
    terminal.send(Buffer.from("guest\r"));
    await until(() => typed === "guest\r");
    bridging.child.kill("SIGINT");
    expect((await bridging.done).status).toBe(0);
  });

  it("takes a terminal of the job's own catalogue, and moves the part shown by a key", async () => {
    mkdirSync(join(ptys.folder, "job/catalogue"), { recursive: true });
    writeFileSync(join(ptys.folder, "job/bench.yaml"), "rouse: 1\nname: small\n");
    writeFileSync(
      join(ptys.folder, "job/catalogue/mine.yaml"),
      'sources: [{ id: tried, title: tried }]\nterminals:\n  - { id: mine, title: mine, columns: 20, rows: 4, wraps: true, scrolls: true, letters: upper and lower case, characterSet: ISO 646, addressing: absolute, controls: [CUP, ED], rates: [2400], frames: ["8N1"], source: tried }\n',
    );
    let [typed, shown] = ["", ""];
    const host = await ptys.open("host", (chunk) => {
      typed += Buffer.from(chunk).toString("latin1");
    });
    const terminal = await ptys.open("terminal", (chunk) => {
      shown += Buffer.from(chunk).toString("latin1");
    });
    const ports = ["bridge", host.path, terminal.path, "--job", "job"];
    const bridging = start([...ports, "--terminal", "mine", "--wide", "pan", "--pan-key", "p", "--rate", "115200"]);
    await until(() => bridging.told.out.includes("as mine."));
    host.send(Buffer.from("left\u001b[1;60Hright\u001b[2;1H"));
    await until(() => shown.includes("left"));
    expect(shown).not.toContain("right");
    terminal.send(Buffer.from("\u0010r\u0010r\u0010r\u0010r\u0010r\u0010rx"));
    await until(() => shown.includes("right"));
    await until(() => typed === "x");
    bridging.child.kill("SIGINT");
    expect((await bridging.done).status).toBe(0);
    expect((await start([...ports, "--terminal", "mine", "--pan-key", "ab"]).done).err).toMatch(/--pan-key takes/);
    expect((await start([...ports, "--terminal", "mine", "--unreachable", "x"]).done).err).toMatch(/--unreachable is/);
  });
});
