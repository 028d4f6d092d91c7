import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBench } from "../../bench/index.ts";
import { loadCatalogue } from "../../catalogue/index.ts";
import { memoryMapOf } from "../../memory/index.ts";
import { runPlainly } from "../fault/pruned.ts";
import { makeProgram } from "../program/make.ts";
import { readReport } from "../report/read.ts";
import { nextMeasurement } from "./measure.ts";
import { rankSuspects } from "./rank.ts";

const { bench } = readBench(
  `rouse: 1
name: small
computer:
  cpu: { part: MC68A09E, clock: 1.5 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 64 bytes, chips: 2102, places: [U20, U21, U22, U23, U24, U25, U26, U27] }
    window: { kind: window, at: $C000, size: 32 bytes, banks: 4, chips: 2102, latch: { at: $FF7F, bits: 2, powerOn: 0 } }
    monitor: { kind: rom, at: $E000, size: 7936 bytes, file: monitor.rom }
    ports: { kind: io, at: $FF00, size: 128 bytes }
    vectors: { kind: rom, at: $FF80, size: 128 bytes, file: vectors.rom, shares: monitor, offset: $1F80 }
ports:
  console: { uart: MC6850, at: $FF00, clock: 1.8432 MHz, divide: 48, ratio: 16, format: 8N1, connector: DB-25, role: DTE, levels: V.28 }
`,
  loadCatalogue(),
);
const program = makeProgram(bench!, { tests: ["march-c-", "banks"], over: ["main", "banks"] });
const rank = (...lines: string[]) => rankSuspects(bench!, program, readReport(lines.join("\n")));

describe("rankSuspects", () => {
  it("names a chip for one wrong bit of one byte", () => {
    const [first] = rank("A2 G20 W00 A0011", "A2 X0001", "A4 G20 W00 A0011", "A4 X0001", "A BAD");
    expect(first).toMatchObject({ suspect: { place: "U25", bits: 0x20 } });
    expect(first!.fit).toBeGreaterThan(0.8);
  });

  it("tells a bank latch's output from everything else, from what the program prints with it", () => {
    const fault = { on: "map", fault: { kind: "latch", latch: "window", bit: 0, value: 0 } } as const;
    const { report } = runPlainly(memoryMapOf(bench!)!, program, fault, 2 ** 30);
    expect(rank(report)[0]).toMatchObject({ suspect: { id: "latch window 0" }, how: "always 0" });
  });

  it("gives the same measurement for the same report", () => {
    const ranked = rank("A2 G20 W00 A0011");
    expect(nextMeasurement(bench!, ranked)).toEqual(nextMeasurement(bench!, ranked));
    expect(nextMeasurement(bench!, ranked)!.results.length).toBeGreaterThan(1);
  });

  it("bears any report at all", () => {
    const finding = fc.record(
      {
        test: fc.constantFrom("A", "B", "C", "Z"),
        element: fc.integer({ min: 0, max: 40 }),
        address: fc.integer({ min: 0, max: 0xffff }),
        view: fc.integer({ min: 0, max: 255 }),
        wanted: fc.integer({ min: 0, max: 255 }),
        got: fc.integer({ min: 0, max: 255 }),
      },
      { requiredKeys: ["test", "element"] },
    );
    fc.assert(
      fc.property(fc.array(finding, { maxLength: 12 }), (findings) => {
        const ranked = rankSuspects(bench!, program, { findings, verdicts: [], counts: [], unread: [] });
        for (const { fit } of ranked) expect(fit).toBeGreaterThanOrEqual(0);
        expect(ranked).toEqual([...ranked].sort((a, b) => b.fit - a.fit));
      }),
      { numRuns: 10, seed: 1 },
    );
  });
});
