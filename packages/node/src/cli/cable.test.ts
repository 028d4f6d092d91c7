import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROUSE = join(fileURLToPath(new URL("../../../..", import.meta.url)), "packages/node/bin/rouse.js");
let folder: string;

function rouse(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, ...args], { cwd: folder, encoding: "utf8" });
  return { status, out: stdout, err: stderr };
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-cable-"));
  const end = "connector: DE-9, role: DTE, levels: V.28, handshake: none";
  writeFileSync(
    join(folder, "bench.yaml"),
    `rouse: 1\nname: x\nports: { p: { ${end} } }\nterminals: { t: { ${end} } }\ncables: { c: { kind: straight, from: p, to: t }, d: { kind: "three wires, crossed", from: p, to: t } }\n`,
  );
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse cable", () => {
  it("says what stops a cable, and ends with 1", () => {
    const { status, out } = rouse("cable", ".", "c");
    expect(status).toBe(1);
    expect(out).toContain("■ what p sends (TxD) never reaches what t listens to (RxD)");
  });

  it("lists what must beep, what must not, and what the list leaves to the eye", () => {
    const { status, out } = rouse("cable", ".", "d");
    expect(status).toBe(0);
    expect(out).toContain("    p 2 – t 3\n    p 3 – t 2\n    p 5 – t 5\n");
    expect(out).toContain("    p 2 against p 1, 3–9; t 1, 4, 6–9\n");
    expect(out).toContain("Between contacts without a wire, look for solder that joins neighbours.");
    // Of 18 contacts 153 pairs, of which three beep.
    expect(out).toMatch(/150 pairs must not beep in\s+all/);
    const [cable] = JSON.parse(rouse("cable", ".", "d", "--json").out).cables;
    expect(cable.continuity.silent).toHaveLength(150);
    expect(rouse("cable", ".", "c").out).not.toContain("without a wire");
  });

  it("designs a cable and draws it, and writes over no file unless told", () => {
    const made = rouse("cable", ".", "c", "--design", "--svg", "made.svg");
    expect(made.status).toBe(0);
    expect(made.out).toContain("Wire 3 – 2: TxD of p to RxD of t, data.");
    expect(readFileSync(join(folder, "made.svg"), "utf8")).toContain("p 3 TxD");
    const again = rouse("cable", ".", "d", "--svg", "made.svg");
    expect(again).toMatchObject({ status: 2, err: expect.stringContaining("--force writes over it") });
    expect(rouse("cable", ".", "d", "--svg", "made.svg", "--force").status).toBe(0);
  });

  it("meets a wrong name and two cables for one drawing in one sentence", () => {
    for (const args of [["q"], ["--svg", "x.svg"]]) {
      const { status, err } = rouse("cable", ".", ...args);
      expect(status).toBe(2);
      expect(err.trim().split("\n")).toHaveLength(1);
    }
  });
});
