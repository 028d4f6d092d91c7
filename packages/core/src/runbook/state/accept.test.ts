import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../../errors/index.ts";
import type { RunBook, Step } from "../types.ts";
import { acceptEntry, evidenceIn, stateOf } from "./index.ts";

const step = (id: string, more: Partial<Step> = {}): Step => ({
  id,
  stage: "supply",
  title: id,
  why: "",
  how: [],
  expected: "",
  tools: [],
  time: { seconds: 60, from: "usual" },
  fails: { say: "", checks: [] },
  warnings: [],
  missing: [],
  basis: "0123456789abcdef",
  ...more,
});
const book: RunBook = {
  bench: "Larkfield 9",
  steps: [
    step("case"),
    step("rail", { reading: { what: "rail +5 V", dimension: "voltage", low: 4.75, high: 5.25, text: "5 V ± 5 %" } }),
  ],
};
const given = (more: object) => ({
  id: "entry-0001",
  at: "2026-06-06T10:00:00.000Z",
  step: "rail",
  basis: "0123456789abcdef",
  what: "tick",
  ...more,
});
const codeOf = (of: object): string => {
  try {
    acceptEntry({ ...of }, book);
    return "taken";
  } catch (error) {
    if (error instanceof InputError) return error.code;
    throw error;
  }
};

describe("an entry of a page", () => {
  it("ticks with a reading inside the limits, and keeps one outside without a tick", () => {
    expect(acceptEntry(given({ reading: " 5.1 V " }), book)).toMatchObject({ what: "tick", reading: "5.1 V" });
    expect(acceptEntry(given({ reading: "4.2 V" }), book)).toMatchObject({ what: "reading", reading: "4.2 V" });
    expect(codeOf(given({}))).toBe("bad-entry");
    expect(codeOf(given({ reading: "much" }))).not.toBe("taken");
    expect(codeOf(given({ step: "case", reading: "5 V" }))).toBe("bad-entry");
  });

  it("is taken as the person saw the step, though the bench has changed or lost it since", () => {
    const basis = "fedcba9876543210";
    const old = acceptEntry(given({ basis, reading: "12 V" }), book);
    expect(old).toMatchObject({ what: "tick", basis });
    const log = [{ time: "2026-06-06T11:00:00Z", entry: { ...old } }];
    expect(stateOf(book, log).steps[1]).toMatchObject({ state: "no longer holds" });
    expect(acceptEntry(given({ step: "gone" }), book).step).toBe("gone");
  });

  it("has its time set right by the difference of the clocks", () => {
    expect(acceptEntry(given({ step: "case" }), book, 90_000).at).toBe("2026-06-06T10:01:30.000Z");
  });

  it("is refused without a name, a time or words, or with too many; a file is never taken from it", () => {
    for (const wrong of [
      { id: "../../x" },
      { id: "short" },
      { at: "soon" },
      { basis: "x" },
      { what: "certificate" },
      { what: "note" },
      { what: "note", note: "  " },
      { what: "note", note: "x".repeat(10_001) },
      { step: "x".repeat(201) },
      { what: "reading" },
    ])
      expect(codeOf(given({ step: "case", ...wrong })), JSON.stringify(wrong)).toBe("bad-entry");
    const file = { path: "images/tern.img", sha256: "ab" };
    expect(acceptEntry(given({ what: "file", file }), book)).not.toHaveProperty("file");
  });

  it("may be anything at all", () => {
    const keys = Object.keys(given({ note: 1, reading: 1 }));
    fc.assert(
      fc.property(fc.dictionary(fc.constantFrom(...keys), fc.anything()), (any) => {
        expect(codeOf({ ...given({}), ...any })).toMatch(/^[a-z-]+$/);
      }),
      { seed: 5, numRuns: 300 },
    );
  });

  it("is all that a page needs of the log, beside certificates", () => {
    const log = [
      { time: "2026-06-06T10:00:00Z", entry: { kind: "other", secret: 1 } },
      { time: "2026-06-06T10:00:00Z", entry: { ...acceptEntry(given({ step: "case" }), book), more: 1 } },
      {
        time: "2026-06-06T10:00:00Z",
        entry: { kind: "write-certificate", verified: true, image: { sha256: "ab" }, bad: [1] },
      },
    ];
    const kept = evidenceIn(log);
    expect(kept).toHaveLength(2);
    expect(JSON.stringify(kept)).not.toMatch(/secret|more|bad/);
    expect(stateOf(book, kept)).toEqual(stateOf(book, log));
  });
});
