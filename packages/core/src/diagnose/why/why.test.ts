import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBench } from "../../bench/index.ts";
import { loadCatalogue } from "../../catalogue/index.ts";
import { InputError } from "../../errors/index.ts";
import { after, byCause, expected, uncertainty } from "./bayes.ts";
import { type Answer, answersOf, makeWhyModel, readAnswer, readTold, tellWhy, type WhyFinding } from "./index.ts";

const catalogue = loadCatalogue();
const demo = join(dirname(fileURLToPath(import.meta.url)), "../../../../../demo");
const benchOf = (text: string) => {
  const { bench, issues } = readBench(text, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench;
};
const demoBench = (name: string) => benchOf(readFileSync(join(demo, name, "bench.yaml"), "utf8"));
const mended = makeWhyModel(demoBench("mended"));
const told = (text: string): Answer => ({ id: text, ...readTold(mended, text) });
const stand = (...texts: string[]) => tellWhy(mended, texts.map(told));
const chanceOf = (id: string, ...texts: string[]) => stand(...texts).causes.find((each) => each.id === id)!.chance;

describe("the causes of a bench", () => {
  it("are its own parts, each with a source for its prior", () => {
    const { causes } = stand();
    const ids = causes.map(({ id }) => id);
    for (const id of [
      "filter/+12 V",
      "chip/main board/U23 (4164)",
      "chip/main board/U35 (4164)",
      "chip/main board/U12 (2764)",
      "socket/main board/MC68A09E, U1",
      "ribbon/translation board",
      "wire/terminal cable/out",
      "rate/stage terminal",
      "bus-neighbour/disk bus",
      "image/tern",
    ])
      expect(ids, id).toContain(id);
    expect(new Set(ids).size).toBe(ids.length);
    expect(causes.reduce((sum, { prior }) => sum + prior, 0)).toBeCloseTo(1, 9);
    for (const { id, source, because } of causes) {
      expect(["MIL-HDBK-217F", "judgement"], id).toContain(source.id);
      expect(because).not.toBe("");
    }
  });

  it("differ from bench to bench", () => {
    const other = makeWhyModel(demoBench("second-machine")).causes.map(({ id }) => id);
    expect(other).toContain("chip/main board/8251, console");
    expect(other.some((id) => id.includes("translation"))).toBe(false);
  });

  it("weigh by the handbook's ratios within the parts", () => {
    const prior = (id: string) => stand().causes.find((each) => each.id === id)!.prior;
    // 0.048 against 0.0055 × 2 for age: one CPU against one dynamic memory.
    expect(prior("chip/main board/MC68A09E, U1") / prior("chip/main board/U23 (4164)")).toBeCloseTo(0.048 / 0.011, 9);
  });

  it("are raised by what the chain says, and tell so", () => {
    const finding = (verdict: WhyFinding["verdict"]): WhyFinding => ({
      id: "cable-nets/terminal cable",
      verdict,
      sentence: "It joins the wrong contacts.",
    });
    const wrong = (findings: readonly WhyFinding[]) =>
      tellWhy(makeWhyModel(demoBench("mended"), findings), []).causes.find(
        ({ id }) => id === "wired-wrong/terminal cable",
      )!;
    expect(wrong([finding("stops")]).chance).toBeGreaterThan(10 * wrong([]).chance);
    expect(wrong([finding("stops")]).raisedBy).toEqual([finding("stops")]);
    expect(wrong([finding("runs")]).chance).toBeLessThan(wrong([]).chance);
    expect(wrong([{ ...finding("stops"), id: "cable-nets/another cable" }]).chance).toBeCloseTo(wrong([]).chance, 9);
  });
});

describe("what is seen and measured", () => {
  it("is read as people write it", () => {
    expect(readTold(mended, "dark screen")).toEqual({ test: "screen", outcomes: ["dark"] });
    expect(readTold(mended, "5 V rail = 4.2 V")).toEqual({ test: "rail/+5 V", outcomes: ["low"], reading: "4.2 V" });
    expect(readTold(mended, "the +5 V rail = 5020 mV").outcomes).toEqual(["good"]);
    expect(readTold(mended, "-12 V = −11.9 V").outcomes).toEqual(["good"]);
    expect(readTold(mended, "−12 V = 0 V").outcomes).toEqual(["none"]);
    expect(readTold(mended, "reset = held")).toEqual({ test: "reset", outcomes: ["held"] });
    expect(readTold(mended, "clock = 1.5 MHz").outcomes).toEqual(["good"]);
    expect(readTold(mended, "clock = none").outcomes).toEqual(["none"]);
    expect(readTold(mended, "clock = present").outcomes).toEqual(["good"]);
    expect(readTold(mended, "uart-out = dead").outcomes).toEqual(["still"]);
    expect(readTold(mended, "clock present = no").outcomes).toEqual(["none"]);
    expect(readTold(mended, "fuse = 0.2 Ω").outcomes).toEqual(["good"]);
    expect(readTold(mended, "fuse = open").outcomes).toEqual(["blown"]);
    expect(readTold(mended, "idle = -9 V").outcomes).toEqual(["good"]);
    expect(readTold(mended, "ripple on +5 V = 300 mV").outcomes).toEqual(["large"]);
    expect(readTold(mended, "banner but no login").outcomes).toContain("loading");
    expect(readTold(mended, "clock = ?").outcomes).toEqual([]);
  });

  it("keeps a rail within its limits apart from one beyond them, both signs", () => {
    const of = (value: string) => readTold(mended, `+5 V = ${value}`).outcomes[0];
    expect(["4.75 V", "5.25 V", "4.74 V", "5.26 V", "1.4 V", "-0.2 V"].map(of)).toEqual([
      "good",
      "good",
      "low",
      "high",
      "none",
      "none",
    ]);
    const minus = (value: string) => readTold(mended, `-12 V = ${value}`).outcomes[0];
    expect(["-11.4 V", "-11.3 V", "-12.7 V", "0.3 V"].map(minus)).toEqual(["good", "low", "high", "none"]);
  });

  it("is not believed where a meter's leads are swapped, a unit is wrong or a name is missing", () => {
    // A dead rail is another matter than one that was measured the wrong way round.
    expect(() => readTold(mended, "-12 V = 12 V")).toThrow(/the other sign than -12 V/);
    expect(() => readTold(mended, "+5 V = −5 V")).toThrow(/the other sign than \+5 V/);
    expect(() => readTold(mended, "+5 V off load = -5 V")).toThrow(/the other sign/);
    expect(() => readTold(mended, "+5 V = 5 kV")).toThrow(/more than 10 times \+5 V/);
    expect(() => readTold(mended, "fuse = -1 Ω")).toThrow(/less than nothing/);
    expect(() => readTold(mended, "= 5 V")).toThrow(/name .* is missing/);
  });

  it("is refused in one sentence where it is nothing", () => {
    expect(() => readTold(mended, "dark scren")).toThrow(/did you mean “dark screen”/);
    expect(() => readTold(mended, "mood = bad")).toThrow(InputError);
    expect(() => readTold(mended, "+5 V = 5 A")).toThrow(/current/);
    expect(() => readTold(mended, "reset = purple")).toThrow(/there is “good”, “held”, “pulses”/);
    expect(() => readTold(mended, "\u001b[31m")).toThrow(/\\x1B/);
  });
});

describe("the ranking", () => {
  it("does not call found what it has no name for", () => {
    const bare = tellWhy(makeWhyModel(benchOf("rouse: 1\nname: bare\n")), []);
    expect(bare.found).toMatchObject({ causes: ["other"], listed: false });
    const blown = stand(
      "nothing on the screen",
      "fuse = blown",
      "raw = none",
      "fuse = open",
      "+5 V = none",
      "+12 V = none",
    );
    expect(blown.found).toMatchObject({ listed: true });
    expect(blown.found!.causes.length).toBeGreaterThan(0);
  });

  it("is Bayes: prior by likelihood, over their sum", () => {
    const test = mended.tests.findIndex(({ id }) => id === "rail/+5 V");
    const low = mended.tests[test]!.outcomes.findIndex(({ id }) => id === "low");
    const { faults, likely } = after(mended, mended.priors, { test, outcomes: [low] });
    const products = mended.priors.map((prior, fault) => prior * mended.likelihoods[test]![fault * 4 + low]!);
    const sum = products.reduce((total, each) => total + each, 0);
    expect(likely).toBeCloseTo(sum, 12);
    for (const [fault, product] of products.entries()) expect(faults[fault]).toBeCloseTo(product / sum, 12);
  });

  it("follows what is found along the chain", () => {
    expect(stand("dark screen").causes[0]!.link).toBe("terminal");
    expect(
      stand("empty screen", "5 V rail = 0 V", "−12 V = −12 V", "+12 V = 12 V", "off load +5 V = 5 V").causes[0]!.id,
    ).toBe("short/+5 V");
    expect(stand("garbage", "wrong rate").causes[0]!.id).toBe("rate/stage terminal");
    expect(stand("disk error", "drive tries again and again", "clean-head = cured").causes[0]!.id).toBe(
      "head/disk drive",
    );
    expect(stand("characters lost", "slower-line = cured").causes[0]!.id).toBe("overrun/stage terminal");
    expect(stand("stops while loading", "memory-test = names U30 (4164)").causes[0]!.id).toBe(
      "chip/main board/U30 (4164)",
    );
    expect(chanceOf("filter/+5 V", "empty screen", "works warm only", "ripple on +5 V")).toBeGreaterThan(0.5);
  });

  it("says by how many bits each answer moved a cause", () => {
    const { causes } = stand("dark screen", "terminal dead in local mode");
    for (const { chance, prior, moved } of causes)
      expect(moved.reduce((sum, { bits }) => sum + bits, Math.log2(prior))).toBeCloseTo(Math.log2(chance), 6);
    const { answers } = stand("dark screen");
    expect(answers[0]!.raised[0]!.part).toMatch(/stage terminal/);
    expect(answers[0]!.raised[0]!.bits).toBeGreaterThan(1);
  });

  it("asks back where an answer is a surprise", () => {
    const surprises = (...texts: string[]) => stand(...texts).answers.map(({ surprising }) => surprising);
    expect(surprises("dark screen", "no sign of life in the terminal")).toEqual([false, false]);
    expect(surprises("dark screen", "no sign of life in the terminal", "local = good").at(-1)).toBe(true);
  });

  it("bears a test that misleads", () => {
    const right = ["empty screen", "+5 V = 5 V", "ripple on +5 V = 10 mV", "no clock", "usual sound"];
    const before = chanceOf("oscillator", ...right);
    expect(before).toBeGreaterThan(0.2);
    const wrong = chanceOf("oscillator", ...right, "supply-plugs = cured");
    expect(wrong).toBeLessThan(before);
    expect(wrong).toBeGreaterThan(0.01);
  });

  it("names causes that no cheap test left tells apart, and counts them as found together", () => {
    expect(stand("dark screen").alike).toEqual([]);
    const skipped = mended.tests
      .filter(({ id, risk }) => id !== "screen" && risk !== "high")
      .map(({ id }) => told(`${id} = ?`));
    const { alike, found, causes } = tellWhy(mended, [told("dark screen"), ...skipped]);
    expect(alike[0]).toEqual(expect.arrayContaining(["terminal-supply/stage terminal", "display/stage terminal"]));
    expect(found!.causes).toEqual(alike[0]);
    expect(found!.chance).toBeGreaterThan(causes[0]!.chance);
  });
});

describe("the next test", () => {
  it("is expected to tell what it tells in the mean of its outcomes", () => {
    const bits = (test: number) => {
      const now = uncertainty(byCause(mended, mended.priors));
      return mended.tests[test]!.outcomes.reduce((left, _, outcome) => {
        const { faults, likely } = after(mended, mended.priors, { test, outcomes: [outcome] });
        return left - likely * uncertainty(byCause(mended, faults));
      }, now);
    };
    for (let test = 0; test < mended.tests.length; test += 7)
      expect(expected(mended, mended.priors, test).bits).toBeCloseTo(bits(test), 9);
  });

  it("is not one that was done, and counts opening the case once", () => {
    const before = stand("empty screen");
    expect(before.tests.map(({ id }) => id)).not.toContain("screen");
    const inside = before.tests.find(({ opens }) => opens)!;
    const open = tellWhy(mended, [told("empty screen"), told("+12 V = 12 V")]);
    expect(open.tests.find(({ id }) => id === inside.id)?.minutes ?? inside.minutes - 5).toBe(inside.minutes - 5);
    expect(open.tests.every(({ opens }) => !opens)).toBe(true);
  });

  it("carries the cautions of what can hurt", () => {
    for (const { inside, hazards, id } of mended.tests) if (inside) expect(hazards, id).not.toEqual([]);
    const own = [{ code: "mains" as const, title: "Mains inside", sentence: "Ours." }];
    const rail = tellWhy(mended, [told("empty screen"), told("power lamp dark")], own).tests.find(({ id }) =>
      id.startsWith("rail/"),
    )!;
    expect(rail.cautions.map(({ code }) => code)).toEqual(["mains", "capacitors"]);
    expect(rail.cautions[0]!.sentence).toBe("Ours.");
    const tube = stand("dark screen").causes.find(({ id }) => id === "display/stage terminal")!;
    expect(tube.cautions[0]!.sentence).toMatch(/anode/);
    expect(tube.remedy).toMatch(/trained/);
  });
});

describe("the search", () => {
  const entry = (id: string, rest: Record<string, unknown>) => ({
    time: "2026-01-01T00:00:00Z",
    entry: { kind: "why", id, ...rest },
  });
  const answer = (id: string, test: string, outcome: string) =>
    entry(id, { what: "answer", test, outcomes: [outcome] });

  it("is what the log holds: later answers, not those taken back, since the last fresh start", () => {
    const log = [
      answer("0", "lamp", "dark"),
      entry("f", { what: "fresh" }),
      answer("1", "screen", "dark"),
      answer("2", "screen", "blank"),
      answer("2", "screen", "blank"),
      answer("3", "lamp", "lit"),
      entry("u", { what: "undo", of: "3" }),
    ];
    expect(answersOf(log).map(({ test, outcomes }) => [test, ...outcomes])).toEqual([["screen", "blank"]]);
    expect(answersOf([...log, entry("v", { what: "undo", of: "2" })]).map(({ id }) => id)).toEqual(["1"]);
  });

  it("keeps answers to tests that the bench no longer has, uncounted", () => {
    const found = tellWhy(mended, [{ id: "1", test: "rail/+24 V", outcomes: ["none"] }]);
    expect(found.left).toHaveLength(1);
    expect(found.causes.map(({ chance, prior }) => chance - prior).every((each) => Math.abs(each) < 1e-12)).toBe(true);
  });

  it("bears any log and any answers", () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.dictionary(
            fc.constantFrom("kind", "what", "id", "of", "test", "outcomes", "reading"),
            fc.oneof(
              fc.constantFrom<unknown>("why", "answer", "undo", "fresh", "screen", ["dark"], ["x"]),
              fc.jsonValue(),
            ),
          ),
        ),
        (some) => {
          const { causes } = tellWhy(
            mended,
            answersOf(some.map((each) => ({ time: "2026-01-01T00:00:00Z", entry: each }))),
          );
          expect(causes.reduce((sum, { chance }) => sum + chance, 0)).toBeCloseTo(1, 6);
        },
      ),
      { seed: 5, numRuns: 30 },
    );
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(), fc.nat()), { maxLength: 40 }), (picks) => {
        const answers = picks.map(([pick, which], index): Answer => {
          const { id, outcomes } = mended.tests[pick % mended.tests.length]!;
          return { id: String(index), test: id, outcomes: [outcomes[which % outcomes.length]!.id] };
        });
        const { causes, open } = tellWhy(mended, answers);
        expect(causes.reduce((sum, { chance }) => sum + chance, 0)).toBeCloseTo(1, 6);
        expect(open).toBeGreaterThanOrEqual(0);
      }),
      { seed: 5, numRuns: 25 },
    );
  });

  it("reads any text as an answer or refuses it as the person's", () => {
    fc.assert(
      fc.property(fc.string(), fc.nat(mended.tests.length - 1), (text, index) => {
        for (const read of [() => readTold(mended, text), () => readAnswer(mended.tests[index]!, text)])
          try {
            read();
          } catch (error) {
            expect(error).toBeInstanceOf(InputError);
          }
      }),
      { seed: 5, numRuns: 200 },
    );
  });
});

describe("a bench that says little", () => {
  it.each([
    "rouse: 1\nname: x\n",
    "rouse: 1\nname: x\ncomputer: { name: c }\n",
    "rouse: 1\nname: x\ndrives: { d: { class: eight-inch-one-side } }\n",
  ])("still has causes and tests: %s", (text) => {
    const found = tellWhy(makeWhyModel(benchOf(text)), []);
    expect(found.causes.length).toBeGreaterThan(0);
    expect(found.causes.reduce((sum, { chance }) => sum + chance, 0)).toBeCloseTo(1, 9);
    expect(found.tests.length).toBeGreaterThan(0);
  });
});
