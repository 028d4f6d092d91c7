import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Bench, readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { basisOf, fnv1a } from "./basis.ts";
import { checkReading, entryOf, makeRunBook, paperHtml, STAGES, type Step, stateOf } from "./index.ts";

const demo = (name: string) => readFileSync(new URL(`../../../../demo/${name}/bench.yaml`, import.meta.url), "utf8");
const firstTry = demo("first-try");
const mended = demo("mended");
const secondMachine = demo("second-machine");
const catalogue = loadCatalogue();
const benchOf = (text: string): Bench => {
  const { bench, issues } = readBench(text, catalogue);
  expect(issues).toEqual([]);
  return bench!;
};
const SHA = "ab".repeat(32);
const image = (name: string) => ({ name, size: 1, needs: [], sha256: SHA });
const bookOf = (text: string, name = "tern") => makeRunBook(benchOf(text), [image(name)]);
const stepOf = (text: string, id: string): Step => {
  const step = bookOf(text).steps.find((each) => each.id === id);
  expect(step, id).toBeDefined();
  return step!;
};
const logged = (entry: object, minute = 0) => ({
  time: new Date(Date.UTC(2026, 5, 6, 10, minute)).toISOString(),
  entry: entry as Record<string, unknown>,
});
const stateIn = (text: string, id: string, log: Parameters<typeof stateOf>[1]) =>
  stateOf(bookOf(text), log).steps.find((each) => each.step.id === id)!;

