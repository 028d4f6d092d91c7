/**
 * The board's arithmetic against worked examples and ratings of data sheets and published tables; each source is named.
 */
import { readBench } from "@rouse/core/bench";
import {
  fanOutOf,
  fanOuts,
  readCycle,
  regulatorHeat,
  rippleValley,
  timeForMemory,
  WASHER,
  wireDiameter,
  wireResistance,
} from "@rouse/core/board";
import { findChip, loadCatalogue } from "@rouse/core/catalogue";
import { fitChain } from "@rouse/core/fit";
import { describe, expect, it } from "vitest";

const catalogue = loadCatalogue();
const chip = (part: string) => findChip(catalogue, part)!;
const benchOf = (text: string) => {
  const { bench, issues } = readBench(`rouse: 1\nname: x\n${text}`, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench;
};
const finding = (id: string, text: string) => {
  const found = fitChain({ bench: benchOf(text), catalogue, images: [] }).findings.find((each) => each.id === id);
  if (!found) throw new Error(`no finding ${id}`);
  return found;
};

// Source: SDLS025B (74LS00): IOL 8 mA, IOH 0.4 mA, IIL 0.4 mA, IIH 20 µA: min(8 ÷ 0.4, 400 ÷ 20) = 20.
describe("fan-out of 74LS", () => {
  it("is 20 gates on a gate, and not 21", () => {
    expect(fanOutOf(chip("74LS00"), chip("74LS00"))).toBe(20);
    const lines = (count: number) =>
      `computer: { boards: { b: { lines: { X: { drivenBy: 74LS00, loads: { 74LS00: ${count} } } } } } }`;
    expect(finding("fan-out/X", lines(20)).verdict).not.toBe("stops");
    expect(finding("fan-out/X", lines(21)).verdict).toBe("stops");
  });

  it("counts a gate as one unit load at both levels", () => {
    const [line] = fanOuts(
      benchOf("computer: { boards: { b: { lines: { X: { drivenBy: 74LS00, loads: { 74LS00: 7 } } } } } }").computer!,
    );
    expect(line!.load.unitsHigh).toBeCloseTo(7, 9);
    expect(line!.load.unitsLow).toBeCloseTo(7, 9);
  });

  // Source: 24 mA of the bus drivers (DM74LS244 data sheet) over the 0.4 mA of SDLS025B: 60 at the low level.
  it("is 60 gates on a bus driver, at the low level", () => {
    expect(fanOutOf(chip("74LS244"), chip("74LS00"))).toBe(60);
  });
});

// Source: MC6809E data sheet, tACC 695, 440, 330 ns at 1, 1.5, 2 MHz (from memory), and its sum tcyc − tf − tAD − tDSR:
// 1000 − 25 − 200 − 80, 667 − 25 − 140 − 60, 500 − 20 − 110 − 40.
describe("time for memory on the 6809", () => {
  it.each([
    ["MC6809E", 1, 695],
    ["MC68A09E", 1.5, 440],
    ["MC68B09E", 2, 330],
  ])("is the %s's access time at %d MHz", (part, megahertz, nanoseconds) => {
    const cycle = readCycle(chip(part))!;
    expect(timeForMemory(cycle, megahertz * 1e6) * 1e9).toBeCloseTo(nanoseconds, 3);
  });
});

// Source: 6502 data sheet (from memory): tADS 300, tDSU 100, tACC 575 ns at 1 MHz; 6502A 310 ns at 2 MHz.
// MC6800 data sheet (from memory): 605 ns at 1 MHz.
describe("time for memory on the 6502 and 6800", () => {
  it.each([
    ["6502", 1, 575],
    ["6502A", 2, 310],
    ["MC6800", 1, 605],
  ])("is the %s's access time at %d MHz", (part, megahertz, nanoseconds) => {
    expect(timeForMemory(readCycle(chip(part))!, megahertz * 1e6) * 1e9).toBeCloseTo(nanoseconds, 3);
  });
});

// Source: Z80 data sheet (from memory): an opcode is taken at the rise of T3, two periods after that of T1; Z80A 110 ns
// address delay, 35 ns set-up: 2 × 250 − 110 − 35 = 355 ns. A wait state adds a period.
describe("time for memory on the Z80", () => {
  it("is 355 ns in a Z80A's opcode fetch at 4 MHz, 605 ns with a wait state", () => {
    const cycle = readCycle(chip("Z80A"))!;
    expect(timeForMemory(cycle, 4e6) * 1e9).toBeCloseTo(355, 6);
    expect(timeForMemory(cycle, 4e6, 1) * 1e9).toBeCloseTo(605, 6);
  });
});

// Source: KA78xx and L78xx data sheets: 5 °C/W junction to case, 65 °C/W to air, TJ = TA + P × θ.
describe("the 7805", () => {
  const { regulator } = chip("7805");
  const toCase = regulator!.junctionToCase!.value.value;

  it("is at 102 °C with 9 V in, 1 A, 10 °C/W of heat sink and 40 °C air", () => {
    const heat = regulatorHeat(9, 5, 1, 40, toCase + WASHER + 10);
    expect(heat.power).toBeCloseTo(4, 9);
    expect(heat.junction).toBeCloseTo(102, 9);
  });

  it("would be at 285 °C bare in 25 °C air", () => {
    expect(regulatorHeat(9, 5, 1, 25, regulator!.junctionToAmbient!.value.value).junction).toBeCloseTo(285, 9);
  });

  // Source: a published tutorial on 5 V supplies: 12 V secondary, a bridge of 1 V a diode: √2 × 12 − 2 × 1 = 15 V at
  // the regulator; 7805 at 1 A: (15 − 5) × 1 = 10 W.
  it("burns 10 W behind a 12 V transformer, as the tutorial works out", () => {
    const { peak } = rippleValley(12, "bridge", 1, 50, 1, 0);
    expect(peak).toBeCloseTo(15, 1);
    expect(regulatorHeat(peak, 5, 1, 25, 1).power).toBeCloseTo(10, 1);
  });
});

describe("ripple", () => {
  // Source: a published exercise on a full-wave rectifier: 12.0 V, 60 Hz, 0.154 A over 8.33 ms with 1 V of ripple: 1,283 µF.
  it("is 1 V with 1,283 µF, 0.154 A and 60 Hz", () => {
    const { ripple, period } = rippleValley(12, "bridge", 1283e-6, 60, 0.154, 0);
    expect(period * 1e3).toBeCloseTo(8.33, 2);
    expect(ripple).toBeCloseTo(1, 2);
  });

  // Source: the half-wave exercise of an entrance examination (ECE 2016, set 2): 475 µF, 1 A, a period of 1 ms: I × T ÷ C,
  // less the short time of charging, 2.105 V at most.
  it("is at most 2.105 V with 475 µF, 1 A and a period of 1 ms, half-wave", () => {
    expect(rippleValley(10, "half wave", 475e-6, 1000, 1, 0).ripple).toBeCloseTo(2.105, 3);
  });
});

// Source: published table of American wire gauges (ASTM B258 sizes; copper at 20 °C): mm and Ω a kilometre.
describe("wire", () => {
  it.each([
    [20, 0.8128, 33.29],
    [22, 0.6452, 52.94],
    [24, 0.5105, 84.2],
    [26, 0.4039, 133.86],
    [28, 0.32, 212.87],
    [30, 0.254, 338.5],
  ])("of gauge %d is as thick and resists as the table says", (gauge, millimetres, ohms) => {
    expect(Math.abs(wireDiameter(gauge) * 1e3 - millimetres) / millimetres).toBeLessThan(0.006);
    expect(Math.abs(wireResistance(gauge) * 1e3 - ohms) / ohms).toBeLessThan(0.006);
  });
});
