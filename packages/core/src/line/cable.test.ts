import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type BenchCable, readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import {
  asCable,
  cableCircuits,
  cableNets,
  cableProblems,
  contactView,
  continuity,
  designCable,
  drawCable,
  type Wiring,
} from "./index.ts";

const catalogue = loadCatalogue();
const cableOf = (port: string, terminal: string, cable = "kind: straight"): BenchCable => {
  const { bench, issues } = readBench(
    `rouse: 1\nname: x\nports: { p: { ${port} } }\nterminals: { t: { ${terminal} } }\ncables: { c: { from: p, to: t, ${cable} } }\n`,
    catalogue,
  );
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench.cables[0]!;
};
const problems = (cable: BenchCable) => {
  const found = cableNets(cable);
  if (!found.known) throw new Error(found.missing.join());
  return cableProblems(cable, found.nets);
};
const design = (cable: BenchCable, handshake: boolean): Wiring => {
  const made = designCable(cable.from, cable.to, { handshake });
  if (!made.possible) throw new Error(made.why.join("; "));
  return made.wiring;
};

const end = fc
  .record({
    connector: fc.constantFrom("DB-25", "DE-9", "header-26", "header-10", "modular-8"),
    role: fc.constantFrom("DTE", "DCE"),
    handshake: fc.constantFrom("none", "lines", "characters"),
  })
  .map((each) => `connector: ${each.connector}, role: ${each.role}, handshake: ${each.handshake}, levels: V.28`);

describe("a designed cable", () => {
  it("has no problem between any two ends, and each of its wires is needed", () => {
    fc.assert(
      fc.property(end, end, fc.boolean(), (port, terminal, handshake) => {
        const cable = cableOf(port, terminal);
        const wiring = design(cable, handshake);
        const made = asCable("c", cable.from, cable.to, wiring);
        expect(problems(made)).toEqual([]);
        expect(wiring.wires).toHaveLength(handshake ? 5 : 3);
        for (const gone of wiring.wires.slice(0, 3)) {
          const less = { ...wiring, wires: wiring.wires.filter((each) => each !== gone) };
          expect(problems(asCable("c", cable.from, cable.to, less)).some((each) => each.grave)).toBe(true);
        }
      }),
      { seed: 4, numRuns: 150 },
    );
  });

  it("gives an end its own permission where no wire brings it", () => {
    const cable = cableOf(
      "connector: DB-25, role: DTE, handshake: lines, levels: V.28",
      "connector: DB-25, role: DTE, handshake: none, levels: V.28",
    );
    expect(design(cable, false)).toEqual({
      wires: [
        [2, 3],
        [3, 2],
        [7, 7],
      ],
      jumpersFrom: [
        [4, 5],
        [20, 6],
        [20, 8],
      ],
      jumpersTo: [],
    });
  });

  it("follows pins that the bench gives, and says which circuit has none", () => {
    const din = "connector: din-5, role: DTE, pins: { 1: TxD, 2: SG, 3: RxD }, levels: V.28";
    const cable = cableOf(din, "connector: DE-9, role: DCE, levels: V.28");
    expect(design(cable, false).wires).toEqual([
      [1, 3],
      [3, 2],
      [2, 5],
    ]);
    expect(designCable(cable.from, cable.to, { handshake: true })).toMatchObject({
      possible: false,
      why: ["p has no pin for RTS", "p has no pin for CTS"],
    });
  });

  it("is refused where the levels would do harm", () => {
    const cable = cableOf("connector: DE-9, role: DTE, levels: TTL 5 V", "connector: DE-9, role: DTE, levels: V.28");
    const made = designCable(cable.from, cable.to, { handshake: false });
    expect(made.possible).toBe(false);
    expect(JSON.stringify(made)).toContain("level converter");
  });
});

