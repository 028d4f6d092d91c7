import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { makeProgram, runPlainly } from "@rouse/core/diagnose";
import { memoryMapOf } from "@rouse/core/memory";
import { captureHead, captureLine } from "@rouse/core/show";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { verb as prove } from "./prove.ts";
import { verb as suspects } from "./suspects.ts";
import type { Verb } from "./verb.ts";

const BENCH = `rouse: 1
name: a small bench
computer:
  name: small
  mains: inside
  cpu: { part: MC68A09E, clock: 1.5 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 256 bytes, chips: 2102, places: [U20, U21, U22, U23, U24, U25, U26, U27] }
    monitor: { kind: rom, at: $E000, size: 7936 bytes, file: images/monitor.rom, chips: 2764, places: [U12] }
    ports: { kind: io, at: $FF00, size: 128 bytes }
    vectors: { kind: rom, at: $FF80, size: 128 bytes, file: images/vectors.rom, shares: monitor, offset: $1F80 }
ports:
  console: { uart: MC6850, at: $FF00, clock: 1.8432 MHz, divide: 48, ratio: 16, format: 8N1, connector: DB-25, role: DTE, levels: V.28 }
`;

let folder: string;

async function run(verb: Verb, positionals: readonly string[], values: Record<string, unknown>) {
  const lines: string[] = [];
  const out = { line: (text = "") => lines.push(text), width: 100, colour: false };
  const code = await verb.run({ positionals: [folder, ...positionals], values }, out);
  return { code, text: lines.join("\n") };
}

/** What the machine prints with bit 3 of the byte at 42 stuck at 1. */
function printed(): string {
  const { bench } = readBench(BENCH, loadCatalogue());
  const program = makeProgram(bench!, { tests: ["mats+"] });
  const fault = { on: "cells", part: "main", fault: { kind: "stuck", cell: 0x42 * 8 + 3, value: 1 } } as const;
  return runPlainly(memoryMapOf(bench!)!, program, fault, 2 ** 30).report;
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-suspects-"));
  writeFileSync(join(folder, "bench.yaml"), BENCH);
  writeFileSync(join(folder, "report.txt"), `\u0000noise\r\n${printed()}`, "latin1");
  const head = captureHead({ started: "2026-01-01T00:00:00Z", port: "a line", rate: 2400, frame: "8N1" });
  const bytes = Uint8Array.from(printed(), (each) => each.charCodeAt(0));
  const half = bytes.length >> 1;
  writeFileSync(
    join(folder, "session.jsonl"),
    head + captureLine({ t: 1, in: bytes.subarray(0, half) }) + captureLine({ t: 2, in: bytes.subarray(half) }),
  );
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse suspects", () => {
  it.each(["report.txt", "session.jsonl"])(
    "names the chip from %s, and what to do next, cautions first",
    async (file) => {
      const { code, text } = await run(suspects, [join(folder, file)], { test: "mats+" });
      expect(code).toBe(1);
      expect(text).toMatch(
        /^Parts that may be bad, the likeliest first\n +1 +U23 \(2102: bit 3 of main\) +a bad cell +100 %/,
      );
      expect(text.indexOf("mains inside")).toBeLessThan(text.indexOf("Exchange U23 and U24"));
      expect(text).toContain("the wrong bit is now the other chip's: U23 is bad");
    },
  );

  it("takes lines as they are typed, for machines too", async () => {
    const { code, text } = await run(suspects, [], {
      test: "mats+",
      line: ["a2 g08 w00 a0042", "A2 X0001"],
      json: true,
    });
    expect(code).toBe(1);
    const read = JSON.parse(text);
    expect(read).toMatchObject({ format: "rouse-suspects", report: { findings: [{ address: 0x42, got: 8 }] } });
    expect(read.suspects[0].suspect).toMatchObject({ kind: "chip", place: "U23" });
    expect(read.next.title).toContain("U23");
  });

  it("is content with a good report", async () => {
    expect(await run(suspects, [], { test: "mats+", line: ["A GOOD", "END GOOD"] })).toMatchObject({
      code: 0,
      text: "The report is good: these tests found nothing.",
    });
  });

  it("refuses the report of another program, and no report", async () => {
    await expect(run(suspects, [join(folder, "report.txt")], { test: "march-b" })).rejects.toThrow(
      /The report is from the program [0-9A-F]{4}/,
    );
    await expect(run(suspects, [], {})).rejects.toThrow(/Name the file with the report/);
  });
});

describe("rouse prove", () => {
  it("prints what is found beside what the literature proves", async () => {
    const { code, text } = await run(prove, [], { test: "mats+", cells: "4", lines: "4" });
    expect(code).toBe(0);
    expect(text).toMatch(/SAF +stuck-at cells +4 +100 % +proved +100 % +100 %/);
    expect(text).toMatch(/CFid +idempotent coupling +4 +\d+ % +none/);
    expect(text).toMatch(/chip +\d/);
  });

  it("gives the same sample for the same seed", async () => {
    const values = { test: "mats+", cells: "2", lines: "0", json: true };
    const [one, two, other] = [
      await run(prove, [], values),
      await run(prove, [], values),
      await run(prove, [], { ...values, seed: "2" }),
    ];
    expect(one.text).toBe(two.text);
    expect(JSON.parse(other.text).seed).toBe(2);
    await expect(run(prove, [], { cells: "many" })).rejects.toThrow(/--cells is a whole number/);
  });
});
