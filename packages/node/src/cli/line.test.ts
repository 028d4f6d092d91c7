import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROOT = fileURLToPath(new URL("../../../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
let folder: string;

function rouse(...args: readonly string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, ...args], { cwd: folder, encoding: "utf8" });
  return { status, out: stdout, err: stderr };
}

const BENCH = `rouse: 1
name: a line
ports:
  console: { uart: '16450', at: $3F8, clock: 1.8432 MHz, divisor: 12, format: 8N1, connector: DB-25, role: DTE, levels: V.28, handshake: none }
  spare: { uart: MC6850, connector: DB-25, role: DTE }
terminals:
  screen: { rate: 9600 bit/s, format: 8N1, columns: 80, rows: 24, connector: DE-9, role: DTE, levels: V.28, handshake: none }
cables:
  long one: { from: console, to: screen, kind: straight }
`;

/** A value change dump of 8N1 characters at 4,800 bit/s. */
function dump(text: string): string {
  const lines = ["$timescale 1 us $end $var wire 1 ! tx $end $enddefinitions $end", "#0 1!"];
  let time = 5000;
  let level = 1;
  for (const character of text) {
    const code = character.charCodeAt(0);
    for (const bit of [0, ...Array.from({ length: 8 }, (_, index) => (code >> index) & 1), 1]) {
      if (bit !== level) lines.push(`#${Math.round(time)} ${bit}!`);
      level = bit;
      time += 1e6 / 4800;
    }
  }
  return `${lines.join("\n")}\n`;
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-line-"));
  mkdirSync(join(folder, "job/images"), { recursive: true });
  writeFileSync(join(folder, "job/bench.yaml"), BENCH);
  writeFileSync(join(folder, "tx.vcd"), dump("Tern 1.2 ready\r\nlogin: "));
  writeFileSync(join(folder, "flat.csv"), "0,1\n1,1\n");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse rates", () => {
  it("lists rates with errors, marks the bench's own, and prints its register writes", () => {
    const { status, out } = rouse("rates", "job", "console");
    expect(status).toBe(0);
    expect(out).toMatch(/→ ● 9,600 +9,600 bit\/s +\+0 % +divisor 12/);
    expect(out).toMatch(/● 2,000 +1,986\.21 bit\/s +−0\.69 % +divisor 58/);
    expect(out).toMatch(/\$03FB +line control +\$83/);
    expect(out).toContain("the last bit is sampled at 50 % of it");
    expect(out).toContain("a screen painted 2 s");
  });

  it("prints the same for machines, for another frame", () => {
    const { ports } = JSON.parse(rouse("rates", "job", "console", "--format", "7E1", "--json").out);
    expect(ports[0]).toMatchObject({ port: "console", frame: "7E1" });
    expect(ports[0].rates.find((each: { rate: number }) => each.rate === 300)).toMatchObject({
      error: 0,
      setting: { divisor: 384 },
    });
  });

  it("ends with 2 and names the missing key, or the ports there are", () => {
    expect(rouse("rates", "job", "spare")).toMatchObject({
      status: 2,
      err: expect.stringContaining("ports.spare.clock"),
    });
    expect(rouse("rates", "job", "nowhere")).toMatchObject({
      status: 2,
      err: expect.stringContaining("“console”, “spare”"),
    });
  });
});

describe("rouse cable", () => {
  it("ends with 1 and tells in words what the wrong cable does", () => {
    const { status, out } = rouse("cable", "job");
    expect(status).toBe(1);
    expect(out).toContain("drive the same wire");
    expect(out).toContain("must beep");
  });

  it("designs the cable, draws it, and writes over nothing unasked", () => {
    const { status, out } = rouse("cable", "job", "--design", "--handshake", "--svg", "cable.svg");
    expect(status).toBe(0);
    expect(out).toContain("TxD (console 2) drives RxD (screen 2)");
    expect(out).toContain("Wire 4 – 8: RTS of console to CTS of screen");
    const svg = readFileSync(join(folder, "cable.svg"), "utf8");
    expect(svg).toMatch(/^<svg .*<\/svg>\n$/s);
    const again = rouse("cable", "job", "--design", "--svg", "cable.svg");
    expect(again).toMatchObject({ status: 2, err: expect.stringContaining("--force") });
    expect(readFileSync(join(folder, "cable.svg"), "utf8")).toBe(svg);
    expect(rouse("cable", "job", "--design", "--svg", "cable.svg", "--force").status).toBe(0);
  });

  it("gives every pair of contacts for machines", () => {
    const { cables } = JSON.parse(rouse("cable", "job", "long one", "--design", "--json").out);
    const { beep, silent } = cables[0].continuity;
    expect(beep).toHaveLength(3);
    expect(beep.length + silent.length).toBe((34 * 33) / 2);
  });
});

describe("rouse listen", () => {
  it("tells rate, frame and text of a value change dump", () => {
    const { status, out } = rouse("listen", "tx.vcd");
    expect(status).toBe(0);
    expect(out).toMatch(/4,800 bit\/s +measured 4,\d{3}\.?\d* bit\/s +8N1/);
    expect(out).toContain("Tern 1.2 ready\n  login:");
    expect(JSON.parse(rouse("listen", "tx.vcd", "--json").out).answers[0]).toMatchObject({
      standardRate: 4800,
      frame: "8N1",
      inverted: false,
    });
  });

  it("ends with 2 and one sentence where there is nothing to hear", () => {
    expect(rouse("listen", "flat.csv")).toMatchObject({
      status: 2,
      out: "",
      err: expect.stringContaining("hardly changes"),
    });
    expect(rouse("listen", "tx.vcd", "--signal", "rx")).toMatchObject({
      status: 2,
      err: expect.stringContaining("there is “tx”"),
    });
    expect(rouse("listen")).toMatchObject({ status: 2 });
  });
});
