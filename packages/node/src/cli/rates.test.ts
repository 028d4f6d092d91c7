import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
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
  folder = mkdtempSync(join(tmpdir(), "rouse-rates-"));
  writeFileSync(
    join(folder, "bench.yaml"),
    `rouse: 1
name: x
ports:
  p: { uart: MC6850, at: $FF00, clock: 1.8432 MHz, divide: 48, ratio: 16, format: 7E1, connector: DB-25, role: DTE }
terminals:
  t: { class: screen-40-small, rate: 2400 bit/s, format: 7E1, connector: DB-25, role: DTE, buffer: 12 }
cables:
  c: { kind: null modem, from: p, to: t }
show: { banner: 720 }
`,
  );
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse rates", () => {
  it("lists rates with setting and register values, and says what needs work on the board", () => {
    const { status, out } = rouse("rates", ".", "p");
    expect(status).toBe(0);
    expect(out).toMatch(/→ ● 2,400 +2,400 bit\/s +\+0 % +divide 48, ratio 16 +\$03 \$09/);
    expect(out).toMatch(/ {2}● 600 +600 bit\/s +\+0 % +divide 48, ratio 64 +\$03 \$0A/);
    expect(out).toContain("another one means work on the board");
    expect(out).toContain("$FF00  control  $09  7E1, ÷16");
  });

  it("says where the part makes no such frame", () => {
    expect(rouse("rates", ".", "p", "--format", "7N1").out).toMatch(/■ MC6850 makes no 7N1; it makes .*8N1/);
    expect(rouse("rates", ".", "p").out).not.toContain("makes no");
  });

  it("says for how long each end may be away, and how long a screen takes", () => {
    const { out } = rouse("rates", ".");
    // 240 characters a second: 12 of them are 50 ms, a screen of 40 by 24 is 4 s.
    expect(out).toContain("t keeps 12 characters: none is lost while it is away for up to 50 ms");
    expect(out).toMatch(/p keeps \d characters?: none is lost/);
    expect(out).toContain("a screen painted 4 s");
    expect(out).toContain("a login banner of 720 characters: 3 s");
  });

  it("prints for machines all that it prints for people", () => {
    const [port] = JSON.parse(rouse("rates", ".", "--json", "--banner", "480").out).ports;
    expect(port.line).toMatchObject({
      charactersPerSecond: 240,
      sampling: { position: 0.5 },
      screen: { screen: 4 },
      banner: 2,
    });
    expect(port.line.keeps).toContainEqual({ end: "t", kept: 12, bearable: 0.05 });
  });

  it("meets a wrong port, frame and count in one sentence", () => {
    for (const args of [["q"], ["p", "--format", "9N1"], ["p", "--banner", "1.5"]]) {
      const { status, err } = rouse("rates", ".", ...args);
      expect(status).toBe(2);
      expect(err.trim().split("\n")).toHaveLength(1);
    }
  });
});
