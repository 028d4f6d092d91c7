import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import {
  type BusTiming,
  busTimings,
  fanOuts,
  feedDrop,
  fittingsOf,
  railLoad,
  regulatorHeat,
  regulatorOf,
  rippleOf,
  rippleValley,
} from "./index.ts";

const catalogue = loadCatalogue();
const benchOf = (computer: string) => {
  const { bench, issues } = readBench(`rouse: 1\nname: x\ncomputer:\n${computer}`, catalogue);
  if (!bench) throw new Error(issues.map((each) => `${each.line}: ${each.sentence}`).join("\n"));
  return bench;
};
const computerOf = (text: string) => benchOf(text).computer!;
const timed = (text: string): BusTiming => {
  const [first] = busTimings(benchOf(text), catalogue);
  if (!first || "missing" in first) throw new Error(`not known: ${first?.missing.join(", ")}`);
  return first;
};
const ns = (seconds: number) => Math.round(seconds * 1e10) / 10;

describe("supply", () => {
  const text = `
  boards:
    main: { chips: [{ part: 74LS244, count: 10 }] }
    new: { added: true, chips: [{ part: 74LS138, count: 2 }, { part: 74LS999 }] }`;

  it("adds typical and greatest currents, the added board's apart", () => {
    // 10 × 27 and 54 mA; 2 × 6.3 and 10 mA (catalogue: DM74LS244 and DM74LS138 data sheets).
    const load = railLoad(computerOf(text), "+5 V");
    expect(load.typical).toBeCloseTo(0.27 + 0.0126, 9);
    expect(load.max).toBeCloseTo(0.56, 9);
    expect(load.added).toBeCloseTo(0.02, 9);
    expect(load.addedTypical).toBeCloseTo(0.0126, 9);
    expect(load.missing).toEqual(["computer.boards.new.chips.1"]);
  });

  it("makes each rail's greatest sum no less than its typical one, for any boards", () => {
    const parts = [...catalogue.chips.keys()];
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.constantFrom(...parts), fc.integer({ min: 1, max: 40 })), { minLength: 1, maxLength: 8 }),
        (chips) => {
          const computer = computerOf(
            `  boards: { b: { chips: [${chips.map(([part, count]) => `{ part: "${part}", count: ${count} }`).join(", ")}] } }`,
          );
          for (const rail of ["+5 V", "+12 V", "-5 V", "-12 V"]) {
            const { typical, max } = railLoad(computer, rail);
            expect(max).toBeGreaterThanOrEqual(typical - 1e-12);
          }
        },
      ),
      { seed: 1, numRuns: 25 },
    );
  });

  it("heats a regulator by the drop across it, whichever way round the rail is", () => {
    expect(regulatorHeat(9, -5, 0.5, 30, 10)).toMatchObject({ drop: 4, power: 2, junction: 50 });
    const rail = (input: string) =>
      computerOf(
        `  supply: { -12 V: { regulator: { part: "7912", input: ${input}, ambient: 30 °C, heatSink: 4.5 °C/W } } }`,
      ).rails[0]!;
    const state = { heat: { drop: 8, power: 4, junction: 70 }, headroom: 4 };
    expect(regulatorOf(rail("-18 V ± 2 V"), 0.5)).toMatchObject(state);
    expect(regulatorOf(rail("18 V ± 2 V"), 0.5)).toMatchObject(state);
    // Too little to regulate: it stops, and makes no heat, let alone cold.
    expect(regulatorOf(rail("-10 V"), 0.5)).toMatchObject({ heat: { drop: -2, power: 0, junction: 30 }, headroom: -2 });
  });

  it("names what a ripple cannot be worked out without", () => {
    const [rail] = computerOf("  supply: { +5 V: { unregulated: { secondary: 9 V, rectifier: bridge } } }").rails;
    expect(rippleOf(rail!, 1)).toEqual({
      missing: ["computer.supply.+5 V.unregulated.filter", "computer.supply.+5 V.unregulated.frequency"],
    });
  });

  it("has a deeper valley with half-wave rectification and with lower mains", () => {
    const bridge = rippleValley(9, "bridge", 0.01, 50, 1, 0.1);
    expect(rippleValley(9, "half wave", 0.01, 50, 1, 0.1).ripple).toBeCloseTo(2 * bridge.ripple, 9);
    expect(rippleValley(9, "bridge", 0.01, 50, 1, 0.15).valley).toBeLessThan(bridge.valley);
    expect(rippleValley(9, "centre tap", 0.01, 50, 1, 0.1).valley).toBeCloseTo(bridge.valley + 1, 9);
  });

  it("halves the drop with twice the wires, and takes a stated resistance as it is", () => {
    const drop = (feed: string) => {
      const found = feedDrop(computerOf(`  boards: { b: { feed: ${feed} } }`).boards[0]!, 1);
      if (!found || "missing" in found) throw new Error("not known");
      return found.drop;
    };
    const one = drop("{ length: 30 cm, gauge: 28, wires: 1, contacts: 2 }");
    expect(drop("{ length: 30 cm, gauge: 28, wires: 2, contacts: 2 }")).toBeCloseTo(one / 2, 9);
    expect(drop("{ resistance: 0.05 Ω }")).toBeCloseTo(0.05, 9);
  });
});

