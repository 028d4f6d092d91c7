/**
 * The fault dictionary against faults that are really there: each is put into the simulated machine, the real program runs on the
 * simulated CPU, and from nothing but what it printed the part has to be named. The aims are those of issue 5. A seeded sample on a
 * small bench; checks/diagnose/soak.ts does the demo bench, and all lines.
 */
import {
  CLASSES,
  FAULT_CLASSES,
  makeProgram,
  nextMeasurement,
  prove,
  rankSuspects,
  readReport,
  runPlainly,
} from "@rouse/core/diagnose";
import { memoryMapOf } from "@rouse/core/memory";
import { describe, expect, it } from "vitest";
import { smallBench } from "./small.ts";

const bench = smallBench();
const map = memoryMapOf(bench)!;
const program = makeProgram(bench, {
  tests: ["march-c-", "address", "banks", "latches"],
  over: ["main", "banks"],
  seconds: 0.05,
});

describe("the fault dictionary", () => {
  it("names the right part first for 95 % of single faults, and among the first three for 99 %", () => {
    const missed: string[] = [];
    const classes = FAULT_CLASSES.filter((each) => each !== "SOF" && each !== "DRF");
    const proof = prove(bench, program, { cells: 3, classes, lines: 19, seed: 5 });
    let step = proof.next();
    for (; !step.done; step = proof.next())
      if (step.value.place !== 0) missed.push(`${step.value.fault.title}: ${step.value.place}`);
    const rows = step.value;
    const sum = (key: "faults" | "found" | "first" | "inThree") => rows.reduce((total, row) => total + row[key], 0);
    expect(sum("faults")).toBe(40);
    expect(sum("found")).toBe(40);
    expect(missed).toEqual([]);
    expect(sum("first") / 40).toBeGreaterThanOrEqual(0.95);
    expect(sum("inThree") / 40).toBeGreaterThanOrEqual(0.99);
    // Every class of cells that March C− is proved for was found whole, and says so.
    for (const row of rows.filter(({ group }) => group !== "BF" && group in CLASSES))
      expect(row).toMatchObject({ claim: "proved", found: row.faults });
  });

  it("is tried with bad cells where the marches go, and nowhere else", () => {
    const short = makeProgram(bench, { tests: ["mats"], over: ["main"] });
    const faults: string[] = [];
    const proof = prove(bench, short, { cells: 20, classes: ["SAF"], lines: 0 });
    let step = proof.next();
    for (; !step.done; step = proof.next()) faults.push(step.value.fault.suspect.part!);
    expect(faults).toEqual(Array.from({ length: 20 }, () => "main"));
    expect(step.value).toMatchObject([{ faults: 20, found: 20 }]);
  });

  const reportWith = (fault: Parameters<typeof runPlainly>[2]) =>
    readReport(runPlainly(map, program, fault, 2 ** 31).report);

  it("has no suspect where nothing was found", () => {
    expect(rankSuspects(bench, program, reportWith(undefined))).toEqual([]);
    expect(nextMeasurement(bench, [])).toBeUndefined();
  });

  it("reads what a person typed, with half of it left out", () => {
    const whole = reportWith({ on: "cells", part: "main", fault: { kind: "stuck", cell: 0x42 * 8 + 3, value: 1 } });
    const some = readReport(
      whole.findings
        .slice(0, 2)
        .map(
          ({ test, element, address, wanted, got }) =>
            `${test}${element} a${address!.toString(16).padStart(4, "0")} w${wanted!.toString(16).padStart(2, "0")} g${got!.toString(16).padStart(2, "0")}`,
        )
        .join("\n"),
    );
    expect(some.findings).toHaveLength(2);
    expect(rankSuspects(bench, program, some)[0]!.suspect).toMatchObject({
      kind: "chip",
      place: "U23",
      part: "main",
      bits: 8,
    });
  });

  it("says what to do next with the chip, how to tell it from its line, and what can be hurt", () => {
    const ranked = rankSuspects(
      bench,
      program,
      reportWith({ on: "lines", part: "window", fault: { kind: "data", bits: 16, value: 0 } }),
    );
    expect(ranked[0]).toMatchObject({ how: "output always 0", suspect: { place: "U34" } });
    const next = nextMeasurement(bench, ranked)!;
    expect(next.title).toMatch(/^Exchange U34 and U35/);
    expect(next.results.map(({ means }) => means).join(" ")).toContain("U34 is bad");
    expect(next.cautions.join(" ")).toMatch(/static/);
  });
});