describe("a named cable", () => {
  const wires = (port: string, terminal: string, kind: string) => {
    const found = cableNets(cableOf(port, terminal, kind));
    if (!found.known) throw new Error("not known");
    return found.wiring.wires;
  };
  const din = "connector: din-5, role: DTE, pins: { 1: TxD, 2: SG, 3: RxD }";

  it("is wired for the machine where its connector has no usual circuits", () => {
    expect(wires(din, "connector: DE-9, role: DCE", "kind: straight")).toEqual([
      [1, 3],
      [2, 5],
      [3, 2],
    ]);
    expect(wires(din, "connector: DE-9, role: DTE", 'kind: "three wires, crossed"')).toEqual([
      [1, 2],
      [3, 3],
      [2, 5],
    ]);
  });

  it("is wired as is usual where a machine has its circuits elsewhere", () => {
    const swapped = "connector: DB-25, role: DTE, pins: { 2: RxD, 3: TxD, 7: SG }";
    const cable = cableOf(swapped, "connector: DB-25, role: DTE", 'kind: "three wires, crossed"');
    expect(problems(cable).map((each) => each.code)).toContain("no-data");
  });
});

describe("problems of a cable", () => {
  it("tell of a part that waits for CTS where the bench does not say how the end shakes hands", () => {
    const crossed = (port: string) =>
      problems(
        cableOf(
          `uart: MC6850, connector: DB-25, role: DTE, ${port}`,
          "connector: DB-25, role: DTE",
          'kind: "three wires, crossed"',
        ),
      ).map((each) => each.code);
    expect(crossed("levels: V.28")).toEqual(["may-hold"]);
    expect(crossed("handshake: none")).toEqual([]);
  });

  it("name the levels of each circuit in words", () => {
    const cable = cableOf(
      "connector: DE-9, role: DTE, levels: TTL 5 V",
      "connector: DE-9, role: DTE, levels: V.28",
      'kind: "three wires, crossed"',
    );
    const found = cableNets(cable);
    if (!found.known) throw new Error("not known");
    const circuits = cableCircuits(cable, found.nets);
    expect(circuits.map(({ driver, meeting }) => [driver.end, driver.circuit, meeting?.verdict])).toEqual(
      expect.arrayContaining([
        ["from", "TxD", "fails"],
        ["to", "TxD", "damages"],
      ]),
    );
    expect(circuits.find((each) => each.meeting?.verdict === "fails")!.meeting!.sentence).toContain(
      "polarity is inverted",
    );
  });
});

describe("the continuity list", () => {
  it("has every pair of contacts exactly once", () => {
    const cable = cableOf(
      "connector: DE-9, role: DTE, levels: V.28",
      "connector: DE-9, role: DTE, levels: V.28",
      "kind: null modem",
    );
    const found = cableNets(cable);
    if (!found.known) throw new Error("not known");
    const { beep, silent } = continuity(found.nets);
    const key = (pair: readonly [{ end: string; pin: number }, { end: string; pin: number }]) =>
      pair
        .map((each) => each.end + each.pin)
        .sort()
        .join();
    const all = [...beep, ...silent].map(key);
    expect(all).toHaveLength((18 * 17) / 2);
    expect(new Set(all).size).toBe(all.length);
    // A null modem (7 wires): TxD, RxD, SG, RTS, CTS one pair each; DTR with DSR and DCD three pairs each way.
    expect(beep.map(key)).toEqual(
      expect.arrayContaining(["from2,to3", "from3,to2", "from5,to5", "from7,to8", "from8,to7"]),
    );
    expect(beep).toHaveLength(5 + 3 + 3);
  });

  it("has a short way that settles every pair of which one contact has a wire", () => {
    const cable = cableOf("connector: DE-9, role: DTE", "connector: DE-9, role: DTE", 'kind: "three wires, crossed"');
    const found = cableNets(cable);
    if (!found.known) throw new Error("not known");
    const { silent, shortly } = continuity(found.nets);
    const net = (each: { end: string; pin: number }) =>
      found.nets.findIndex(({ pins }) => pins.some((pin) => pin.end === each.end && pin.pin === each.pin));
    const pair = (one: number, other: number) => [Math.min(one, other), Math.max(one, other)].join();
    const probed = new Set(shortly.flatMap(({ on, against }) => against.map((each) => pair(net(on), net(each)))));
    const left = silent.filter(([one, other]) => !probed.has(pair(net(one), net(other))));
    expect(left.every((both) => both.every((each) => found.nets[net(each)]!.pins.length === 1))).toBe(true);
    // Twelve contacts of both plugs have no wire.
    expect(left).toHaveLength((12 * 11) / 2);
  });
});

