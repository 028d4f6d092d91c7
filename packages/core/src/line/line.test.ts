import { describe, expect, it } from "vitest";
import { type BenchCable, readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import {
  cableNets,
  cableProblems,
  charactersPerSecond,
  meet,
  mismatchLimit,
  nearestStandardRate,
  portRate,
  readFrame,
} from "./index.ts";

const catalogue = loadCatalogue();
const cableOf = (cable: string, port = "role: DTE", terminal = "role: DTE", connector = "DB-25"): BenchCable => {
  const text = `rouse: 1\nname: x\nports: { p: { connector: ${connector.toLowerCase()}, ${port} } }\nterminals: { t: { connector: db-25, ${terminal} } }\ncables: { c: { from: p, to: t, ${cable} } }\n`;
  const { bench, issues } = readBench(text, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench.cables[0]!;
};
const codes = (cable: BenchCable): string[] => {
  const nets = cableNets(cable);
  if (!nets.known) throw new Error(`missing ${nets.missing.join(", ")}`);
  return cableProblems(cable, nets.nets).map((each) => each.code);
};

describe("cable nets", () => {
  it("finds transmit into transmit where two terminals' ends meet over a straight cable", () => {
    const found = codes(cableOf("kind: straight"));
    expect(found).toContain("drivers-fight");
    expect(found.filter((code) => code === "no-data")).toHaveLength(2);
  });

  it("does not know what a cable of no said kind joins", () => {
    expect(cableNets(cableOf("length: 2 m"))).toEqual({ known: false, missing: ["cables.c.kind"] });
  });

  it.each(["null modem", "null modem, looped handshake", "three wires, crossed"])(
    "passes data between two DTEs over %s",
    (kind) => {
      expect(codes(cableOf(`kind: "${kind}"`))).toEqual([]);
    },
  );

  it("passes data and handshake straight from DTE to DCE", () => {
    expect(codes(cableOf("kind: straight", "role: DCE, handshake: lines", "role: DTE, handshake: lines"))).toEqual([]);
  });

  it("finds a handshake that nothing will ever assert", () => {
    expect(codes(cableOf('kind: "three wires, crossed"', "role: DTE, handshake: lines"))).toEqual(["never-asserted"]);
    expect(codes(cableOf('kind: "null modem, looped handshake"', "role: DTE, handshake: lines"))).toEqual([]);
    expect(codes(cableOf('kind: "null modem"', "role: DTE, handshake: lines"))).toEqual([]);
  });

  it("tells a missing ground and a shield that stands in for it", () => {
    expect(codes(cableOf("kind: wired, wires: [[2, 3], [3, 2]]"))).toEqual(["no-ground"]);
    expect(codes(cableOf("kind: wired, wires: [[2, 3], [3, 2], [1, 1]]"))).toEqual(["shield-as-ground"]);
  });

  it("crosses between connectors of two kinds", () => {
    expect(codes(cableOf('kind: "null modem"', "role: DTE", "role: DTE", "DE-9"))).toEqual([]);
    expect(codes(cableOf("kind: straight", "role: DTE", "role: DCE", "DE-9"))).toEqual([]);
  });

  it("asks for the role instead of guessing it from the connector", () => {
    expect(cableNets(cableOf("kind: straight", "levels: V.28"))).toEqual({ known: false, missing: ["ports.p.role"] });
  });
});

describe("frames and rates", () => {
  it("counts the bits of a frame", () => {
    expect(readFrame("8N1")).toMatchObject({ bits: 10, lastSample: 9.5 });
    expect(readFrame("7E1")).toMatchObject({ bits: 10, lastSample: 9.5 });
    expect(readFrame("8E2")).toMatchObject({ bits: 12, lastSample: 10.5 });
    expect(charactersPerSecond(2400, readFrame("7E1"))).toBe(240);
  });

  it("allows an 8N1 receiver that samples 16 times a bit 4.6 %", () => {
    expect(mismatchLimit(readFrame("8N1"))).toBeCloseTo(0.0461, 4);
  });

  const rateOf = (port: string) =>
    portRate(readBench(`rouse: 1\nname: x\nports: { p: { ${port} } }\n`, catalogue).bench!.ports[0]!);

  it.each([
    ["uart: MC6850, clock: 1.8432 MHz, divide: 48, ratio: 16", 2400],
    ["uart: MC6850, clock: 614.4 kHz, ratio: 64", 9600],
    ["uart: '16450', clock: 1.8432 MHz, divisor: 12", 9600],
    ["uart: '16450', clock: 1.8432 MHz, divisor: 58", 1986.2069],
    ["uart: '6551', clock: 1.8432 MHz, code: 14", 9600],
  ])("works out the rate of %s", (port, rate) => {
    expect(rateOf(port)).toMatchObject({ known: true });
    expect((rateOf(port) as { rate: number }).rate).toBeCloseTo(rate, 3);
  });

  it("says which key is missing, and never assumes one", () => {
    expect(rateOf("uart: MC6850, clock: 1.8432 MHz")).toMatchObject({ known: false, missing: ["ports.p.ratio"] });
    expect(rateOf("uart: MC6850, ratio: 16")).toMatchObject({ known: false, missing: ["ports.p.clock"] });
    expect(rateOf("uart: XX999, clock: 1 MHz, ratio: 16")).toMatchObject({ known: false, missing: ["ports.p.uart"] });
  });

  it("carries the clock's tolerance through", () => {
    expect(rateOf("uart: MC6850, clock: 1.8432 MHz ± 1 %, divide: 48, ratio: 16")).toMatchObject({
      low: 2376,
      high: 2424,
    });
  });

  it("names the standard rate nearby", () => {
    expect(nearestStandardRate(2403.8)).toBe(2400);
    expect(nearestStandardRate(1986)).toBe(2000);
  });
});

describe("levels", () => {
  it("calls V.28 into a TTL input what it is: damage", () => {
    expect(meet("V.28", "TTL 5 V").verdict).toBe("damages");
    expect(meet("TTL 5 V", "V.28").verdict).toBe("fails");
    expect(meet("V.28", "V.28").verdict).toBe("fits");
    expect(meet("V.10", "V.28").sentence).toContain("V.10 drivers give 4 to 6 V");
    expect(meet("V.28", "V.10")).toMatchObject({ verdict: "marginal", sentence: expect.stringContaining("±12 V") });
    expect(meet("current loop", "current loop")).toMatchObject({
      verdict: "marginal",
      sentence: expect.stringContaining("only one, must feed the current"),
    });
  });
});
