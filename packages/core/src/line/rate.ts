import type { BenchPort } from "../bench/index.ts";

/** The bit rate a port makes, with the bounds that its clock's tolerance allows, or the keys that are missing for it. */
export type PortRate =
  | { known: true; rate: number; low: number; high: number; formula: string; steps: string }
  | { known: false; missing: string[]; why: string };

/** How a port's bit rate comes about: the part's own generator or ratio, or a program that makes the bits. */
export type Generator = "selected" | "divided" | "programmed" | "by program";

/** Timers between a clock and a bit rate, by what their counts mean. */
export type TimerKind = "CTC" | "6522" | "8253";

/** Choices that together make a bit rate. `divide` is made outside the part: by links or a divider chip. */
export interface RateSetting {
  divide: number;
  timer?: { prescale: number; count: number };
  ratio?: number;
  divisor?: number;
  code?: number;
  bitCycles?: number;
}

/** Which of the known timers a part number means. */
export const timerKind = (part: string): TimerKind | undefined =>
  /CTC$/i.test(part) ? "CTC" : /65C?22/i.test(part) ? "6522" : /825[34]/.test(part) ? "8253" : undefined;

/** Undefined where the catalogue does not know the part. */
export function generatorOf(port: BenchPort): Generator | undefined {
  if (port.chip?.uart) return port.chip.uart.generator;
  // A parallel port, or nothing but a loop of known length: a program makes the bits.
  return port.chip?.kind === "parallel port" || port.bitCycles !== undefined ? "by program" : undefined;
}

/**
 * Clock cycles of one period of a timer. Z80-CTC: prescaler × time constant. 8253: the count. 6522, timer 1 running
 * free: count + 2 from one time-out to the next; as a clock on PB7, which changes at each time-out, twice that.
 * (Data sheets, from memory.)
 */
export function timerCycles(kind: TimerKind, timer: { prescale: number; count: number }, as: "clock" | "bit"): number {
  if (kind === "6522") return (timer.count + 2) * (as === "clock" ? 2 : 1);
  return kind === "CTC" ? timer.prescale * timer.count : timer.count;
}

/** Clock cycles of one bit at a setting. */
export function bitCycles(port: BenchPort, setting: RateSetting): number {
  const generator = generatorOf(port);
  const kind = port.timer && timerKind(port.timer.part);
  const timed = kind && setting.timer;
  const counts = timed ? timerCycles(kind, setting.timer!, generator === "by program" ? "bit" : "clock") : 1;
  const base = setting.divide * counts;
  if (generator === "selected") return base * (countOf(port, setting.code) ?? Number.NaN);
  if (generator === "programmed") return base * 16 * (setting.divisor ?? Number.NaN);
  if (generator === "divided") return base * (setting.ratio ?? Number.NaN);
  return timed ? base : base * (setting.bitCycles ?? Number.NaN);
}

/** Clock cycles a bit of a 6551's rate code; code 0 takes a clock from outside, 16 cycles a bit. */
export const countOf = (port: BenchPort, code: number | undefined): number | undefined =>
  code === 0 ? 16 : port.chip?.uart?.counts?.find((each) => each.code === code)?.count;

/** What is multiplied up to a bit's clock cycles, in words and in numbers. */
function spell(port: BenchPort, setting: RateSetting): { formula: string; steps: string } {
  const generator = generatorOf(port);
  const kind = port.timer && timerKind(port.timer.part);
  const parts: [words: string, numbers: string][] = [
    ["clock", port.clock?.text ?? ""],
    ["divider", String(setting.divide)],
  ];
  if (kind && setting.timer) {
    const { prescale, count } = setting.timer;
    if (kind === "CTC") parts.push(["(prescaler × time constant)", `(${prescale} × ${count})`]);
    else if (kind === "8253") parts.push(["timer count", String(count)]);
    else if (generator === "by program") parts.push(["(timer count + 2)", `(${count} + 2)`]);
    else parts.push(["(2 × (timer count + 2))", `(2 × (${count} + 2))`]);
  }
  if (generator === "divided") parts.push(["ratio", String(setting.ratio)]);
  else if (generator === "programmed") parts.push(["(16 × divisor)", `(16 × ${setting.divisor})`]);
  else if (generator === "selected") parts.push(["counts of the rate code", String(countOf(port, setting.code))]);
  else if (!kind) parts.push(["cycles a bit", String(setting.bitCycles)]);
  return {
    formula: `rate = ${parts.map(([words]) => words).join(" ÷ ")}`,
    steps: parts.map(([, numbers]) => numbers).join(" ÷ "),
  };
}

