import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { verb } from "./diag.ts";

const BENCH = `rouse: 1
name: a small bench
computer:
  name: Larkfield 1
  cpu: { part: MC6809E, clock: 1 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 4 KiB }
    window: { kind: window, at: $4000, size: 256 bytes, banks: 4, latch: { at: $D000, bits: 2 } }
    devices: { kind: io, at: $D000, size: 256 bytes }
    monitor: { kind: rom, at: $F800, size: 2 KiB, chips: 2716 }
ports:
  console: { uart: MC6850, at: $D010, clock: 1.8432 MHz, divide: 12, ratio: 16, format: 8N1 }
`;

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-diag-"));
  writeFileSync(join(folder, "bench.yaml"), BENCH);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function run(values: Record<string, unknown> = {}) {
  const lines: string[] = [];
  const out = { line: (text = "") => lines.push(text), width: 100, colour: false };
  const code = await verb.run({ positionals: [folder], values }, out);
  return { code, text: lines.join("\n") };
}

describe("rouse diag", () => {
  it("says what would be tested and how long it takes, divided among EPROMs, with the caution first", async () => {
    const { code, text } = await run({ test: "mats+,banks", wait: "0.01" });
    expect(code).toBe(0);
    expect(text).toMatch(/Tests for Larkfield 1\n {2}A {2}MATS\+ over main memory +[\d.]+ s/);
    expect(text).toMatch(/C {2}Every bank of window there once/);
    expect(text).toMatch(/from \$F800, in the monitor's place\. It speaks through console/);
    expect(text).toMatch(/Takes [\d.]+ s on this bench if nothing is wrong/);
    expect(text.startsWith("Caution, static and power")).toBe(true);
    const all = await run({ wait: "0.01" });
    expect(all.text).toMatch(/Tests for Larkfield 1, 1 of \d/);
    expect(all.text).not.toContain("finds something");
  });

  it("writes every form once, and never over a file", async () => {
    const target = join(folder, "tests");
    const { text } = await run({ test: "mats", over: "main", at: "$0800", "type-in": "data", out: target });
    expect(text).toContain("start it at $0800");
    expect(text).toMatch(/leaves out \$0800–\$0[A-F]FF, where this program lies/);
    const names = ["tests-data.txt", "tests.asm", "tests.bin", "tests.hex", "tests.lst", "tests.srec"];
    expect(readdirSync(target).sort()).toEqual(names);
    expect(readFileSync(join(target, "tests.asm"), "utf8")).toContain("Element 2: ⇕(r0,w1)");
    rmSync(join(target, "tests.asm"));
    await expect(run({ test: "mats", out: target })).rejects.toThrow("is there already; nothing was written");
    expect(existsSync(join(target, "tests.asm"))).toBe(false);
  });

  it("makes an image of the size that is asked for", async () => {
    const target = join(folder, "large");
    await run({ test: "mats", over: "main", eprom: "2764", out: target });
    expect(readFileSync(join(target, "tests.rom"))).toHaveLength(8192);
  });

  it("prints the same for machines", async () => {
    const { text } = await run({ test: "march-c-", over: "banks", json: true });
    const printed = JSON.parse(text);
    expect(printed).toMatchObject({
      format: "rouse-diagnostics",
      version: 1,
      programs: [
        {
          cpu: "6809",
          place: "eprom",
          ended: true,
          tests: [{ letter: "A", march: "march-c-", memory: { name: "window", bytes: 1024 } }],
        },
      ],
    });
    expect(printed.programs[0].tests[0].seconds).toBeGreaterThan(0.5);
  });

  it("refuses what there is not, in one sentence", async () => {
    await expect(run({ test: "mats", out: join(folder, "bench.yaml") })).rejects.toThrow(
      /cannot be made a folder: a file stands there/,
    );
    await expect(run({ test: "mats", at: "$0FFF" })).rejects.toThrow(/choose fewer tests, or another place/);
    await expect(run({ test: "march-d" })).rejects.toThrow("“march-d” is no test");
    await expect(run({ over: "stack" })).rejects.toThrow("there is main, banks, translation");
    await expect(run({ eprom: "4164" })).rejects.toThrow("no EPROM of the catalogue");
    await expect(run({ "type-in": "hex" })).rejects.toThrow("say --memory or --at");
    await expect(run({ eprom: "2716", at: "$0800" })).rejects.toThrow("into an EPROM (--eprom) or into memory");
    await expect(run({ at: "$C000" })).rejects.toThrow("There is no memory at $C000");
    await expect(run({ port: "printer" })).rejects.toThrow("there is console");
    await expect(run({ wait: "long" })).rejects.toThrow("no number of seconds");
    writeFileSync(join(folder, "bench.yaml"), BENCH.replace(/ports:[\s\S]*/, ""));
    await expect(run({ test: "mats" })).rejects.toThrow("needs a serial port to speak through");
    writeFileSync(join(folder, "bench.yaml"), "rouse: 1\nname: x\n");
    await expect(run({ test: "mats" })).rejects.toThrow("computer.memory");
    writeFileSync(join(folder, "bench.yaml"), BENCH);
  });
});