describe("the drawing", () => {
  it("has the contacts of a D plug where they lie: long row up, mirrored between pins and sockets", () => {
    const de9 = catalogue.connectors.get("de-9")!;
    const upper = (contacts: "pins" | "sockets") =>
      contactView(de9, contacts)
        .places.filter((each) => each.y === 0)
        .sort((a, b) => a.x - b.x)
        .map((each) => each.pin);
    expect(upper("sockets")).toEqual([1, 2, 3, 4, 5]);
    expect(upper("pins")).toEqual([5, 4, 3, 2, 1]);
    const db25 = contactView(catalogue.connectors.get("db-25")!, "sockets");
    // 13 above 12, each of the lower ones between two of the upper ones.
    expect(db25.places.filter((each) => each.y === 0)).toHaveLength(13);
    expect(db25.places.find((each) => each.pin === 14)).toEqual({ pin: 14, x: 0.5, y: 1 });
  });

  it("is well-formed, names every wire and jumper, and takes any names", () => {
    const cable = cableOf(
      "connector: DB-25, role: DTE, levels: V.28, contacts: pins",
      "connector: header-10, role: DTE, levels: V.28, handshake: lines",
    );
    const odd = { name: `<"&'> cable`, from: cable.from, to: { ...cable.to, name: "a < b & c" } };
    const svg = drawCable(odd, design(cable, true));
    expect(svg).toContain("&lt;&quot;&amp;'&gt; cable");
    // Every tag that opens is closed: taken away pair by pair, nothing is left.
    const open: string[] = [];
    for (const [tag, slash, name, self] of svg.matchAll(/<(\/?)([a-z]+)[^>]*?(\/?)>/g))
      if (slash) expect(open.pop(), tag).toBe(name);
      else if (!self) open.push(name!);
    expect(open).toEqual([]);
    expect(svg.match(/<polyline/g)).toHaveLength(5 + 2 + 2);
    expect(svg.match(/<circle/g)).toHaveLength(25 + 10);
    expect(svg).toContain("2 TxD");
    expect(svg).not.toMatch(/NaN|undefined/);
    // No text runs out of the picture, at 7 px a letter.
    const width = Number(/ width="(\d+(?:\.\d+)?)"/.exec(svg)![1]);
    for (const [, x, text] of svg.matchAll(/<text x="([\d.]+)"[^>]*>([^<]*)</g))
      if (text!.length > 2) expect(Number(x) + text!.replace(/&[a-z]+;/g, "x").length * 7, text).toBeLessThan(width);
  });

  it("says pins or sockets only where that is given or a custom", () => {
    const din = (keys: string) => {
      const cable = cableOf(
        `connector: din-5, role: DTE, pins: { 1: TxD, 2: SG, 3: RxD }${keys}`,
        "connector: DE-9, role: DTE",
      );
      return drawCable(cable, design(cable, false));
    };
    expect(din("")).toMatch(/>Plug for p \(DTE\): 5-pin DIN[^<]*\), from the wire side</);
    expect(din(", contacts: sockets")).toMatch(/>Plug for p \(DTE\): 5-pin DIN[^<]*, pins, from the wire side</);
    expect(din("")).toMatch(/>Plug for t \(DTE\): 9-pin D[^<]*, sockets, from the wire side</);
  });

  it("refuses a pin that the connector does not have", () => {
    const cable = cableOf("connector: DE-9, role: DTE", "connector: DE-9, role: DTE");
    expect(() => drawCable(cable, { wires: [[12, 3]], jumpersFrom: [], jumpersTo: [] })).toThrow("p has no pin 12");
  });
});
