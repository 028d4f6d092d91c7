import { findChip, loadCatalogue } from "@rouse/core/catalogue";
import { describe, expect, it } from "vitest";

const catalogue = loadCatalogue();
const chip = (part: string) => findChip(catalogue, part)!;
const base = (each: { value: { value: number } } | undefined) => each!.value.value;

// Source: SDLS025B (74LS00): IOL 8 mA, IOH 0.4 mA, IIH 20 µA, IIL 0.4 mA, ICC 1.6 mA high and 4.4 mA low.
describe("74LS ratings", () => {
  const fanOut = (driver: string, load: string) => {
    const { output } = chip(driver);
    const { input } = chip(load);
    return Math.floor(Math.min(base(output!.low) / base(input!.low), base(output!.high) / base(input!.high)) + 1e-9);
  };

  it("give the fan-out of 20 that SDLS025B's ratings come to", () => {
    expect(fanOut("LS00", "LS00")).toBe(20);
    expect(fanOut("LS138", "LS00")).toBe(20);
  });

  // Arithmetic on SDLS025B and the bus drivers' 24 mA: 24 ÷ 0.4.
  it("let a 24 mA bus driver sink 60 standard inputs", () => {
    expect(Math.round(base(chip("LS244").output!.low) / base(chip("LS00").input!.low))).toBe(60);
  });

  // Sources: DM74LS74A, DM74LS138, DM74LS157/158, DM74LS161A/163A data sheets; FAST and LS TTL Data (393); data sheets of the
  // 04, 08 and 273. Largest supply current in mA.
  it.each([
    ["74LS00", 4.4],
    ["74LS04", 6.6],
    ["74LS08", 8.8],
    ["74LS74", 8],
    ["74LS138", 10],
    ["74LS157", 16],
    ["74LS158", 8],
    ["74LS161", 32],
    ["74LS163", 32],
    ["74LS273", 27],
    ["74LS393", 26],
  ])("give the %s its %d mA", (part, milliamperes) => {
    const { max } = chip(part).supply[0]!;
    expect(base(max) * 1000).toBeCloseTo(milliamperes, 9);
    expect(max!.source.kind).toBe("data sheet");
  });

  // Sources: the same sheets: largest delay in ns at 15 pF.
  it.each([
    ["74LS74", "clock to output", 30],
    ["74LS157", "data to output", 14],
    ["74LS157", "select to output", 27],
    ["74LS161", "clock to output", 27],
    ["74LS393", "clock to last output", 60],
    ["74LS273", "clock to output", 27],
  ])("give the %s its delay from %s", (part, path, nanoseconds) => {
    const { max } = chip(part).delays.find((each) => each.path === path)!;
    expect(base(max) * 1e9).toBeCloseTo(nanoseconds, 6);
    expect(max!.source.kind).toBe("data sheet");
  });
});

// Source: MC6809 and MC6809E data sheets, 1984, as quoted: data set-up before the fall of E 80, 60, 40 ns; write data from Q
// 200, 140, 110 ns at 1, 1.5, 2 MHz. Access time must agree with cycle − fall − address delay − set-up.
describe("6809 bus timing", () => {
  it.each([
    ["6809", 1e6, 80, 200, 25],
    ["68A09", 1.5e6, 60, 140, 25],
    ["68B09", 2e6, 40, 110, 20],
    ["6809E", 1e6, 80, 200, 25],
    ["68A09E", 1.5e6, 60, 140, 25],
    ["68B09E", 2e6, 40, 110, 20],
  ])("of the %s is the data sheet's, and adds up", (part, clock, setup, write, fall) => {
    const { clockMax, bus } = chip(part).cpu!;
    expect(base(clockMax)).toBe(clock);
    expect(base(bus!.readSetup) * 1e9).toBeCloseTo(setup, 6);
    expect(base(bus!.writeDataDelay) * 1e9).toBeCloseTo(write, 6);
    const left = 1e9 / clock - fall - base(bus!.addressDelay) * 1e9 - base(bus!.readSetup) * 1e9;
    expect(Math.abs(base(bus!.access) * 1e9 - left)).toBeLessThan(2.5);
  });
});

// Source: KA78xx and L78xx data sheets (35 V, 1 A, about 2 V of dropout, 5 and 65 °C/W, 125 °C); worked by TJ = TA + P·θ.
describe("the 7805", () => {
  const { regulator } = chip("7805");
  const junction = (ambient: number, input: number, current: number, thermal: number) =>
    ambient + (input - base(regulator!.output)) * current * thermal;

  it("shuts down bare with 9 V and 1 A: 285 °C by the arithmetic", () => {
    expect(base(regulator!.current)).toBe(1);
    expect(junction(25, 9, 1, base(regulator!.junctionToAmbient))).toBeCloseTo(285, 9);
    expect(285).toBeGreaterThan(base(regulator!.junctionMax));
  });

  it("stays at 102 °C in 40 °C with 0.5 °C/W of contact and a heat sink of 10 °C/W", () => {
    expect(junction(40, 9, 1, base(regulator!.junctionToCase) + 0.5 + 10)).toBeCloseTo(102, 9);
    expect(102).toBeLessThan(base(regulator!.junctionMax));
  });

  it("needs 7 V at the lowest of its input", () => {
    expect(base(regulator!.output) + base(regulator!.dropout)).toBe(7);
    expect(base(regulator!.inputMax)).toBe(35);
  });
});

// Sources: data sheets of the dynamic RAMs: 128 rows within 2 ms (4116, 4164); 302.5 mW at 5.5 V is 55 mA.
describe("dynamic RAM", () => {
  it.each(["4116", "4164"])("%s is refreshed in 128 rows within 2 ms", (part) => {
    const { refresh } = chip(part).memory!;
    expect(refresh!.rows).toBe(128);
    expect(base(refresh!.within)).toBeCloseTo(0.002, 12);
  });

  it("takes 55 mA in the 4164", () => {
    expect(base(chip("4164").supply[0]!.max)).toBeCloseTo(0.3025 / 5.5, 9);
  });
});

// Common practice, no source: an EPROM's number is its size in kilobits behind the 27, a RAM's is its size in kilobits
// behind its first digits.
describe("memory sizes", () => {
  it.each([
    ["2708", 8],
    ["2716", 16],
    ["2732", 32],
    ["2764", 64],
    ["27128", 128],
    ["27256", 256],
    ["6116", 16],
    ["6264", 64],
    ["62256", 256],
    ["4116", 16],
    ["4164", 64],
    ["41256", 256],
    ["2114", 4],
    ["4416", 64],
    ["41464", 256],
  ])("make the %s hold %d kilobits", (part, kilobits) => {
    const { words, bits } = chip(part).memory!;
    expect(words * bits).toBe(kilobits * 1024);
  });
});
