import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import type { Need } from "../system/index.ts";
import { type Finding, fitChain, type SurveyedImage } from "./index.ts";

const catalogue = loadCatalogue();

/** Findings of a bench with this computer, by id. */
function findings(computer: string, more = "", needs: readonly Need[] = []): Map<string, Finding> {
  const { bench, issues } = readBench(`rouse: 1\nname: x\n${more}\ncomputer:\n${computer}`, catalogue);
  if (!bench) throw new Error(issues.map((each) => `${each.line}: ${each.sentence}`).join("\n"));
  const images: SurveyedImage[] = needs.length > 0 ? [{ name: "i", size: 0, needs }] : [];
  return new Map(fitChain({ bench, catalogue, images }).findings.map((each) => [each.id, each]));
}

describe("a map that is divided very finely", () => {
  it("is looked at in some states only, and nothing is called lost that the others may show", () => {
    const found = findings(
      [
        "  cpu: { part: MC6809, clock: 1 MHz }",
        "  latches: { l0: { at: $FF00, bits: 8 }, l1: { at: $FF01, bits: 8 }, l2: { at: $FF02, bits: 8 } }",
        "  memory:",
        "    r0: { kind: ram, at: $0000, size: 4 KiB, when: l0 = 3 }",
        "    r1: { kind: ram, at: $1000, size: 4 KiB, when: l1 = 3 }",
        "    r2: { kind: ram, at: $2000, size: 4 KiB, when: l2 = 3 }",
        "    io: { kind: io, at: $F000, size: 1 bytes, decode: A15..A12 }",
      ].join("\n"),
    );
    expect(found.get("memory-map")).toMatchObject({ verdict: "runs" });
    expect(found.get("memory-map")!.figures).toContainEqual(
      expect.objectContaining({ label: "not seen in these of r2", value: "4 KiB" }),
    );
    expect(found.get("memory-start")).toMatchObject({ verdict: "stops", figures: expect.anything() });
  });
});

describe("ROM images", () => {
  const { bench } = readBench(
    "rouse: 1\nname: x\ncomputer:\n  memory:\n    monitor: { kind: rom, at: $E000, size: 7936 bytes, chips: 2764, file: images/m }\n    vectors: { kind: rom, at: $FF80, size: 128 bytes, shares: monitor, offset: $1F80, file: images/v }\n",
    catalogue,
  );
  const judged = (region: string, size: number, problem?: string) =>
    fitChain({
      bench: bench!,
      catalogue,
      images: [],
      roms: [{ region, file: "images/m", size, ...(problem ? { problem } : {}) }],
    }).findings.find((each) => each.id === `memory-rom/${region}`);

  it("run where they fill their region, and where they go on in the same chip of 8,192 bytes", () => {
    expect(judged("monitor", 7936)).toMatchObject({ verdict: "runs", at: "computer.memory.monitor.file" });
    expect(judged("monitor", 8192)).toMatchObject({ verdict: "runs" });
    expect(judged("vectors", 128)).toMatchObject({ verdict: "runs" });
  });

  it("stop where they are cut short or cannot be read, and are tight where they are too long", () => {
    expect(judged("monitor", 100)).toMatchObject({ verdict: "stops", result: "100 of 7,936 bytes" });
    expect(judged("monitor", 100)!.sentence).toContain("7,836 bytes are missing");
    expect(judged("monitor", 8193)).toMatchObject({ verdict: "tight" });
    expect(judged("vectors", 129)).toMatchObject({ verdict: "tight" });
    expect(judged("monitor", 0, "It is gone.")).toMatchObject({ verdict: "stops", sentence: "It is gone." });
  });
});

describe("a regulator", () => {
  const heat = (amperes: number, input: string, part = "7805", name = "+5 V") =>
    findings(
      `  boards: { b: { draws: { ${name}: ${amperes} A } } }\n  supply: { ${name}: { limit: 3 A, regulator: { part: "${part}", input: ${input}, ambient: 20 °C, heatSink: 0.5 °C/W } } }`,
    ).get(`regulator-heat/${name}`);

  it("stops beyond its current and its input voltage, however well it is cooled", () => {
    expect(heat(1, "8 V")).toMatchObject({ verdict: "runs" });
    expect(heat(1.2, "8 V")).toMatchObject({ verdict: "stops", margin: "−200 mA" });
    expect(heat(1.2, "8 V")!.sentence).toBe("The boards draw up to 1.2 A from +5 V, and its 7805 gives 1 A.");
    expect(heat(0.1, "36 V")).toMatchObject({ verdict: "stops", margin: "−1 V" });
    expect(heat(0.1, "36 V")!.sentence).toContain("a 7805 bears 35 V");
  });

  it("of a negative rail may have its input written with the sign or without", () => {
    expect(heat(0.5, "-16 V", "7912", "-12 V")).toMatchObject({ verdict: "runs" });
    expect(heat(0.5, "-16 V", "7912", "-12 V")!.result).toBe(heat(0.5, "16 V", "7912", "-12 V")!.result);
    // 20 °C + (13 − 12) V × 0.5 A × (5 + 0.5 + 0.5) °C/W.
    expect(heat(0.5, "-13 V", "7912", "-12 V")).toMatchObject({
      verdict: "stops",
      result: "23 °C at the junction, 500 mW of heat",
    });
  });
});