describe("fan-out", () => {
  it("adds the boards' loads on each line, and parts lines that are loaded differently", () => {
    const loads = fanOuts(
      computerOf(`
  cpu: { part: MC6809E }
  boards:
    main: { lines: { A15..A0: { loads: { 74LS244: 1 } } } }
    new: { added: true, lines: { A15..A12: { loads: { 74LS138: 2 }, length: 50 cm } } }`),
    );
    expect(loads.map((each) => each.title)).toEqual(["A15..A12", "A11..A0"]);
    const [high, low] = loads;
    // 0.2 + 2 × 0.36 mA; 20 + 2 × 20 µA; three inputs of 5 pF and 50 cm at 60 pF a metre.
    expect(high!.load.low).toBeCloseTo(0.92e-3, 9);
    expect(high!.load.high).toBeCloseTo(60e-6, 9);
    expect(high!.load.capacitance).toBeCloseTo(45e-12, 15);
    expect(high!.load.addedLow).toBeCloseTo(0.72e-3, 9);
    expect(low!.load.low).toBeCloseTo(0.2e-3, 9);
    expect(low!.driver!.part).toBe("MC6809E");
  });

  it("says what is missing where nobody drives a line or a part is not known", () => {
    const [each] = fanOuts(computerOf("  boards: { b: { lines: { IRQ: { loads: { 74LS999: 1 } } } } }"));
    expect(each!.missing).toEqual([
      "computer.boards.b.lines.IRQ.loads.74LS999",
      "computer.boards.b.lines.IRQ.drivenBy",
    ]);
  });

  it("is late where the capacitance is more than the delays are given for", () => {
    const slowed = (capacitance: string) =>
      fanOuts(
        computerOf(
          `  boards: { b: { lines: { X: { drivenBy: 74LS00, loads: { 74LS00: 1 }, capacitance: ${capacitance} } } } }`,
        ),
      )[0]!.slowed!;
    expect(slowed("5 pF")).toBe(0);
    // 74LS00 data sheets: 10 ns at 15 pF, 15 ns at 50 pF.
    expect(slowed("45 pF") * 1e9).toBeCloseTo(5, 6);
  });
});

