import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readReport } from "./read.ts";

const WHOLE = [
  "BEGIN 4F78",
  "A: MARCH C- OVER MAIN MEMORY",
  "A3 GF7 WFF A1234",
  "A3 X0001",
  "A BAD",
  "B: EVERY BANK OF WINDOW THERE ONCE",
  "B1 G02 W00 AC000 N00",
  "B BAD",
  "C: SUMS OF THE ROMS",
  "C1 G12F0 W1234",
  "C BAD",
  "D: THE LATCH OF WINDOW",
  "D GOOD",
  "END BAD",
];

const READ = {
  id: "4F78",
  verdicts: [
    { test: "A", good: false },
    { test: "B", good: false },
    { test: "C", good: false },
    { test: "D", good: true },
  ],
  findings: [
    { test: "A", element: 3, got: 0xf7, wanted: 0xff, address: 0x1234 },
    { test: "B", element: 1, got: 2, wanted: 0, address: 0xc000, view: 0 },
    { test: "C", element: 1, got: 0x12f0, wanted: 0x1234 },
  ],
  counts: [{ test: "A", element: 3, count: 1 }],
  end: "bad",
  unread: [],
};

describe("readReport", () => {
  it("reads a report as a program prints it", () => {
    expect(readReport(WHOLE.join("\r\n"))).toEqual(READ);
  });

  it("reads it as a person types it: small letters, O for 0 and l for 1, fields in any order, words between", () => {
    const typed = [
      "begin 4f78",
      "so it began",
      "a3  a1234 gf7 wff",
      "a3 xooo1",
      "A bad",
      "",
      "b1 g02 w00 aC000 noo",
      "B BAD",
    ];
    const rest = ["c1 gl2f0 w1234", "c bad", "D good", "  END BAD", "and that was all"];
    expect(readReport([...typed, ...rest].join("\n"))).toEqual(READ);
  });

  it("reads it with the parity bits still on", () => {
    const even = [...WHOLE.join("\r\n")].map((each) => {
      const code = each.charCodeAt(0);
      const ones = [...code.toString(2)].filter((bit) => bit === "1").length;
      return String.fromCharCode(code | ((ones % 2) << 7));
    });
    expect(readReport(even.join(""))).toEqual(READ);
  });

  it("lists lines that begin like a report's and are spoilt, and tells when the end is missing", () => {
    const report = readReport("A3 GF7 WFF A12\r\nA3 GF7 WFF A123\r\nA3 GQ7 WFF A1234\r\n");
    expect(report.unread).toEqual(["A3 GF7 WFF A123", "A3 GQ7 WFF A1234"]);
    expect(report.end).toBeUndefined();
    expect(report.id).toBeUndefined();
  });

  it("takes any text at all", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary" }), (text) => {
        readReport(text);
      }),
    );
  });

  it("finds its lines between any other lines", () => {
    const other = fc.string({ unit: "grapheme-ascii" }).map((each) => `> ${each.replaceAll(/[A-Za-z]/g, ".")}`);
    fc.assert(
      fc.property(fc.array(other, { minLength: WHOLE.length, maxLength: WHOLE.length }), (between) => {
        const text = WHOLE.flatMap((each, index) => [between[index]!, each]).join("\r\n");
        expect(readReport(text)).toEqual(READ);
      }),
    );
  });
});