describe("ripple", () => {
  const rail = (unregulated: string) =>
    findings(
      `  boards: { b: { draws: { +5 V: 1 A } } }\n  supply: { +5 V: { limit: 2 A, regulator: { part: 7805 }, unregulated: { ${unregulated} } } }`,
    ).get("supply-ripple/+5 V");

  it("runs, is tight and stops as the capacitor loses what it had", () => {
    // 9 V × 0.9 × √2 − 2 V = 9.455 V; 1 A over 10 ms takes 1 ÷ C × 10 ms; 7 V are needed.
    const filter = (value: string) => rail(`secondary: 9 V, rectifier: bridge, frequency: 50 Hz, filter: ${value}`);
    expect(filter("10000 µF")).toMatchObject({ verdict: "runs", margin: "1.46 V" });
    expect(filter("4700 µF")).toMatchObject({ verdict: "tight" });
    expect(filter("2200 µF")).toMatchObject({ verdict: "stops" });
    expect(filter("10000 µF ± 60 %")).toMatchObject({ verdict: "stops" });
  });

  it("is unknown without the capacitor", () => {
    expect(rail("secondary: 9 V, rectifier: bridge, frequency: 50 Hz")).toMatchObject({
      verdict: "unknown",
      missing: ["computer.supply.+5 V.unregulated.filter"],
    });
  });
});

describe("drop", () => {
  const drop = (feed: string) =>
    findings(
      `  boards: { b: { draws: { +5 V: 1 A }, feed: ${feed} } }\n  supply: { +5 V: { voltage: 5 V ± 5 %, limit: 2 A } }`,
    ).get("supply-drop/b");

  it("counts wires there and back and contacts against 4.75 V", () => {
    expect(drop("{ resistance: 0.05 Ω }")).toMatchObject({ verdict: "runs" });
    expect(drop("{ resistance: 0.15 Ω }")).toMatchObject({ verdict: "tight" });
    expect(drop("{ resistance: 0.3 Ω }")).toMatchObject({ verdict: "stops", margin: "−50 mV" });
    expect(drop("{ length: 1 m, gauge: 28 }")!.verdict).toBe("stops");
    expect(drop("{ length: 1 m }")).toMatchObject({ verdict: "unknown", missing: ["computer.boards.b.feed.gauge"] });
  });
});

describe("fan-out", () => {
  const lines = (count: number, more = "") =>
    findings(`  boards: { b: { lines: { X: { drivenBy: 74LS00, loads: { 74LS00: ${count} }${more} } } } }`).get(
      "fan-out/X",
    );

  it("runs, is tight and stops by the driver's rating", () => {
    expect(lines(1)).toMatchObject({ verdict: "runs", margin: "7.6 mA" });
    expect(lines(20)).toMatchObject({ verdict: "tight" });
    expect(lines(21)).toMatchObject({ verdict: "stops" });
  });

  it("is tight where the capacitance is far above what the delays are given for", () => {
    expect(lines(1, ", capacitance: 60 pF")).toMatchObject({ verdict: "tight" });
  });

  it("asks for the lines of an added board that names none", () => {
    expect(findings("  boards: { b: { added: true } }").get("fan-out/b")).toMatchObject({
      verdict: "unknown",
      missing: ["computer.boards.b.lines"],
    });
  });
});

