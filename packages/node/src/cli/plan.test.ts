import { spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROOT = fileURLToPath(new URL("../../../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
let folder: string;

function rouse(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, ...args], { cwd: folder, encoding: "utf8" });
  return { status, out: stdout, err: stderr };
}
const RAIL = "supply-off-load/+5 V";

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-plan-"));
  mkdirSync(join(folder, "job/captures"), { recursive: true });
  cpSync(join(ROOT, "demo/mended/bench.yaml"), join(folder, "job/bench.yaml"));
  writeFileSync(join(folder, "job/captures/photo.txt"), "abc");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse plan", () => {
  it("compares a reading, keeps one outside, and ticks with one inside", () => {
    const outside = rouse("plan", "job", "--tick", RAIL, "--reading", "5.6 V");
    expect(outside.out).toContain("■ rail +5 V at 5.6 V is outside 4.75 V to 5.25 V.");
    expect(outside.status).toBe(1);
    expect(outside.out).toContain(`▲ \`rouse why JOB --from "${RAIL}"\` goes on from here`);
    expect(rouse("why", "job", "--from", RAIL, "--apart")).toMatchObject({ status: 0 });
    expect(rouse("plan", "job", "--tick", RAIL).err).toContain("asks for a reading");
    const inside = rouse("plan", "job", "--tick", RAIL, "--reading", "5.02 V", "--note", "after a minute");
    expect(inside.status).toBe(0);
    expect(inside.out).toContain(`● Measure +5 V off load  ${RAIL}`);
    const log = readFileSync(join(folder, "job/log.jsonl"), "utf8")
      .trim()
      .split("\n")
      .map((each) => JSON.parse(each));
    expect(log.map(({ what, reading }) => [what, reading])).toEqual([
      ["reading", "5.6 V"],
      ["tick", "5.02 V"],
    ]);
  });

  it("takes a value that begins with a minus, and a number alone in the step's own unit", () => {
    const reads = (value: string) => rouse("plan", "job", "--tick", "supply-off-load/-12 V", "--reading", value).out;
    expect(reads("-12.1 V")).toContain("● rail -12 V at −12.1 V is within");
    expect(reads("-13")).toContain("■ rail -12 V at −13 V is outside");
    expect(reads("−11.9")).toContain("● rail -12 V at −11.9 V is within");
    expect(readFileSync(join(folder, "job/log.jsonl"), "utf8")).toContain('"reading":"-13 V"');
  });

  it("keeps a file with its hash, and takes none from outside the job", () => {
    rouse("plan", "job", "--at", "inspect-case", "--file", "captures/photo.txt");
    const steps = JSON.parse(rouse("plan", "job", "--json").out).steps as {
      id: string;
      evidence: { file?: object }[];
    }[];
    // SHA-256 of "abc": FIPS 180-4, example.
    expect(steps.find((each) => each.id === "inspect-case")!.evidence[0]!.file).toEqual({
      path: "captures/photo.txt",
      sha256: "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
    });
    expect(rouse("plan", "job", "--at", "inspect-case", "--file", "../secret").status).toBe(2);
  });

  it("marks what no longer holds when the bench file changes", () => {
    const path = join(folder, "job/bench.yaml");
    writeFileSync(path, readFileSync(path, "utf8").replace("voltage: 5 V ± 5 %", "voltage: 5.1 V ± 3 %"));
    expect(rouse("plan", "job").out).toContain("▲ Measure +5 V off load (no longer holds)");
  });

  it("suggests the step that was meant, and writes a checklist once", () => {
    expect(rouse("plan", "job", "--tick", "inspect-cases").err).toContain("did you mean “inspect-case”?");
    expect(rouse("plan", "job", "--paper", "list.html").status).toBe(0);
    expect(readFileSync(join(folder, "list.html"), "utf8")).toContain("<h1>Larkfield 9, mended: run book</h1>");
    expect(rouse("plan", "job", "--paper", "list.html").err).toContain("is there already");
  });
});
