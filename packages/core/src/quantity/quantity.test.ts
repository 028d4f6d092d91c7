import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  type Dimension,
  EXAMPLES,
  formatDuration,
  formatNumber,
  formatQuantity,
  formatValue,
  parseAddress,
  parseQuantity,
} from "./index.ts";

describe("parseQuantity", () => {
  it.each([
    ["1.8432 MHz", "frequency", 1_843_200],
    ["48 KiB", "memory", 49_152],
    ["2,400 bit/s", "rate", 2400],
    ["300 rpm ± 1 %", "rotation", 5],
    ["10 kohm", "resistance", 10_000],
    ["20 us", "time", 20e-6],
    ["96 tpi", "trackDensity", 96 / 0.0254],
  ] as const)("reads %s", (text, dimension, value) => {
    expect(parseQuantity(text, dimension).value).toBeCloseTo(value, 9);
  });

  it("keeps the bounds of a tolerance, in percent or in units", () => {
    expect(parseQuantity("5 V ± 5 %", "voltage")).toMatchObject({ low: 4.75, high: 5.25 });
    expect(parseQuantity("5 V +/- 250 mV", "voltage")).toMatchObject({ low: 4.75, high: 5.25 });
    expect(parseQuantity("-12 V ± 10 %", "voltage").low).toBeCloseTo(-13.2, 9);
  });

  it.each([
    ["5", "voltage", "has no unit"],
    ["5 MHz", "voltage", "unit of frequency"],
    ["5 volts", "voltage", "unknown unit “volts”"],
    ["1.8432 mhz", "frequency", "did you mean “MHz”?"],
    ["about 5 V", "voltage", "not a number with a unit"],
    ["5,1 V ± 2,5 %", "voltage", "did you mean “5.1 V ± 2.5 %”?"],
    ["1,8432 MHz", "frequency", "did you mean “1.8432 MHz”?"],
    ["1,2,3 V", "voltage", "not a number with a unit"],
    ["5 V ± 5 MHz", "voltage", "tolerance in frequency"],
  ] as const)("refuses %s and says what it expected", (text, dimension, why) => {
    expect(() => parseQuantity(text, dimension)).toThrow(why);
    expect(() => parseQuantity(text, dimension)).toThrow(EXAMPLES[dimension]);
  });

  it("reads back what it prints, for every dimension", () => {
    const dimensions = Object.keys(EXAMPLES).filter((each) => each !== "count") as Dimension[];
    fc.assert(
      fc.property(fc.constantFrom(...dimensions), fc.integer({ min: 1, max: 99_999 }), (dimension, number) => {
        const unit = parseQuantity(EXAMPLES[dimension], dimension);
        const value = (unit.value * number) / 100;
        const back = parseQuantity(formatValue(value, dimension, 9), dimension).value;
        expect(Math.abs(back - value)).toBeLessThanOrEqual(Math.abs(value) * 1e-6);
      }),
    );
  });
});

describe("printing", () => {
  it("tells every byte and every piece, however many", () => {
    expect(formatValue(1_066_496, "memory")).toBe("1,066,496 bytes");
    expect(formatValue(1_234_567, "count")).toBe("1,234,567");
  });

  it("parts thousands and drops zeros that say nothing", () => {
    expect(formatNumber(2400)).toBe("2,400");
    expect(formatNumber(1.8432)).toBe("1.8432");
    expect(formatNumber(-12)).toBe("−12");
    expect(formatValue(0.35, "current")).toBe("350 mA");
    expect(formatValue(256_256, "memory", 9)).toBe("256,256 bytes");
    expect(formatQuantity(parseQuantity("5 V ± 250 mV", "voltage"))).toBe("5 V ± 5 %");
  });
});

describe("formatDuration", () => {
  it.each([
    [7.25, "7.3 s"],
    [45, "45 s"],
    [119.6, "2 min"],
    [720, "12 min"],
    [7199, "2 h"],
    [3900, "65 min"],
    [7500, "2 h 5 min"],
  ])("prints %d seconds as people say them", (seconds, text) => {
    expect(formatDuration(seconds)).toBe(text);
  });
});

describe("parseAddress", () => {
  it("reads hex as the trade writes it, and plain numbers", () => {
    expect(parseAddress("$C000")).toBe(0xc000);
    expect(parseAddress("0xC000")).toBe(0xc000);
    expect(parseAddress(49152)).toBe(0xc000);
    expect(() => parseAddress("C000h")).toThrow("expected something like “$C000”");
  });
});