describe("bus timing", () => {
  const read = (clock: string, access: string) =>
    findings(
      `  cpu: { part: MC68B09E, clock: ${clock} }\n  memory: { main: { kind: ram, at: $0000, size: 2 KiB } }\n  paths: { main: { region: main, access: ${access} } }`,
    ).get("bus-timing/main");

  it("runs, is tight and stops by what is left of the cycle", () => {
    expect(read("2 MHz", "200 ns")).toMatchObject({ verdict: "runs", margin: "130 ns" });
    expect(read("2 MHz", "320 ns")).toMatchObject({ verdict: "tight", margin: "10 ns" });
    expect(read("2 MHz", "450 ns")).toMatchObject({ verdict: "stops", margin: "−120 ns" });
  });

  it("stops where the address is behind the row strobe of a dynamic memory, though the data would be in time", () => {
    const found = findings(
      "  cpu: { part: MC68B09E, clock: 2 MHz }\n  memory: { main: { kind: ram, at: $0000, size: 64 KiB, chips: 4164-15 } }\n  paths: { main: { region: main, starts: 150 ns, through: [{ part: 74LS189 }] } }",
    ).get("bus-timing/main");
    expect(found).toMatchObject({ verdict: "stops", margin: "100 ns" });
    expect(found!.sentence).toBe(
      "The address of main is at the memory 40 ns behind the row strobe, so that another row is read.",
    );
  });

  it("asks what stands between CPU and memory where a translation board is added", () => {
    const found = findings(
      "  memory: { main: { kind: ram, at: $0000, size: 32 KiB } }\n  translation: { board: new, block: 4 KiB }\n  boards: { new: { added: true } }",
    );
    expect(found.get("bus-timing/new")).toMatchObject({ verdict: "unknown", missing: ["computer.paths"] });
  });
});

describe("the memory at power-on", () => {
  const start = (rom: string, more = "") =>
    findings(
      `  cpu: { part: MC6809E, clock: 1 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 32 KiB, chips: 62256 }
    monitor: { kind: rom, ${rom} }${more}`,
    ).get("memory-start");

  it("needs a ROM where the CPU looks for its start", () => {
    expect(start("at: $E000, size: 8 KiB")).toMatchObject({ verdict: "runs", result: "monitor" });
    expect(start("at: $E000, size: 4 KiB")).toMatchObject({
      verdict: "stops",
      sentence: "At power-on nothing answers $FFFE, where the CPU looks for its reset vector.",
    });
    const z80 = findings(
      "  cpu: { part: Z80A, clock: 4 MHz }\n  memory: { main: { kind: ram, at: $0000, size: 64 KiB } }",
    ).get("memory-start");
    expect(z80).toMatchObject({ verdict: "stops" });
    expect(z80!.sentence).toContain("main (ram) answers $0000, where the CPU looks for its first instruction");
  });

  it("goes by what latches hold at power-on, and asks where that is not said and matters", () => {
    const rom = "at: $E000, size: 8 KiB, when: boot";
    expect(start(rom, "\n  latches: { boot: { at: $FF00, bits: 1, powerOn: 1 } }")).toMatchObject({ verdict: "runs" });
    expect(start(rom, "\n  latches: { boot: { at: $FF00, bits: 1, powerOn: 0 } }")).toMatchObject({ verdict: "stops" });
    const asked = start(rom, "\n  latches: { boot: { at: $FF00, bits: 1 } }");
    expect(asked).toMatchObject({ verdict: "unknown", missing: ["computer.latches.boot.powerOn"] });
  });
});

describe("the memory map", () => {
  it("finds a clash that only one state of a latch makes", () => {
    const found = findings(
      `  latches: { boot: { at: $40, port: true, powerOn: 0 } }
  memory:
    main: { kind: ram, at: $0000, size: 48 KiB }
    rom: { kind: rom, at: $0000, size: 4 KiB, when: boot }`,
    ).get("memory-map");
    expect(found).toMatchObject({ verdict: "stops" });
    expect(found!.sentence).toContain("$0000–$0FFF with boot=1");
  });

  it("says where a part is never seen", () => {
    expect(
      findings(
        "  memory: { rom: { kind: rom, at: $E000, size: 8 KiB }, main: { kind: ram, at: $0000, size: 56 KiB }, lost: { kind: rom, at: $E000, size: 4 KiB, under: true } }",
      ).get("memory-map"),
    ).toMatchObject({ verdict: "tight" });
  });

  it("stops where a decoder does not do what the map says, at the first address", () => {
    const found = findings("  memory: { a: { kind: ram, at: $8000, size: 16 KiB, select: A15 } }").get(
      "memory-decode/a",
    );
    expect(found).toMatchObject({ verdict: "stops" });
    expect(found!.sentence).toContain("on at $C000");
    expect(
      findings("  memory: { a: { kind: ram, at: $8000, size: 16 KiB, select: A15 and not A14 } }").get(
        "memory-decode/a",
      ),
    ).toMatchObject({ verdict: "runs" });
  });
});