describe("the run book", () => {
  it.each([
    ["first-try", firstTry, "tern"],
    ["mended", mended, "tern"],
    ["second-machine", secondMachine, "system disk"],
  ])("of %s has its stages in order, names of their own, and every field filled", (_, text, name) => {
    const { steps } = bookOf(text, name);
    const order = steps.map((each) => STAGES.indexOf(each.stage));
    expect(order).toEqual([...order].sort((a, b) => a - b));
    expect(new Set(steps.map((each) => each.id)).size).toBe(steps.length);
    expect(steps[0]!.stage).toBe("cautions");
    for (const step of steps) {
      for (const text of [step.title, step.why, step.expected, step.fails.say, ...step.how])
        expect(text.length).toBeGreaterThan(3);
      expect(step.how.length).toBeGreaterThan(0);
      expect(step.time.seconds).toBeGreaterThan(0);
      expect(JSON.stringify(step)).not.toMatch(/undefined|NaN|\[object/);
    }
  });

  it("runs the bench's own test programs before memory, ROM by ROM and bank by bank, where it has a clock and a port", () => {
    const memory = (text: string) => bookOf(text).steps.filter((each) => each.stage === "memory");
    const [programs, ...rest] = memory(mended);
    expect(programs!.id).toBe("memory-programs");
    expect(programs!.expected).toContain("END GOOD");
    expect(programs!.how.join(" ")).toMatch(
      /rouse diag JOB --out[\s\S]*wrist strap[\s\S]*through console[\s\S]*cable\/terminal cable/,
    );
    expect(rest.map(({ id, how }) => [id, /rouse diag JOB ([^`]*)/.exec(how[0]!)?.[1]])).toEqual([
      ["memory/main", "--test march-c-,retention,address --over main"],
      ["memory/window", "--test march-c-,retention,banks,latches --over banks"],
      ["memory/monitor", "--test rom"],
      ["memory/vectors", "--test rom"],
    ]);
    expect(memory(mended.replace("clock: 1.5 MHz, ", "")).map(({ id }) => id)).toEqual(rest.map(({ id }) => id));
    expect(memory("rouse: 1\nname: bare\n")).toEqual([]);
  });

  it("measures each rail off load before any rail on load, with the bench's tolerance", () => {
    const rails = bookOf(mended).steps.filter((each) => each.stage === "supply");
    expect(rails.map((each) => each.id)).toEqual([
      "supply-off-load/+5 V",
      "supply-off-load/+12 V",
      "supply-off-load/-12 V",
      "supply-on-load/+5 V",
      "supply-on-load/+12 V",
      "supply-on-load/-12 V",
    ]);
    expect(rails[0]!.reading).toMatchObject({ low: 4.75, high: 5.25 });
    expect(rails[2]!.reading!.low).toBeCloseTo(-12.6, 9);
    expect(rails[2]!.reading!.high).toBeCloseTo(-11.4, 9);
  });

  it("takes an added board out again when the show is over", () => {
    const back = stepOf(mended, "put-back/translation board");
    expect(back.how.join(" ")).toContain("Put MC68A09E back at U1");
    expect(back.how.join(" ")).toContain("Set J1 back to closed");
    expect(back.how[0]).toContain("Take translation board out");
  });

  it("lists the wires that must beep: data crossed, ground straight", () => {
    const how = stepOf(mended, "cable/terminal cable").how.join(" ");
    expect(how).toContain("console 2 – stage terminal 3");
    expect(how).toContain("console 3 – stage terminal 2");
    expect(how).toContain("console 7 – stage terminal 7");
  });

  it("needs no board fitted and no window walked where the bench has none", () => {
    const { steps } = bookOf(secondMachine, "system disk");
    expect(steps.some((each) => each.stage === "fitting")).toBe(false);
    expect(steps.some((each) => each.id === "login")).toBe(false);
    expect(steps.some((each) => each.id === "boot")).toBe(true);
  });

  it("prints as one page in which nothing of the bench acts", () => {
    const text = mended.replace("name: Larkfield 9, mended", 'name: "<script>alert(1)</script>"');
    const book = bookOf(text);
    const html = paperHtml(book, stateOf(book, []).steps);
    expect(html).not.toContain("<script");
    expect(html).toContain("rouse why JOB --from &quot;supply-on-load/+5 V&quot;");
    expect(html).toContain("&lt;script&gt;alert(1)");
    expect(html).not.toMatch(/(src|href)=/);
    for (const step of book.steps) expect(html.split(step.title.replaceAll("'", "&#39;")).length).toBeGreaterThan(1);
  });
});

describe("a reading", () => {
  const wanted = { what: "rail", dimension: "voltage", low: 4.75, high: 5.25, text: "5 V ± 5 %" } as const;
  it("is taken at its limits and refused beyond them", () => {
    for (const [text, within] of [
      ["4.75 V", true],
      ["5.25 V", true],
      ["5020 mV", true],
      ["5.26 V", false],
      ["4.74 V", false],
      ["-5 V", false],
    ] as const)
      expect(checkReading(text, wanted).within, text).toBe(within);
  });
  it("agrees with the limits for every voltage", () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 20_000 }), (mv) => {
        expect(checkReading(`${mv} mV`, wanted).within).toBe(mv >= 4750 && mv <= 5250);
      }),
      { seed: 6, numRuns: 300 },
    );
  });
  it("has a unit of the right kind, or is a number alone in the unit of the step", () => {
    expect(checkReading("5.02", wanted)).toEqual(checkReading("5.02 V", wanted));
    expect(checkReading("5020", wanted).within).toBe(false);
    expect(() => checkReading("about 5", wanted)).toThrow(/5/);
    expect(() => checkReading("5 A", wanted)).toThrow(/current/);
  });
});

describe("the state of a step", () => {
  const RAIL = "supply-off-load/+5 V";
  const rail = stepOf(mended, RAIL);
  const tick = entryOf(rail, { what: "tick", reading: "5.02 V" });

  it("is done with a reading inside its limits, and asks for one", () => {
    expect(tick.within).toBe(true);
    expect(stateIn(mended, RAIL, [logged(tick.entry)]).state).toBe("done");
    expect(() => entryOf(rail, { what: "tick" })).toThrow(/asks for a reading/);
    expect(stateIn(mended, RAIL, [logged({ ...tick.entry, reading: undefined })]).state).toBe("open");
  });

  it("stays open with a reading outside, and keeps it", () => {
    const { entry, within } = entryOf(rail, { what: "tick", reading: "5.4 V" });
    expect(within).toBe(false);
    const { state, evidence } = stateIn(mended, RAIL, [logged(entry)]);
    expect(state).toBe("open");
    expect(evidence[0]!.reading).toEqual({ text: "5.4 V", within: false });
  });

  it("no longer holds when the rail changes, and holds when only words or other parts do", () => {
    const log = [logged(tick.entry)];
    const tighter = mended.replace("voltage: 5 V ± 5 %", "voltage: 5 V ± 2 %");
    expect(tighter).not.toBe(mended);
    expect(stateIn(tighter, RAIL, log).state).toBe("no longer holds");
    expect(stateIn(mended.replace("5 V ± 5 %", "5 V +/- 250 mV"), RAIL, log).state).toBe("done");
    expect(stateIn(mended.replace("people: 30", "people: 31"), RAIL, log).state).toBe("done");
    expect(stateIn(`# another comment\n${mended}`, RAIL, log).state).toBe("done");
  });

  it("of the boot no longer holds when cable, computer or image change", () => {
    const log = [logged(entryOf(stepOf(mended, "boot"), { what: "tick" }).entry)];
    expect(stateIn(mended, "boot", log).state).toBe("done");
    expect(stateIn(mended.replace("kind: null modem", "kind: straight"), "boot", log).state).toBe("no longer holds");
    expect(stateIn(mended.replace("clock: 1.5 MHz", "clock: 1 MHz"), "boot", log).state).toBe("no longer holds");
    const other = makeRunBook(benchOf(mended), [{ ...image("tern"), sha256: "cd".repeat(32) }]);
    expect(stateOf(other, log).steps.find((each) => each.step.id === "boot")!.state).toBe("no longer holds");
  });

  it("of a disk is done by a certificate of exactly this image, read back the same", () => {
    const id = "disk/tern/write";
    const certificate = { kind: "write-certificate", verified: true, image: { sha256: SHA } };
    expect(stateIn(mended, id, [logged(certificate)]).state).toBe("done");
    expect(stateIn(mended, id, [logged({ ...certificate, verified: false })]).state).toBe("open");
    expect(stateIn(mended, id, [logged({ ...certificate, image: { sha256: "00" } })]).state).toBe("open");
  });

  it("keeps what was done at steps that are gone", () => {
    const fit = bookOf(mended).steps.find((each) => each.stage === "fitting")!;
    const { left } = stateOf(bookOf(secondMachine, "system disk"), [logged(entryOf(fit, { what: "tick" }).entry)]);
    expect(left.map((each) => each.step)).toEqual([fit.id]);
  });

  it("is the same for entries in any order, and for those that come twice", () => {
    const book = bookOf(mended);
    const ids = book.steps.slice(0, 8);
    const entries = fc.array(
      fc.record({
        step: fc.constantFrom(...ids),
        what: fc.constantFrom("tick", "note", "file", "reopen", "reading"),
        minute: fc.integer({ min: 0, max: 59 }),
        reading: fc.constantFrom(undefined, "5 V", "9 V", "rubbish"),
        old: fc.boolean(),
      }),
      { maxLength: 12 },
    );
    fc.assert(
      fc.property(entries, fc.infiniteStream(fc.nat()), (some, order) => {
        const log = some.map(({ step, what, minute, reading, old }, index) =>
          logged(
            { kind: "run-book", step: step.id, what, basis: old ? "0" : step.basis, id: `e${index}`, reading },
            minute,
          ),
        );
        const mixed = [...log, ...log.filter((_, index) => index % 2 === 0)]
          .map((each) => ({ each, key: order.next().value! }))
          .sort((a, b) => a.key - b.key)
          .map(({ each }) => each);
        expect(stateOf(book, mixed)).toEqual(stateOf(book, log));
      }),
      { seed: 6, numRuns: 100 },
    );
  });

  it("bears any log at all", () => {
    const book = bookOf(mended);
    fc.assert(
      fc.property(
        fc.array(
          fc.dictionary(
            fc.constantFrom("kind", "step", "what", "basis", "at", "reading", "file", "image", "verified"),
            fc.oneof(fc.constantFrom("run-book", "tick", RAIL, "write-certificate"), fc.jsonValue()),
          ),
        ),
        (some) => {
          const { steps } = stateOf(
            book,
            some.map((each) => logged(each)),
          );
          expect(steps).toHaveLength(book.steps.length);
        },
      ),
      { seed: 6, numRuns: 200 },
    );
  });
});

describe("the basis", () => {
  it("does not depend on the order of keys, and does on every value", () => {
    fc.assert(
      fc.property(
        fc.dictionary(
          fc
            .string({ minLength: 1 })
            .filter((each) => !/^(text|title|note|about|path|sources?|chip|id|__proto__)$/.test(each)),
          fc.jsonValue(),
          { minKeys: 1 },
        ),
        (value) => {
          const keys = Object.keys(value);
          expect(basisOf(Object.fromEntries([...keys].reverse().map((key) => [key, value[key]])))).toBe(basisOf(value));
          expect(basisOf({ ...value, [keys[0]!]: [value[keys[0]!], 1] })).not.toBe(basisOf(value));
        },
      ),
      { seed: 6, numRuns: 300 },
    );
  });
  it("is hashed as the draft on FNV says", () => {
    // draft-eastlake-fnv, 64-bit FNV-1a test vectors.
    expect(fnv1a("")).toBe("cbf29ce484222325");
    expect(fnv1a("a")).toBe("af63dc4c8601ec8c");
    expect(fnv1a("foobar")).toBe("85944171f73967e8");
  });
});
