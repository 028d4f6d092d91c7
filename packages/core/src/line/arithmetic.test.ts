import { describe, expect, it } from "vitest";
import { type BenchPort, readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import {
  edgeTime,
  flowOutcome,
  mismatchLimit,
  pacedSpeed,
  portRate,
  rateTable,
  readFrame,
  sampling,
  screenTimes,
  textTime,
} from "./index.ts";

const catalogue = loadCatalogue();
const portOf = (keys: string): BenchPort => {
  const { bench, issues } = readBench(`rouse: 1\nname: x\nports: { p: { ${keys} } }\n`, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench.ports[0]!;
};
const row = (keys: string, rate: number, frame = "8N1") => rateTable(portOf(keys), readFrame(frame), [rate])[0]!;
const written = (keys: string, rate: number, frame = "8N1") =>
  row(keys, rate, frame).writes.map(({ address, value }) => [address?.toString(16), value.toString(16)]);

describe("a CTC", () => {
  const at = (prescale: number, rate: number) =>
    row(`uart: Z80-SIO, clock: 4 MHz, ratio: 16, timer: { part: Z80-CTC, prescale: ${prescale}, count: 13 }`, rate);

  it("stays in its mode: the system clock comes in by another way than the trigger input's", () => {
    // 4 MHz ÷ 16 ÷ 16 = 15,625 bit/s: 9,600 is out of reach in timer mode, and 26 counts in counter mode.
    expect(at(16, 9600)).toMatchObject({ verdict: "no", setting: { timer: { prescale: 16, count: 2 } } });
    expect(at(256, 1200).setting.timer).toEqual({ prescale: 16, count: 13 });
    expect(at(1, 9600)).toMatchObject({ verdict: "good", setting: { timer: { prescale: 1, count: 26 } } });
  });
});

describe("the best of settings that are alike", () => {
  it("is the one that a program can choose without other parts", () => {
    // 1.8432 MHz ÷ 48 is 38.4 kHz: a 64th of it is 600 bit/s. For 1,200 the divider must be another one.
    const port = "uart: MC6850, clock: 1.8432 MHz, divide: 48, ratio: 16";
    expect(row(port, 600).setting).toEqual({ divide: 48, ratio: 64 });
    expect(row(port, 2400).setting).toEqual({ divide: 48, ratio: 16 });
    expect(row(port, 1200).setting).toEqual({ divide: 96, ratio: 16 });
  });
});

describe("timers before and in place of a serial part", () => {
  // Arithmetic: 4 MHz ÷ (16 × 13) ÷ 16 = 1,201.9; 1 MHz ÷ (102 + 2) = 9,615; 1 MHz ÷ (2 × (1 + 2)) ÷ 16 = 10,417.
  it.each([
    ["uart: Z80-SIO, clock: 4 MHz, ratio: 16, timer: { part: Z80-CTC, prescale: 16, count: 13 }", 1201.923],
    ["uart: Z80-SIO, clock: 1.8432 MHz, ratio: 16, timer: { part: Z80-CTC, prescale: 1, count: 12 }", 9600],
    ["uart: '6522', clock: 1 MHz, timer: { part: 6522, count: 102 }", 9615.385],
    ["uart: MC6850, clock: 1 MHz, ratio: 16, timer: { part: 6522, count: 1 }", 10_416.667],
    ["uart: '8251', clock: 2 MHz, ratio: 16, timer: { part: 8253, count: 13 }", 9615.385],
    ["uart: MC6821, clock: 1 MHz, bitCycles: 833", 1200.48],
    ["uart: '6551', clock: 307.2 kHz, code: 0", 19_200],
  ])("make the rate of %s", (keys, rate) => {
    const made = portRate(portOf(keys));
    expect(made).toMatchObject({ known: true });
    expect((made as { rate: number }).rate).toBeCloseTo(rate, 2);
  });

  it("say what is missing of a timer", () => {
    const sio = "uart: Z80-SIO, clock: 4 MHz, ratio: 16";
    expect(portRate(portOf(`${sio}, timer: { part: Z80-CTC, prescale: 16 }`))).toMatchObject({
      missing: ["ports.p.timer.count"],
    });
    expect(portRate(portOf(`${sio}, timer: { part: Z80-CTC, count: 4 }`))).toMatchObject({
      missing: ["ports.p.timer.prescale"],
    });
    expect(portRate(portOf(`${sio}, timer: { part: MC6840, count: 4 }`))).toMatchObject({
      missing: ["ports.p.timer.part"],
    });
    expect(portRate(portOf("uart: MC6821, clock: 1 MHz"))).toMatchObject({ missing: ["ports.p.bitCycles"] });
  });
});

describe("the table of rates", () => {
  it("chooses the divisor of least error, whatever the bench has", () => {
    expect(row("uart: '16450', clock: 1.8432 MHz, divisor: 12", 2000)).toMatchObject({
      setting: { divisor: 58 },
      verdict: "good",
      current: false,
    });
    expect(row("uart: '16450', clock: 1.8432 MHz, divisor: 12", 9600)).toMatchObject({
      setting: { divisor: 12 },
      current: true,
    });
    // 2 MHz ÷ 16 ÷ 3 = 41,667: 8.5 % off 38,400.
    expect(row("uart: '16450', clock: 2 MHz", 38_400).verdict).toBe("no");
  });

  it("finds the prescaler and the time constant together", () => {
    // 2.5 MHz: 300 bit/s wants 8,333.3 cycles; ÷16 ×16 × 33 = 8,448 (−1.4 %), ÷64 ×16 × 8 = 8,192 (+1.7 %); counter mode ÷32 × 260 is out of range.
    const best = row("uart: Z80-SIO, clock: 2.5 MHz, ratio: 16, timer: { part: Z80-CTC }", 300);
    expect(best.setting.timer!.count).toBeLessThanOrEqual(256);
    expect(Math.abs(best.error)).toBeLessThan(0.002);
    expect(best.setting).toMatchObject({ ratio: 64, timer: { prescale: 1, count: 130 } });
  });

  it("has no bit clock of ratio 1 unless the bench uses it", () => {
    expect(row("uart: MC6850, clock: 9600 Hz", 9600).setting.ratio).not.toBe(1);
    expect(row("uart: MC6850, clock: 9600 Hz, ratio: 1", 9600)).toMatchObject({ setting: { ratio: 1 }, error: 0 });
  });

  it("refuses a port without part or clock, naming the key", () => {
    expect(() => row("uart: MC6850, ratio: 16", 300)).toThrow("ports.p.clock");
    expect(() => row("clock: 1 MHz", 300)).toThrow("serial port part");
  });
});

describe("register writes", () => {
  it("open the divisor latches of a 16450, fill them and close them", () => {
    expect(written("uart: '16450', at: $3F8, clock: 1.8432 MHz", 300, "7E1")).toEqual([
      ["3fb", "9a"],
      ["3f8", "80"],
      ["3f9", "1"],
      ["3fb", "1a"],
      ["3f9", "0"],
      ["3fc", "3"],
    ]);
  });

  it("count the 6850's frames in its control bits", () => {
    expect(written("uart: MC6850, at: $FF00, clock: 1.8432 MHz", 9600)).toEqual([
      ["ff00", "3"],
      ["ff00", "15"],
    ]);
    expect(written("uart: MC6850, at: $FF00, clock: 1.8432 MHz", 9600, "7E1")).toEqual([
      ["ff00", "3"],
      ["ff00", "9"],
    ]);
  });

  it("write nothing to a part that cannot send the frame", () => {
    expect(written("uart: MC6850, at: $FF00, clock: 1.8432 MHz", 9600, "5N1")).toEqual([]);
  });

  it("start a timer before the part behind it", () => {
    expect(
      written("uart: Z80-SIO, clock: 1.8432 MHz, ratio: 16, timer: { part: Z80-CTC, at: $84 }", 9600).slice(0, 2),
    ).toEqual([
      ["84", "47"],
      ["84", "c"],
    ]);
    expect(written("uart: MC6821, clock: 1 MHz, timer: { part: 6522, at: $8800 }", 300)).toEqual([
      ["880b", "40"],
      ["8804", "3"],
      ["8805", "d"],
    ]);
    expect(
      written("uart: '8251', at: $10, clock: 2 MHz, timer: { part: 8253, at: $20, channel: 2 }, ratio: 16", 9600).slice(
        0,
        3,
      ),
    ).toEqual([
      ["23", "b6"],
      ["22", "d"],
      ["22", "0"],
    ]);
  });
});

describe("both ends together", () => {
  const exact = (rate: number) => ({ rate, low: rate, high: rate });
  it("sample the middle of the last bit where both are exact", () => {
    expect(sampling(exact(1200), exact(1200), readFrame("8N1"))).toMatchObject({ mismatch: 0, position: 0.5 });
  });

  it("have used up their margin a little beyond the limit, on either side", () => {
    for (const text of ["5N1", "7E1", "8N1", "8E2"]) {
      const frame = readFrame(text);
      const limit = mismatchLimit(frame);
      for (const way of [1, -1]) {
        expect(sampling(exact(1 + way * (limit - 0.001)), exact(1), frame).margin, text).toBeGreaterThan(0);
        expect(sampling(exact(1 + way * (limit + 0.002)), exact(1), frame).margin, text).toBeLessThan(0);
      }
    }
  });

  it("add the tolerances of both clocks", () => {
    const found = sampling({ rate: 1, low: 0.99, high: 1.01 }, { rate: 1, low: 0.99, high: 1.01 }, readFrame("8N1"));
    expect(found.mismatch).toBeCloseTo(1.01 / 0.99 - 1, 9);
    expect(found.position).toBe(0.5);
    expect(found.earliest).toBeLessThan(0.31);
    expect(found.latest).toBeGreaterThan(0.69);
  });
});

describe("flow", () => {
  const frame = readFrame("8N1");
  it("counts what arrives while the listener is away", () => {
    // 9,600 bit/s, 10 bits: 1.0417 ms a character. 8 ms: 1 + 7 characters.
    const away = { rate: 9600, frame, away: 8e-3, flow: "none" } as const;
    expect(flowOutcome({ ...away, buffer: 1 })).toMatchObject({ arriving: 8, lost: 7 });
    expect(flowOutcome({ ...away, buffer: 8 })).toMatchObject({ arriving: 8, lost: 0, perLine: 0 });
    expect(flowOutcome({ ...away, buffer: 1 }).perCharacter).toBeCloseTo(8e-3 - 10 / 9600, 9);
    expect(flowOutcome({ ...away, buffer: 2 }).perLine).toBeCloseTo(8e-3 - 20 / 9600, 9);
  });

  it("loses nothing just up to the time that it says it bears", () => {
    for (const buffer of [1, 3, 16]) {
      const { bearable } = flowOutcome({ rate: 300, frame, away: 1, buffer, flow: "none" });
      expect(flowOutcome({ rate: 300, frame, away: bearable, buffer, flow: "none" }).lost).toBe(0);
      expect(flowOutcome({ rate: 300, frame, away: bearable * 1.001, buffer, flow: "none" }).lost).toBe(1);
    }
  });

  it("needs room for what is under way when it stops the talker", () => {
    const away = { rate: 9600, frame, away: 1 };
    expect(flowOutcome({ ...away, buffer: 1, flow: "lines" }).lost).toBe(1);
    expect(flowOutcome({ ...away, buffer: 2, flow: "lines" }).lost).toBe(0);
    expect(flowOutcome({ ...away, buffer: 3, flow: "characters" }).lost).toBe(1);
  });

  it("gives the speed that is left with pauses", () => {
    expect(pacedSpeed(9600, frame, 78, 0, 0)).toBeCloseTo(960, 6);
    // 80 characters at 1/960 s and 1/6 s of pause: 80 ÷ 0.25 s.
    expect(pacedSpeed(9600, frame, 78, 0, 1 / 6)).toBeCloseTo(320, 6);
  });

  it("times screens, scrolling and a banner", () => {
    // 2,400 bit/s, 10 bits: 240 characters a second.
    expect(screenTimes(2400, frame, 80, 24)).toMatchObject({ line: 80 / 240, screen: 8, scroll: (24 * 42) / 240 });
    expect(textTime(2400, frame, 480, 5, 0.1)).toBeCloseTo(2.5, 9);
  });
});

it("takes an edge of 6 V at 10 mA", () => {
  expect(edgeTime(2500e-12)).toBeCloseTo(1.5e-6, 9);
});