describe("bus timing", () => {
  const at = (clock: string, rest: string) => `
  cpu: { part: MC68B09E, clock: ${clock} }
  memory: { main: { kind: ram, at: $0000, size: 2 KiB, chips: 6116-15 } }
  paths: { main: { region: main, ${rest} } }`;

  it("adds the delays and gives what is left", () => {
    // 500 − 20 − 110 − 40 = 330 ns (MC6809E data sheet); less 41 + 150 + 12.
    const timing = timed(at("2 MHz", "through: [{ part: 74LS138 }], back: [{ part: 74LS245, path: data to output }]"));
    expect(ns(timing.margin)).toBe(330 - 41 - 150 - 12);
    expect(timing.spans.map((each) => each.kind)).toEqual(["address", "decode", "memory", "data", "set-up", "edge"]);
  });

  it("leaves no margin at the fastest clock that it names, and none below nought above it", () => {
    const rest = "through: [{ part: 74LS138 }, { part: 74LS244 }], access: 250 ns, back: [{ part: 74LS245 }]";
    const { fastest } = timed(at("1 MHz", rest));
    expect(timed(at(`${fastest} Hz`, rest)).margin).toBeCloseTo(0, 12);
    expect(timed(at(`${fastest * 1.01} Hz`, rest)).margin).toBeLessThan(0);
  });

  it("gives a wait state the whole of a period", () => {
    const margin = (waits: number) => timed(at("2 MHz", `waits: ${waits}`)).margin;
    expect(ns(margin(1) - margin(0))).toBe(500);
  });

  it("waits for a row strobe that the clock gives, and not for the address", () => {
    const early = timed(at("2 MHz", "starts: 50 ns"));
    const late = timed(at("2 MHz", "starts: 200 ns"));
    expect(ns(early.margin)).toBe(330 - 150);
    expect(ns(late.margin)).toBe(330 + 110 - 200 - 150);
    // Faster logic before the strobe buys nothing.
    expect(timed(at("2 MHz", "starts: 300 ns, through: [{ part: 74LS138 }]")).changes).toEqual([]);
  });

  it("asks that the address is at a dynamic memory before its row strobe, and moves the strobe with the clock", () => {
    const row = (clock: string, starts: string) =>
      timed(`
  cpu: { part: MC68B09E, clock: ${clock} }
  memory: { main: { kind: ram, at: $0000, size: 64 KiB, chips: 4164-15 } }
  paths: { main: { region: main, starts: ${starts}, through: [{ part: 74LS189 }, { part: 74LS138 }] } }`);
    // The address is there after 110 + 80 + 41 ns.
    const late = row("2 MHz", "200 ns");
    expect(ns(late.strobe!.margin)).toBe(200 - 231);
    expect(late.margin).toBeGreaterThan(0);
    // 200 ns of 500 ns is 0.4 of a period: 0.4 / 231 ns.
    expect(late.fastest / 1e6).toBeCloseTo(0.4e3 / 231, 6);
    expect(ns(row(`${late.fastest} Hz`, `${0.4 / late.fastest} s`).strobe!.margin)).toBeCloseTo(0, 6);
    // Here the data are what limits: (1 − 0.6) periods for 150 + 40 + 20 ns.
    expect(row("2 MHz", "300 ns").fastest / 1e6).toBeCloseTo(0.4e3 / 210, 6);
    // 74F: 53 and 33 ns sooner at the memory, of which the 31 behind the strobe are gained.
    const change = late.changes.find(({ what }) => what.startsWith("74F"))!;
    expect([ns(change.gained), ns(change.early)]).toEqual([31, 86]);
    expect(change.fastest / 1e6).toBeCloseTo(Math.min(0.4e3 / 145, 0.6e3 / 210), 6);
    expect(timed(at("2 MHz", "starts: 50 ns")).strobe).toBeUndefined();
  });

  it("says what a faster memory and another logic family would buy", () => {
    const timing = timed(
      `  cpu: { part: Z80A, clock: 4 MHz }
  memory: { main: { kind: ram, at: $0000, size: 64 KiB, chips: 4164-20 } }
  paths: { main: { region: main, through: [{ part: 74LS138, path: select to output }] } }`,
    );
    expect(timing.changes.map((each) => [each.what, ns(each.gained)])).toEqual([
      ["4164-15 in place of 4164-20", 50],
      ["74F in place of 74LS", 33],
      ["74S in place of 74LS", 29],
      ["74ALS in place of 74LS", 19],
    ]);
    for (const change of timing.changes) expect(change.fastest).toBeGreaterThan(timing.fastest);
  });

  it("counts what the added board costs", () => {
    const timing = timed(
      `  cpu: { part: MC6809E, clock: 1 MHz }
  memory: { main: { kind: ram, at: $0000, size: 2 KiB, chips: 6116-15 } }
  boards: { new: { added: true } }
  paths: { main: { region: main, through: [{ part: 74LS189, board: new }, { part: 74LS138 }] } }`,
    );
    expect(ns(timing.added)).toBe(80);
  });

  it("slows the CPU's address by the load that its lines carry", () => {
    const lines = (length: string) =>
      timed(
        `  cpu: { part: MC6809E, clock: 1 MHz }
  memory: { main: { kind: ram, at: $0000, size: 2 KiB, chips: 6116-15 } }
  boards: { b: { lines: { A15..A0: { loads: { 74LS244: 1 }, length: ${length} } } } }
  paths: { main: { region: main } }`,
      ).margin;
    expect(ns(lines("1 m"))).toBe(ns(lines("1 cm")));
    // 5 pF and 3 m at 60 pF a metre are 95 pF above the 90 pF; 0.3 ns a pF.
    expect(ns(lines("1 m") - lines("3 m"))).toBe(28.5);
  });

  it("takes the decoder's delay from the wired parts that make the select, along the longest way", () => {
    const timing = timed(`  cpu: { part: MC6809E, clock: 1 MHz }
  logic:
    parts:
      U3: { part: 74LS138, pins: { A: A13, B: A14, C: A15, G1: "1", G2A: "0", G2B: "0", Y0: y0 } }
      U4: { part: 74LS04, pins: { 1: y0, 2: first } }
  memory: { main: { kind: ram, at: $0000, size: 8 KiB, chips: 6116-15, select: first or not y0 } }
  paths: { main: { region: main, through: [{ part: 74LS244, path: data to output }] } }`);
    expect(timing.spans.slice(1, 4).map((each) => [each.kind, each.what, ns(each.to - each.from)])).toEqual([
      ["buffer", "74LS244, data to output", 18],
      ["decode", "decoder, 74LS138 U3", 41],
      ["decode", "decoder, 74LS04 U4", 15],
    ]);
  });

  it("does not guess: names the keys that are missing", () => {
    const missing = (text: string) => {
      const [first] = busTimings(benchOf(text), catalogue);
      return first && "missing" in first ? first.missing : [];
    };
    const memory = "  memory: { main: { kind: ram, at: $0000, size: 64 KiB, chips: 4164 } }\n";
    expect(missing(`${memory}  paths: { p: { region: main, through: [{ part: 74LS999 }] } }`)).toEqual([
      "computer.cpu.part",
      "computer.cpu.clock",
      "computer.paths.p.access",
      "computer.paths.p.through.0.part",
    ]);
    expect(
      missing(`  cpu: { part: 8080A, clock: 2 MHz }\n${memory}  paths: { p: { region: main, access: 200 ns } }`),
    ).toEqual(["computer.cpu.part"]);
  });

  it("draws signals in order of time, data last", () => {
    const { traces, window } = timed(at("2 MHz", "through: [{ part: 74LS138 }]"));
    expect(traces.map((each) => each.signal)).toEqual([
      "clock",
      "address at the CPU",
      "address and select at the memory",
      "data of the memory",
      "data at the CPU",
    ]);
    for (const { edges } of traces)
      for (const [index, edge] of edges.entries()) expect(edge.at).toBeGreaterThanOrEqual(edges[index - 1]?.at ?? 0);
    expect(traces[0]!.edges.at(-1)!.at).toBeCloseTo(window, 12);
  });

  it("loses margin by just what a stage takes, whatever the stages", () => {
    const parts = ["74LS00", "74LS04", "74LS08", "74LS32", "74LS138", "74LS157", "74LS244", "74LS245", "74LS189"];
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...parts), { maxLength: 6 }), fc.constantFrom(...parts), (stages, more) => {
        const list = (all: readonly string[]) => `through: [${all.map((part) => `{ part: ${part} }`).join(", ")}]`;
        const without = timed(at("1 MHz", list(stages)));
        const with_ = timed(at("1 MHz", list([...stages, more])));
        const span = with_.spans[stages.length + 1]!;
        expect(without.margin - with_.margin).toBeCloseTo(span.to - span.from, 12);
      }),
      { seed: 4, numRuns: 20 },
    );
  });
});

