import { spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROOT = fileURLToPath(new URL("../../../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
let folder: string;

function rouse(input: string, ...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, ...args], {
    cwd: folder,
    encoding: "utf8",
    input,
  });
  return { status, out: stdout, err: stderr };
}
const log = () =>
  readFileSync(join(folder, "log.jsonl"), "utf8")
    .trim()
    .split("\n")
    .map((each) => JSON.parse(each) as Record<string, unknown>);

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-why-"));
  cpSync(join(ROOT, "demo/mended/bench.yaml"), join(folder, "bench.yaml"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse why", () => {
  it("blames nothing on a bench that names no part", () => {
    const bare = mkdtempSync(join(tmpdir(), "rouse-why-bare-"));
    writeFileSync(join(bare, "bench.yaml"), "rouse: 1\nname: bare\n");
    const { status, out, err } = rouse("", "why", bare);
    rmSync(bare, { recursive: true, force: true });
    expect([status, out]).toEqual([2, ""]);
    expect(err).toContain("names no part that could be to blame");
  });

  it("ranks what is seen and measured, cautions before the next test, and keeps it in the log", () => {
    const { status, out } = rouse("", "why", "--sees", "dark screen", "--reading", "5 V rail = 4.2 V");
    expect(status).toBe(0);
    expect(out).toMatch(/Measure \+5 V on the board: 4\.2 V: below its limit/);
    expect(out).toMatch(/ {2}terminal {2,}█+·+ +\d+\.\d %/);
    expect(out).toMatch(/█ *·+ +\d+\.\d % {2}supply of stage terminal/);
    expect(out.indexOf("Caution, picture tube")).toBeLessThan(out.indexOf("- Is its lamp lit"));
    expect(log().map(({ kind, test }) => [kind, test])).toEqual([
      ["why", "screen"],
      ["why", "rail/+5 V"],
    ]);
  });

  it("prints the search for machines, goes on with it, and takes the last answer back", () => {
    const told = JSON.parse(rouse("", "why", "--json", "--undo").out);
    expect(told).toMatchObject({ format: "rouse-why", version: 1 });
    expect(told.session.answers.map((each: { test: string }) => each.test)).toEqual(["screen"]);
    expect(told.causes[0].link).toBe("terminal");
  });

  it("keeps nothing of what it cannot read, and nothing at all with --apart", () => {
    const both = rouse("", "why", "--apart", "--sees", "garbage", "--reading", "screen = dark");
    expect(both.status).toBe(2);
    expect(both.err).toMatch(/“garbage” and “screen = dark” both answer “Look at stage terminal”: give one/);
    const before = log().length;
    const wrong = rouse("", "why", "--sees", "garbage", "--reading", "mood = bad");
    expect([wrong.status, wrong.err]).toEqual([2, expect.stringMatching(/Nothing here is called “mood”/)]);
    expect(rouse("", "why", "--apart", "--sees", "garbage").out).toMatch(/% {2}bit rate of stage terminal/);
    expect(log().length).toBe(before);
  });

  it("asks test by test, bears nonsense, and hears what was not asked", () => {
    const typed = "dark screen\nnonsense\nother\nother 2\n?\nundo\n+12 V = 0 V\n\n";
    const { status, out } = rouse(typed, "why", "--ask", "--fresh");
    expect(status).toBe(0);
    expect(out).toMatch(/▲ “nonsense” is no outcome of/);
    expect(out).toMatch(/ {2}2 {3}Type at stage terminal in local mode/);
    expect(out).toMatch(/Measure \+12 V on the board: 0 V: nothing, or near it/);
    const kept = log().slice(-5);
    expect(kept.map(({ what, test, outcomes }) => [what, test, outcomes])).toEqual([
      ["fresh", undefined, undefined],
      ["answer", "screen", ["dark"]],
      ["answer", "local", []],
      ["undo", undefined, undefined],
      ["answer", "rail/+12 V", ["none"]],
    ]);
  });

  it("begins where a step of the run book failed, and lists what there is", () => {
    const { out } = rouse("", "why", "--apart", "--from", "supply-on-load/+5 V");
    expect(out).toContain("The test you asked for\nMeasure +5 V on the board");
    expect(rouse("", "why", "--from", "nowhere").status).toBe(2);
    const list = rouse("", "why", "--list").out;
    expect(list).toContain("“banner but no login”");
    expect(list).toMatch(/ripple\/\+5 V: Measure the ripple on \+5 V\n +good \| large \| a reading/);
  });
});
