import type { BenchPort } from "../bench/index.ts";

/** The bit rate a port makes, with the bounds that its clock's tolerance allows, or the keys that are missing for it. */
export type PortRate =
  | { known: true; rate: number; low: number; high: number; formula: string; steps: string }
  | { known: false; missing: string[]; why: string };

/**
 * Bit rate of a port from its clock, an outside divider and the ratio, divisor or rate code in the part.
 * 6850, 8251 and SIO kinds: clock ÷ divider ÷ ratio; 16450 kinds: clock ÷ divider ÷ 16 ÷ divisor; 6551 kinds: clock ÷
 * divider ÷ counts of the rate code.
 */
export function portRate(port: BenchPort): PortRate {
  const uart = port.chip?.uart;
  const missing = (keys: string[], why: string): PortRate => ({
    known: false,
    missing: keys.map((key) => `${port.path}.${key}`),
    why,
  });
  if (port.uart === undefined) return missing(["uart"], "the part that makes the rate is not named");
  if (!uart) return missing(["uart"], `the catalogue has no serial port part “${port.uart}”`);
  if (!port.clock) return missing(["clock"], "the crystal or clock is not given");
  const divide = port.divide ?? 1;
  let count: number;
  let formula: string;
  let steps: string;
  if (uart.generator === "divided") {
    if (port.ratio === undefined) return missing(["ratio"], "the ratio chosen in the part is not given");
    if (uart.ratios && !uart.ratios.includes(port.ratio))
      return missing(["ratio"], `the part divides by ${uart.ratios.join(", ")} and not by ${port.ratio}`);
    count = divide * port.ratio;
    formula = "rate = clock ÷ divider ÷ ratio";
    steps = `${port.clock.text} ÷ ${divide} ÷ ${port.ratio}`;
  } else if (uart.generator === "programmed") {
    if (port.divisor === undefined) return missing(["divisor"], "the divisor programmed into the part is not given");
    count = divide * 16 * port.divisor;
    formula = "rate = clock ÷ divider ÷ (16 × divisor)";
    steps = `${port.clock.text} ÷ ${divide} ÷ (16 × ${port.divisor})`;
  } else {
    const row = uart.counts?.find((each) => each.code === port.code);
    if (!row) return missing(["code"], "the rate code written to the part is not given or not in its table");
    count = divide * row.count;
    formula = "rate = clock ÷ divider ÷ counts of the rate code";
    steps = `${port.clock.text} ÷ ${divide} ÷ ${row.count}`;
  }
  return {
    known: true,
    rate: port.clock.value / count,
    low: port.clock.low / count,
    high: port.clock.high / count,
    formula,
    steps,
  };
}

/** Rates that people set, bit/s. Common practice, no source. */
const STANDARD_RATES = [
  50, 75, 110, 134.5, 150, 200, 300, 600, 1200, 1800, 2000, 2400, 3600, 4800, 7200, 9600, 19_200, 38_400, 57_600,
  115_200,
];

/** The standard rate that is nearest in proportion. */
export const nearestStandardRate = (rate: number): number =>
  STANDARD_RATES.reduce((best, each) =>
    Math.abs(Math.log(rate / each)) < Math.abs(Math.log(rate / best)) ? each : best,
  );
