/**
 * Marches against what the literature says that they detect: the table of facts kept with this project, after van de Goor, Using
 * March Tests to Test SRAMs, IEEE Design & Test of Computers 10(1), 1993, and Testing Semiconductor Memories, 1991 (both from
 * memory). Every fault of a class is tried on four cells of one bit, from every start, ⇕ both ways.
 */
import {
  BACKGROUNDS,
  coverageOf,
  type FaultClass,
  MARCHES,
  marchOf,
  PROVED,
  RETENTION,
  SINGLE_BITS,
} from "@rouse/core/diagnose";
import { describe, expect, it } from "vitest";

const COLUMNS: readonly FaultClass[] = ["SAF", "TF", "AF", "CFin", "CFid", "CFst", "SOF"];

// Y: every fault of the class; part: some that a first sight would think proved; –: not every one.
const TABLE: readonly [string, number, string][] = [
  ["mats", 4, "Y – part – – – –"],
  ["mats+", 5, "Y – Y – – – –"],
  ["mats++", 6, "Y Y Y – – – Y"],
  ["march-x", 6, "Y Y Y Y – – –"],
  ["march-y", 8, "Y Y Y Y – – Y"],
  ["march-c-", 10, "Y Y Y Y Y Y –"],
  ["march-b", 17, "Y Y Y Y Y Y Y"],
];

describe("marches on single bits", () => {
  it.each(TABLE)("%s of %in detects what the table says", (id, length, row) => {
    const march = marchOf(id);
    expect(march.length).toBe(length);
    const found = coverageOf(march, SINGLE_BITS, COLUMNS);
    const marks = row.split(" ");
    expect(found.map(({ faults, found: seen }) => seen === faults)).toEqual(marks.map((mark) => mark === "Y"));
    for (const [index, mark] of marks.entries())
      if (mark === "part") expect(found[index]!.found).toBeGreaterThan(found[index]!.faults / 2);
  });

  it.each([...MARCHES, RETENTION].map((march) => [march.title, march] as const))(
    "%s finds every fault of the classes it is proved for",
    (_, march) => {
      const claims = PROVED[march.id]!;
      const proved = Object.keys(claims).filter((each) => claims[each as FaultClass] === "proved") as FaultClass[];
      expect(proved.length).toBeGreaterThan(0);
      for (const { class: name, faults, found } of coverageOf(march, SINGLE_BITS, proved))
        expect([name, found]).toEqual([name, faults]);
    },
  );

  it("finds leaking cells with the pauses of March G, and with none of the others", () => {
    for (const march of MARCHES) {
      const [leaks] = coverageOf(march, SINGLE_BITS, ["DRF"]);
      expect([march.id, leaks!.found]).toEqual([march.id, march.id === "march-g" ? leaks!.faults : 0]);
    }
  });
});

// Source: van de Goor's rule that a word of w bits needs ⌈log₂ w⌉ + 1 backgrounds (from memory): couplings within a byte.
describe("marches on bytes", () => {
  const bytes = (backgrounds: readonly number[]) =>
    coverageOf(marchOf("march-c-"), { words: 2, width: 8, backgrounds }, ["CFin", "CFid", "CFst", "BF"]);

  it("find every coupling within a byte with four backgrounds", () => {
    for (const { class: name, faults, found } of bytes(BACKGROUNDS)) expect([name, found]).toEqual([name, faults]);
  });

  it("miss some with any three of them", () => {
    for (const left of BACKGROUNDS.slice(1)) {
      const some = bytes(BACKGROUNDS.filter((each) => each !== left));
      expect(some.some(({ faults, found }) => found < faults)).toBe(true);
    }
  });
});