describe("fitting", () => {
  const computer = computerOf(`
  mains: inside
  boards:
    new:
      added: true
      chips: [{ part: 74LS138, place: U2 }, { part: LS138, place: U3, socketed: true }, { part: 74LS999 }]
      socket: { place: U1, pins: 40, pin1: towards the rear }
      removes: [{ part: MC6809E, place: U1, goes: onto the new board }]
      links: [{ name: J1, set: open, was: closed }, { name: J2, set: closed }]`);
  const [fitting] = fittingsOf(computer);

  it("puts parts of one kind together, however they are written", () => {
    expect(fitting!.bill).toEqual([
      { part: "74LS138", title: "3-to-8 decoder", count: 2, places: ["U2", "U3"], sockets: 1 },
      { part: "74LS999", count: 1, places: [], sockets: 0 },
    ]);
  });

  it("begins with power off and photographs, and ends with measuring", () => {
    expect(fitting!.steps.slice(0, 2).map((each) => each.kind)).toEqual(["power", "photograph"]);
    expect(fitting!.steps[0]!.text).toContain("mains plug");
    expect(fitting!.steps.map((each) => each.text).join(" ")).toContain("pin 1 is towards the rear");
  });

  it("undoes in the opposite order everything that was done", () => {
    expect(fitting!.undo).toEqual([
      "Take new out of U1, evenly from both ends.",
      "Set J2 back as it was written down.",
      "Set J1 back to closed.",
      "Put MC6809E back at U1, its notch as in the photograph.",
    ]);
    expect(fitting!.missing).toEqual(["computer.boards.new.links.1.was"]);
  });
});
