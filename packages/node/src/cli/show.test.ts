import { spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { asciiBytes } from "@rouse/core/bytes";
import { captureHead, captureLine } from "@rouse/core/show";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROOT = fileURLToPath(new URL("../../../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
let folder: string;

function rouse(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, ...args], { cwd: folder, encoding: "utf8" });
  return { status, out: stdout, err: stderr };
}
const read = (name: string) => readFileSync(join(folder, name), "utf8");

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-show-"));
  mkdirSync(join(folder, "job"));
  cpSync(join(ROOT, "demo/mended/bench.yaml"), join(folder, "job/bench.yaml"));
  writeFileSync(
    join(folder, "job/show.yaml"),
    'show: 1\ntitle: Tern\nends: "15:30"\nspare: 1 min\nscenes:\n  - { name: Start, wait: 20 s, expect: "login:", say: one two three }\n  - { name: Visitor, type: visitor, prints: 240, expect: "tern:" }\n',
  );
  writeFileSync(
    join(folder, "session.jsonl"),
    captureHead({ started: "2026-06-06T13:00:00.000Z", port: "line", rate: 2400, frame: "7E1", about: "<Open> day" }) +
      [
        { t: 0.1, in: asciiBytes("Tern, edition 1\r\n\u001b]0;evil\u0007\u001b[31mred\u001b[0m\r\n") },
        { t: 60, in: asciiBytes("login: ") },
        { t: 61, out: asciiBytes("visitor\r") },
        { t: 62, in: asciiBytes("visitor\r\ntern: ") },
      ]
        .map(captureLine)
        .join(""),
  );
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse show", () => {
  it("says how much talk is missing, and the latest moment to start", () => {
    const { status, out } = rouse("show", "job");
    expect(status).toBe(0);
    expect(out).toContain("▲ up to 18.6 s more to talk through");
    // 20 s, 8 keys at 3 a second, 240 characters at 240 a second, and a minute to spare: 83.67 s before the end.
    expect(out).toContain("Start at 15:28:36 at the latest, to end by 15:30:00 with 60 s to spare.");
    expect(rouse("show", "job", "--ends", "16:00").out).toContain("Start at 15:58:36");
  });

  it("compares a session with the script, and ends with 1 where something never came", () => {
    const { status, out } = rouse("show", "job", "--capture", "session.jsonl");
    expect(out).toContain("Start: waited 60 s, predicted 20 s");
    expect(out).toContain("Visitor: waited 1 s, predicted 1 s");
    expect(status).toBe(0);
    writeFileSync(join(folder, "job/other.yaml"), read("job/show.yaml").replace("tern:", "halted"));
    expect(rouse("show", "job", "--script", "other.yaml", "--capture", "session.jsonl").status).toBe(1);
  });
});

describe("a script of somebody else's", () => {
  it("cannot act on the terminal", () => {
    const evil = "\\u001b[31m";
    writeFileSync(
      join(folder, "job/evil.yaml"),
      `show: 1\ntitle: "a${evil}"\ncredits: ["b${evil}"]\nscenes: [{ name: "c${evil}", do: "d${evil}", say: "e${evil}\\nf", expect: "g${evil}" }]\n`,
    );
    const { out } = rouse("show", "job", "--script", "evil.yaml", "--capture", "session.jsonl");
    for (const letter of "abcdeg") expect(out).toContain(`${letter}\\x1B[31m`);
    expect(out).not.toContain("\u001b");
  });
});

describe("rouse show --rehearse", () => {
  it("plays the script on the rehearsed machine, and keeps the session once", () => {
    cpSync(join(ROOT, "demo/mended"), join(folder, "whole"), { recursive: true });
    const { status, out } = rouse("show", "whole", "--rehearse", "--keep", "rehearsed.jsonl");
    expect(out).toMatch(/wait: 17\.[567] s[^\n]*\n *rehearsed; by the timing model 17\.\d s/);
    expect(out).toMatch(/● +0:18 {2}Logging in: waited 3\.\d s, predicted 2\.\d s/);
    expect(status).toBe(0);
    expect(rouse("show", "whole", "--capture", "rehearsed.jsonl").out).toContain("The start: waited 17.6 s");
    expect(rouse("replay", "rehearsed.jsonl", "--text", "rehearsed.txt").status).toBe(0);
    expect(read("rehearsed.txt")).toContain("tern: text poem");
    expect(rouse("show", "whole", "--rehearse", "--keep", "rehearsed.jsonl").err).toContain("is there already");
  });

  it("refuses to keep what was not rehearsed, and two sessions at once", () => {
    expect(rouse("show", "job", "--keep", "x.jsonl").status).toBe(2);
    expect(rouse("show", "job", "--rehearse", "--capture", "session.jsonl").status).toBe(2);
    // This job has no ROMs: the machine cannot be made.
    expect(rouse("show", "job", "--rehearse").status).toBe(2);
  });
});

describe("rouse replay", () => {
  it("keeps the pace it is told, and lets no control function through", () => {
    const begun = performance.now();
    const { status, out } = rouse("replay", "session.jsonl", "--longest-wait", "0.5 s");
    const took = performance.now() - begun;
    expect(status).toBe(0);
    expect(out).toBe("Tern, edition 1\nred\nlogin: visitor\ntern: \n");
    expect(took).toBeGreaterThan(1000);
    expect(took).toBeLessThan(20_000);
  });

  it("writes page, captions, chapters, still and text, each once", () => {
    const files = ["--html", "day.html", "--captions", "day.vtt", "--svg", "day.svg", "--text", "day.txt"];
    const chapters = ["--chapters", "chapters.vtt", "--script", "job/show.yaml"];
    const mark = ["--appears", "login:", "--seen", "1:05"];
    expect(rouse("replay", "session.jsonl", ...files, ...chapters, ...mark).status).toBe(0);
    expect(read("day.html")).toContain("<h1>&lt;Open&gt; day</h1>");
    expect(read("day.vtt")).toContain("00:01:05.000 --> 00:01:07.000\nlogin: visitor");
    expect(read("chapters.vtt")).toContain("00:01:05.000 --> 00:01:08.000\nVisitor");
    expect(read("day.svg")).toContain("<title>&lt;Open&gt; day</title>");
    expect(read("day.txt")).toBe("Tern, edition 1\nred\nlogin: visitor\ntern:\n");
    expect(rouse("replay", "session.jsonl", "--text", "day.txt").err).toContain("is there already");
  });

  it("refuses a mark without the camera's time, and what is no capture", () => {
    expect(rouse("replay", "session.jsonl", "--captions", "x.vtt", "--byte", "0").err).toContain(
      "--seen TIME goes with",
    );
    expect(rouse("replay", "job/bench.yaml").err).toContain("no session capture");
    expect(rouse("replay", "session.jsonl", "--speed", "0").status).toBe(2);
  });
});