/** The setting that the bench gives, or the keys that are missing for it. */
export function settingOf(port: BenchPort): RateSetting | { missing: string[]; why: string } {
  const lacks = (keys: string[], why: string) => ({ missing: keys.map((key) => `${port.path}.${key}`), why });
  const uart = port.chip?.uart;
  const generator = generatorOf(port);
  if (port.uart === undefined && port.bitCycles === undefined)
    return lacks(["uart"], "the part that makes the rate is not named");
  if (!generator) return lacks(["uart"], `the catalogue has no serial port part “${port.uart}”`);
  const setting: RateSetting = { divide: port.divide ?? 1 };
  if (port.timer) {
    const kind = timerKind(port.timer.part);
    if (!kind) return lacks(["timer.part"], `how the timer ${port.timer.part} counts is not known`);
    if (port.timer.count === undefined) return lacks(["timer.count"], "the count loaded into the timer is not given");
    if (kind === "CTC" && port.timer.prescale === undefined)
      return lacks(["timer.prescale"], "the timer's prescaler is not given");
    setting.timer = { prescale: port.timer.prescale ?? 1, count: port.timer.count };
  }
  if (generator === "divided") {
    if (port.ratio === undefined) return lacks(["ratio"], "the ratio chosen in the part is not given");
    if (uart?.ratios && !uart.ratios.includes(port.ratio))
      return lacks(["ratio"], `the part divides by ${uart.ratios.join(", ")} and not by ${port.ratio}`);
    setting.ratio = port.ratio;
  } else if (generator === "programmed") {
    if (port.divisor === undefined) return lacks(["divisor"], "the divisor programmed into the part is not given");
    setting.divisor = port.divisor;
  } else if (generator === "selected") {
    if (port.code === undefined || countOf(port, port.code) === undefined)
      return lacks(["code"], "the rate code written to the part is not given or not in its table");
    setting.code = port.code;
  } else if (!setting.timer) {
    if (port.bitCycles === undefined)
      return lacks(["bitCycles"], "the clock cycles of the program's bit loop are not given");
    setting.bitCycles = port.bitCycles;
  }
  return setting;
}

/** Bit rate of a port from its clock, an outside divider, a timer, and the ratio, divisor or rate code in the part. */
export function portRate(port: BenchPort): PortRate {
  const setting = settingOf(port);
  if ("missing" in setting) return { known: false, ...setting };
  if (!port.clock) return { known: false, missing: [`${port.path}.clock`], why: "the crystal or clock is not given" };
  const count = bitCycles(port, setting);
  return {
    known: true,
    rate: port.clock.value / count,
    low: port.clock.low / count,
    high: port.clock.high / count,
    ...spell(port, setting),
  };
}

/** Rates that people set, bit/s. Common practice, no source. */
export const STANDARD_RATES: readonly number[] = [
  50, 75, 110, 134.5, 150, 200, 300, 600, 1200, 1800, 2000, 2400, 3600, 4800, 7200, 9600, 19_200, 38_400, 57_600,
  115_200,
];

/** The standard rate that is nearest in proportion. */
export const nearestStandardRate = (rate: number): number =>
  STANDARD_RATES.reduce((best, each) =>
    Math.abs(Math.log(rate / each)) < Math.abs(Math.log(rate / best)) ? each : best,
  );