describe("room for people", () => {
  const need: Need = {
    kind: "memory",
    bytes: 0x6000,
    contiguous: 0x4000,
    parts: [
      { what: "boot file", bytes: 0x4000 },
      { what: "storage of shell", bytes: 0x2000 },
    ],
    computed: "",
    evidence: [],
  };
  const room = (show: string, size = "48 KiB") =>
    findings(`  memory: { main: { kind: ram, at: $0000, size: ${size} } }`, `show: { ${show} }`, [need]).get(
      "memory-room/i",
    );

  it("counts the logins that the rest carries", () => {
    // 48 − 24 KiB are left, 8 KiB each, and one is among the needs.
    expect(room("logins: 4")).toMatchObject({ verdict: "runs", result: "4 logins" });
    expect(room("logins: 5")).toMatchObject({ verdict: "stops" });
    expect(room("loginMemory: 4 KiB")).toMatchObject({ result: "7 logins" });
  });

  it("stops where a part fits nowhere", () => {
    expect(room("people: 1", "12 KiB")).toMatchObject({ verdict: "stops" });
  });
});

describe("any computer", () => {
  const parts = [...catalogue.chips.keys(), "74LS999"];
  const part = fc.constantFrom(...parts);
  const count = fc.integer({ min: 1, max: 30 });
  const maybe = (key: string, value: fc.Arbitrary<unknown>) =>
    fc.option(value, { nil: undefined }).map((each) => (each === undefined ? {} : { [key]: each }));
  const merged = (...each: fc.Arbitrary<object>[]) => fc.tuple(...each).map((all) => Object.assign({}, ...all));
  const lines = merged(
    maybe("drivenBy", part),
    maybe("loads", fc.dictionary(part, count, { maxKeys: 3 })),
    maybe("outputs", fc.dictionary(part, count, { maxKeys: 2 })),
    maybe("length", fc.constantFrom("10 cm", "2 m")),
  );
  const board = merged(
    fc.record({ added: fc.boolean(), chips: fc.array(fc.record({ part, count }), { maxLength: 3 }) }),
    maybe("lines", fc.dictionary(fc.constantFrom("A15..A0", "A15..A12", "D7..D0", "IRQ"), lines, { maxKeys: 3 })),
    maybe("feed", merged(maybe("gauge", fc.constantFrom(20, 30)), maybe("length", fc.constant("1 m")))),
    maybe("socket", fc.constant({ place: "U1" })),
  );
  const region = merged(
    fc.record({
      kind: fc.constantFrom("ram", "rom", "io"),
      at: fc.integer({ min: 0, max: 15 }).map((block) => block * 4096),
      size: fc.constant("4 KiB"),
    }),
    maybe("chips", part),
    maybe("decode", fc.constantFrom("A15..A12", "A15", "A15..A13, A0")),
    maybe("select", fc.constantFrom("A15", "not A15 or latch = 2", "x and read")),
    maybe("when", fc.constantFrom("latch.0", "latch = 3")),
    maybe("under", fc.boolean()),
  );
  const stage = fc.record({ part });
  const computer = merged(
    fc.record({
      latches: fc.constant({ latch: { at: 0xff00, bits: 2 } }),
      logic: fc.constant({ equations: { x: "A14 xor A13" } }),
      boards: fc.dictionary(fc.constantFrom("one", "two"), board),
      memory: fc
        .array(region, { minLength: 1, maxLength: 4 })
        .map((all) => Object.fromEntries(all.map((each, index) => [`r${index}`, each]))),
      cpu: merged(
        maybe("part", fc.constantFrom("MC6809E", "Z80A", "8080A", "6502")),
        maybe("clock", fc.constantFrom("1 MHz", "4 MHz")),
      ),
    }),
    maybe("translation", fc.record({ block: fc.constantFrom("4 KiB", "8 KiB"), tasks: fc.constantFrom(1, 4) })),
    maybe(
      "paths",
      merged(
        fc.record({ region: fc.constant("r0"), through: fc.array(stage, { maxLength: 3 }) }),
        maybe("access", fc.constantFrom("100 ns", "2 µs")),
        maybe("starts", fc.constant("200 ns")),
      ).map((path) => ({ p: path })),
    ),
    maybe(
      "supply",
      fc.constant({ "+5 V": { voltage: "5 V ± 5 %", unregulated: { secondary: "8 V", rectifier: "bridge" } } }),
    ),
  );

  it("is judged without a fault: what is unknown names its keys, what is bad its remedy", () => {
    fc.assert(
      fc.property(computer, (written) => {
        // JSON is YAML.
        const { bench, issues } = readBench(JSON.stringify({ rouse: 1, name: "x", computer: written }), catalogue);
        if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
        for (const each of fitChain({ bench, catalogue, images: [] }).findings) {
          if (each.verdict === "unknown") expect(each.missing?.length, each.id).toBeGreaterThan(0);
          if (each.verdict === "stops" || each.verdict === "tight") expect(each.remedy, each.id).toBeTruthy();
          expect(each.sentence).not.toMatch(/undefined|NaN|\[object/);
        }
      }),
      { seed: 21, numRuns: 30 },
    );
  });
});
