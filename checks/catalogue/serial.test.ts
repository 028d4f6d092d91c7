import { loadCatalogue } from "@rouse/core/catalogue";
import { describe, expect, it } from "vitest";

const { chips, levels } = loadCatalogue();
const volts = (each: { value: { value: number } } | undefined) => each!.value.value;

// Source: V.28 levels as the application notes of the MC1488 data sheet (rev. 8) and a board manual's table give them:
// driver 5 to 15 V of either sign into 3 to 7 kΩ; receiver −3 V and below is mark, +3 V and above is space.
describe("V.28 levels", () => {
  const v28 = levels.get("V.28")!;

  it("are those of the published tables", () => {
    expect([volts(v28.mark!.from), volts(v28.mark!.to)]).toEqual([-15, -5]);
    expect([volts(v28.space!.from), volts(v28.space!.to)]).toEqual([5, 15]);
    expect(volts(v28.receivedMark!.to)).toBe(-3);
    expect(volts(v28.receivedSpace!.from)).toBe(3);
    expect([volts(v28.load!.from), volts(v28.load!.to)]).toEqual([3000, 7000]);
    expect(volts(v28.capacitance)).toBeCloseTo(2500e-12, 15);
    expect(volts(v28.open)).toBe(25);
  });

  // SLLS094C: |Vo| at least 6 V at ±9 V, 9 V at ±13.2 V, into 3 kΩ. SLLS047L, SLLS095D, MC1489: inputs bear ±30 V.
  it.each(["MC1488", "SN75188", "MAX232"])("are met by the drivers of the %s", (part) => {
    const { line } = chips.get(part)!;
    expect(volts(line!.outputHigh)).toBeGreaterThanOrEqual(volts(v28.space!.from));
    expect(volts(line!.outputLow)).toBeLessThanOrEqual(volts(v28.mark!.to));
    if (part !== "MAX232") expect(volts(line!.outputHigh)).toBe(6);
  });

  it.each(["MC1489", "SN75189", "MAX232"])("do the inputs of the %s no harm", (part) => {
    expect(volts(chips.get(part)!.line!.inputMax)).toBe(30);
    expect(volts(chips.get(part)!.line!.inputMax)).toBeGreaterThan(volts(v28.open));
  });

  it("are beyond what a TTL input bears", () => {
    expect(volts(v28.space!.to)).toBeGreaterThan(volts(levels.get("TTL 5 V")!.survives!.to));
    expect(volts(v28.mark!.to)).toBeLessThan(volts(levels.get("TTL 5 V")!.survives!.from));
  });
});

// Source: divisor tables for 1.8432 MHz printed in two manuals of 16450 boards (Fig 22; Table 2-4). The error is printed
// without its sign, in percent; no entry means that none is printed.
describe("the 16450 at 1.8432 MHz", () => {
  const { uart } = chips.get("16450")!;
  it.each([
    [50, 2304, 0],
    [75, 1536, 0],
    [110, 1047, 0.026],
    [134.5, 857, 0.058],
    [150, 768, 0],
    [300, 384, 0],
    [600, 192, 0],
    [1200, 96, 0],
    [1800, 64, 0],
    [2000, 58, 0.69],
    [2400, 48, 0],
    [3600, 32, 0],
    [4800, 24, 0],
    [7200, 16, 0],
    [9600, 12, 0],
    [19200, 6, 0],
    [38400, 3, 0],
    [56000, 2, 2.86],
    [57600, 2, 0],
    [115200, 1, 0],
  ])("makes %d bit/s from the divisor %d with the published error of %d %%", (rate, divisor, published) => {
    const [ratio] = uart!.ratios!;
    expect(uart!.generator).toBe("programmed");
    const made = 1_843_200 / (ratio! * divisor);
    expect(Math.abs(made / rate - 1) * 100).toBeCloseTo(published, published > 1 ? 2 : 3);
  });
});

// Source: the 6551's data sheet as far as seen: 15 rates from 50 to 19,200 from 1.8432 MHz, 96 cycles a bit at the fastest.
// Arithmetic: the other counts must be multiples of 16 that give the nominal rate.
describe("the 6551 at 1.8432 MHz", () => {
  const { counts } = chips.get("6551")!.uart!;

  it("has 15 rates from 50 to 19,200 bit/s, the fastest of 96 cycles", () => {
    expect(counts).toHaveLength(15);
    expect(counts!.map(({ code }) => code)).toEqual(Array.from({ length: 15 }, (_, index) => index + 1));
    expect(counts![0]).toEqual({ code: 1, rate: 50, count: 36_864 });
    expect(counts![14]).toEqual({ code: 15, rate: 19_200, count: 96 });
  });

  it.each(counts!)("makes $rate bit/s from $count cycles", ({ rate, count }) => {
    expect(count % 16).toBe(0);
    expect(Math.abs(1_843_200 / count / rate - 1)).toBeLessThan(0.0001);
  });
});

// Source: a 1980s handbook's page on the 6850 as quoted in 1982: CR1,0 = 00 ÷1, 01 ÷16, 10 ÷64; CR4–2 = 000 7E2, 001 7O2,
// 010 7E1, 011 7O1, 100 8N2, 101 8N1, 110 8E1, 111 8O1.
describe("the 6850", () => {
  it.each(["MC6850", "MC68A50", "MC68B50"])("divides by the handbook's ratios in the %s", (part) => {
    expect(chips.get(part)!.uart!.ratios).toEqual([1, 16, 64]);
  });

  it("has the handbook's eight frames, in the order of the control bits", () => {
    expect(chips.get("MC6850")!.uart!.frames).toEqual("7E2 7O2 7E1 7O1 8N2 8N1 8E1 8O1".split(" "));
  });
});

// Source: 8080 system user's manual, data sheet of the 8251: clock rate 1, 16 or 64 times the bit rate; 45 mA, at most 80.
describe("the 8251", () => {
  it("has the ratios and the current of its data sheet", () => {
    expect(chips.get("8251")!.uart!.ratios).toEqual([1, 16, 64]);
    expect(volts(chips.get("8251")!.supply[0]!.typical)).toBeCloseTo(0.045, 9);
    expect(volts(chips.get("8251")!.supply[0]!.max)).toBeCloseTo(0.08, 9);
  });
});
