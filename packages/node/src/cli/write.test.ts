import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { buildChainedBlock } from "@rouse/core/volume";
import { afterAll, beforeAll, beforeEach, describe, expect, it } from "vitest";

const ROUSE = fileURLToPath(new URL("../../bin/rouse.js", import.meta.url));
let folder: string;
let image: Uint8Array;
const job = () => join(folder, "job");
const disk = () => join(folder, "disk.img");

const bench = (writer: readonly string[]) => `rouse: 1
name: writing
computer: { cpu: { part: MC68A09E, clock: 1.5 MHz, handling: 3 ms } }
buses: { disk bus: { kind: IEEE 488, rate: "4,000 byte/s" } }
drives: { drive: { class: zoned-35-track, bus: disk bus } }
images: { system: { file: images/system.img, recording: zoned-35, drive: drive } }
writers: { "my adapter": { command: ${JSON.stringify(writer)} } }
`;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-write-cli-"));
  mkdirSync(join(job(), "images"), { recursive: true });
  const touch = `require("fs").writeFileSync(${JSON.stringify(join(folder, "touched"))}, "x")`;
  writeFileSync(join(job(), "bench.yaml"), bench([process.execPath, "-e", touch]));
  image = buildChainedBlock([{ path: "letters", type: "file", bytes: new Uint8Array(9000).fill(65) }], {
    layout: "35-track",
    name: "WRITE",
    id: "WR",
  });
  writeFileSync(join(job(), "images/system.img"), image);
});
beforeEach(() => {
  rmSync(disk(), { force: true });
  for (const name of readdirSync(job())) if (/journal$|^log/.test(name)) rmSync(join(job(), name));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const run = (args: readonly string[], flags: readonly string[] = []) =>
  spawnSync(process.execPath, [...flags, ROUSE, "write", job(), "system", ...args], {
    encoding: "utf8",
    input: "",
    env: { ...process.env, NODE_NO_WARNINGS: "1" },
  });

describe("rouse write --dry", () => {
  // Node's permission model refuses every opening for writing, and every start of a program, of the whole process.
  const readOnly = ["--experimental-permission", "--allow-fs-read=*"];

  it("tells everything without the right to write anything, which a real write cannot do without", () => {
    writeFileSync(disk(), new Uint8Array(image.length).fill(0xe5));
    const dry = run([disk(), "--dry"], readOnly);
    expect(dry.stdout).toMatch(/^Image: {3}system\.img, 174,848 bytes, .*\n {9}SHA-256 [0-9a-f]{64}\nTarget: {2}/);
    expect(dry.stdout).toMatch(/Fit: {5}● runs: .*\n/);
    expect(dry.stdout).toMatch(/write for \d.* s and read back for \d.* s, by the timing\s+model/);
    expect(dry.stdout).toContain("Dry run: nothing was opened for writing.");
    expect(dry.status).toBe(0);
    const real = run([disk(), "--confirm", "disk.img"], readOnly);
    expect(real.status).not.toBe(0);
    expect(readFileSync(disk()).every((byte) => byte === 0xe5)).toBe(true);
  });

  it("starts no adapter", () => {
    const dry = run(["--writer", "my adapter", "--dry"], readOnly);
    expect(dry.stdout).toMatch(/calls .*node -e require/);
    expect(dry.status).toBe(0);
    expect(existsSync(join(folder, "touched"))).toBe(false);
    const { target, copyTo } = JSON.parse(run(["--writer", "my adapter", "--dry", "--json"]).stdout);
    expect(target).toMatchObject({ kind: "adapter", word: "my adapter", calls: { readBack: null } });
    expect(copyTo).toBeNull();
    expect(existsSync(join(folder, "touched"))).toBe(false);
  });
});

describe("rouse write", () => {
  it("tells progress and the model's time beside the real one, and certifies", () => {
    const { stdout, stderr, status } = run([disk(), "--confirm", "disk.img"]);
    expect(stderr).toMatch(/^writing \d+ of 683 blocks, .* left, the model: block [\d,]+, \d.* s in all$/m);
    expect(stdout).toMatch(/^ {2}writing +\S+ m?s +\d+ min \d+ s$/m);
    expect(stdout).toContain("683 blocks written and read back the same");
    expect(status).toBe(0);
    expect(readFileSync(disk()).equals(image)).toBe(true);
  });

  it("calls the adapter when the word is given, and says that it cannot be verified", () => {
    expect(run(["--writer", "my adapter", "--confirm", "adapter"]).status).toBe(2);
    expect(existsSync(join(folder, "touched"))).toBe(false);
    const { stdout, status } = run(["--writer", "my adapter", "--confirm", "my adapter"]);
    expect(stdout).toMatch(/○ Written; the bench does not say how to read it back/);
    expect(status).toBe(0);
    expect(existsSync(join(folder, "touched"))).toBe(true);
    expect(run(["--writer", "my adapter", "--resume", "--confirm", "my adapter"]).stderr).toContain("begin anew");
  });

  it.each(["the question", "the writing"])("ends cleanly when it is stopped during %s", async (when) => {
    const asks = when === "the question";
    const child: ChildProcess = spawn(
      process.execPath,
      [ROUSE, "write", job(), "system", disk(), ...(asks ? [] : ["--confirm", "disk.img"])],
      { stdio: ["pipe", "pipe", "pipe"] },
    );
    let said = "";
    const stopWhen = (text: string) => (chunk: Buffer) => {
      said += chunk;
      if (said.includes(text) && !child.killed) child.kill("SIGINT");
    };
    child.stdout!.on("data", stopWhen("type the word"));
    child.stderr!.on("data", stopWhen("writing"));
    expect(await new Promise((resolve) => child.on("exit", resolve))).toBe(2);
    expect(said).toMatch(asks ? /The word was not typed; nothing was written/ : /Stopped after block [1-9]\d* of 683/);
    expect(existsSync(disk())).toBe(!asks);
    if (asks) return;
    expect(run([disk(), "--resume", "--confirm", "disk.img"]).status).toBe(0);
    expect(readFileSync(disk()).equals(image)).toBe(true);
  });
});
