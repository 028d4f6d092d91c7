import { type BenchPort, readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { designCable, edgeTime, rateTable, readFrame, sampling } from "@rouse/core/line";
import { describe, expect, it } from "vitest";

const catalogue = loadCatalogue();
const benchOf = (text: string) => {
  const { bench, issues } = readBench(`rouse: 1\nname: x\n${text}`, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench;
};
const portOf = (keys: string): BenchPort => benchOf(`ports: { p: { ${keys} } }\n`).ports[0]!;

// Source: 16450 divisor tables of data sheets and board manuals (Fig 22; Table 2-4), 1.8432 MHz: rate, divisor, error in
// percent without its sign; no error printed where it is 0.
describe("16450 divisor tables of data sheets", () => {
  const port = portOf("uart: '16450', clock: 1.8432 MHz");
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
    [19_200, 6, 0],
    [38_400, 3, 0],
    [56_000, 2, 2.86],
    [57_600, 2, 0],
    [115_200, 1, 0],
  ])("give %d bit/s the divisor %d and the error %d %%", (rate, divisor, error) => {
    const [row] = rateTable(port, readFrame("8N1"), [rate]);
    expect(row!.setting.divisor).toBe(divisor);
    expect(Math.abs(row!.error) * 100).toBeCloseTo(error, error > 1 ? 2 : 3);
  });
});

// Source: rate codes of the 6551's data sheet, 1.8432 MHz (from memory; 15 rates from 50 to 19,200 seen).
describe("the 6551's rate codes", () => {
  const port = portOf("uart: '6551', clock: 1.8432 MHz, at: $8000");
  it.each([
    [50, 1],
    [75, 2],
    [110, 3],
    [134.5, 4],
    [150, 5],
    [300, 6],
    [600, 7],
    [1200, 8],
    [1800, 9],
    [2400, 10],
    [3600, 11],
    [4800, 12],
    [7200, 13],
    [9600, 14],
    [19_200, 15],
  ])("give %d bit/s the code %d", (rate, code) => {
    const [row] = rateTable(port, readFrame("8N1"), [rate]);
    expect(row!.setting.code).toBe(code);
    // 109.92 for 110 is −0.069 %, 134.58 for 134.5 is +0.059 % (arithmetic on the counts).
    const expected = rate === 110 ? -0.00069 : rate === 134.5 ? 0.00059 : 0;
    expect(row!.error).toBeCloseTo(expected, 5);
  });

  it("make 9,600 bit/s, 8N1 from control $1E and command $0B, as programs of the time write them (from memory)", () => {
    const [row] = rateTable(port, readFrame("8N1"), [9600]);
    expect(row!.writes.map(({ address, value }) => [address, value])).toEqual([
      [0x8001, 0],
      [0x8003, 0x1e],
      [0x8002, 0x0b],
    ]);
  });
});

// Source: a 1980s handbook's page on the 6850 as quoted in 1982: CR1,0 = 00 ÷1, 01 ÷16, 10 ÷64, 11 master reset; CR4–2 the
// eight frames; “$03 then $15” resets and sets 8N1, ÷16.
describe("the 6850's control register", () => {
  it.each([
    ["7E2", 0x01],
    ["7O2", 0x05],
    ["7E1", 0x09],
    ["7O1", 0x0d],
    ["8N2", 0x11],
    ["8N1", 0x15],
    ["8E1", 0x19],
    ["8O1", 0x1d],
  ])("is %s at ÷16 with the value %d", (frame, value) => {
    const [row] = rateTable(portOf("uart: MC6850, clock: 1.8432 MHz"), readFrame(frame), [9600]);
    expect(row!.writes.map((each) => each.value)).toEqual([0x03, value]);
  });
});

// Source: mode words of the 8251 (8080 system user's manual) and WR4 of the SIO (data sheet), both from memory: 8N1 at 16
// times the rate is $4E and $44, at 64 times $4F and $C4; 7E1 at 16 times is $7A and $47.
describe("mode words of the 8251 and the SIO", () => {
  it.each([
    ["8251", "8N1", 16, 0x4e],
    ["8251", "8N1", 64, 0x4f],
    ["8251", "7E1", 16, 0x7a],
    ["Z80-SIO", "8N1", 16, 0x44],
    ["Z80-SIO", "8N1", 64, 0xc4],
    ["Z80-SIO", "7E1", 16, 0x47],
  ])("of the %s for %s at ratio %d", (part, frame, ratio, value) => {
    const clock = ratio === 16 ? "153.6 kHz" : "614.4 kHz";
    const [row] = rateTable(
      portOf(`uart: '${part}', clock: ${clock}, ratio: ${ratio}, divide: 1`),
      readFrame(frame),
      [9600],
    );
    expect(row!.setting).toMatchObject({ ratio, divide: 1 });
    expect(row!.writes.find((each) => /^mode|times?|×|÷/.test(each.meaning))!.value).toBe(value);
  });
});

// Source: receiver table of a microcontroller maker's USART data sheet (16 samples a bit, middle 8 to 9, from D data and parity
// bits): slowest and fastest data rate as a share of the receiver's, in percent.
describe("receiver tables of UART data sheets", () => {
  const exact = (rate: number) => ({ rate, low: rate, high: rate });
  it.each([
    ["5N1", 93.2, 106.67],
    ["8N1", 95.36, 104.58],
    ["8E1", 95.81, 104.14],
  ])("leave %s no margin at %d and at %d %%", (text, slow, fast) => {
    const frame = readFrame(text);
    for (const rate of [slow, fast]) expect(sampling(exact(rate / 100), exact(1), frame).margin).toBeCloseTo(0, 2);
    expect(sampling(exact(slow / 100 + 0.002), exact(1), frame).margin).toBeGreaterThan(0.01);
    expect(sampling(exact(fast / 100 - 0.002), exact(1), frame).margin).toBeGreaterThan(0.01);
  });

  it("recommend less than half of it: our advice for 8N1 is their 2 %", () => {
    expect(sampling(exact(1), exact(1), readFrame("8N1")).advised).toBeCloseTo(0.02, 9);
  });
});

// Source: MC1488 data sheet, applications information: 330 pF on an output give 30 V/µs, the largest slew V.28 allows.
it("moves a line of 330 pF at 30 V/µs, as the MC1488's notes say", () => {
  expect(6 / edgeTime(330e-12) / 1e6).toBeCloseTo(30, 0);
});

// Source: null modem as the trade wires it (from memory): 25 pins 2–3, 3–2, 4–5, 5–4, 7–7; 9 pins 2–3, 3–2, 7–8, 8–7, 5–5.
describe("designed cables", () => {
  it.each([
    [
      "DB-25",
      [
        [2, 3],
        [3, 2],
        [7, 7],
        [4, 5],
        [5, 4],
      ],
    ],
    [
      "DE-9",
      [
        [3, 2],
        [2, 3],
        [5, 5],
        [7, 8],
        [8, 7],
      ],
    ],
  ])("between two DTEs with %s are the trade's null modem", (connector, wires) => {
    const end = `connector: ${connector}, role: DTE, levels: V.28`;
    const [cable] = benchOf(
      `ports: { p: { ${end} } }\nterminals: { t: { ${end} } }\ncables: { c: { from: p, to: t, kind: straight } }\n`,
    ).cables;
    expect(designCable(cable!.from, cable!.to, { handshake: true })).toMatchObject({
      possible: true,
      wiring: { wires },
    });
  });
});
