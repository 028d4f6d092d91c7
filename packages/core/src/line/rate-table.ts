import type { BenchPort } from "../bench/index.ts";
import { InputError } from "../errors/index.ts";
import { type Frame, mismatchAdvised, mismatchLimit } from "./frame.ts";
import { bitCycles, generatorOf, type RateSetting, STANDARD_RATES, settingOf, timerKind } from "./rate.ts";
import { type RegisterWrite, registerWrites } from "./registers.ts";

/** One standard rate as this port would make it. */
export interface RateRow {
  /** The rate wanted and the one made, bit/s. */
  rate: number;
  made: number;
  /** (made ÷ wanted) − 1. */
  error: number;
  /** `good` within what data sheets advise, `tight` within the limit of the frame, `no` beyond it. */
  verdict: "good" | "tight" | "no";
  /** The best setting: least error, then the one that needs no other parts, then the choices that the bench has now. */
  setting: RateSetting;
  /** Whether the bench has this setting now. */
  current: boolean;
  /** What a program writes to the parts for it, in order. */
  writes: readonly RegisterWrite[];
}

/**
 * A CTC counts the system clock by 16 or 256 (timer mode), or what comes in at its trigger input (counter mode, 1): the
 * bench's clock is the one or the other, and a program cannot change which.
 */
const ctcPrescales = (now: number | undefined): readonly number[] =>
  now === undefined ? [1, 16, 256] : now === 1 ? [1] : [16, 256];

const within = (value: number, least: number, most: number) => Math.max(least, Math.min(most, Math.round(value)));

/** Settings near `cycles` clock cycles a bit, all ranges of the parts observed. */
function candidates(port: BenchPort, cycles: number): RateSetting[] {
  const generator = generatorOf(port);
  const divide = port.divide ?? 1;
  const kind = port.timer && timerKind(port.timer.part);
  // Ratio 1 needs a bit clock in step with the data, so it is offered only to who uses it.
  const ratios = (port.chip?.uart?.ratios ?? [16]).filter((each) => each > 1 || port.ratio === 1);
  if (generator === "programmed") {
    const timer = currentTimer(port);
    const outside = bitCycles(port, { divide, divisor: 1, ...timer });
    return [{ divide, divisor: within(cycles / outside, 1, 65_535), ...timer }];
  }
  if (generator === "selected") {
    const timer = currentTimer(port);
    return (port.chip?.uart?.counts ?? []).map(({ code }) => ({ divide, code, ...timer }));
  }
  const afters = generator === "divided" ? ratios.map((ratio) => ({ ratio })) : [{}];
  if (kind)
    return afters.flatMap((after) => {
      const left = cycles / divide / ("ratio" in after ? after.ratio : 1);
      if (kind === "CTC")
        return ctcPrescales(port.timer?.prescale).map((prescale) => ({
          divide,
          ...after,
          timer: { prescale, count: within(left / prescale, 1, 256) },
        }));
      if (kind === "8253") return [{ divide, ...after, timer: { prescale: 1, count: within(left, 2, 65_536) } }];
      const count = (generator === "divided" ? left / 2 : left) - 2;
      return [{ divide, ...after, timer: { prescale: 1, count: within(count, 1, 65_535) } }];
    });
  if (generator === "by program") return [{ divide, bitCycles: within(cycles / divide, 1, 1 << 24) }];
  return ratios.map((ratio) => ({ divide: within(cycles / ratio, 1, 65_536), ratio }));
}

function currentTimer(port: BenchPort): Pick<RateSetting, "timer"> {
  return port.timer?.count === undefined
    ? {}
    : { timer: { prescale: port.timer.prescale ?? 1, count: port.timer.count } };
}

const same = (a: RateSetting, b: RateSetting): boolean =>
  a.divide === b.divide &&
  a.ratio === b.ratio &&
  a.divisor === b.divisor &&
  a.code === b.code &&
  a.bitCycles === b.bitCycles &&
  a.timer?.prescale === b.timer?.prescale &&
  a.timer?.count === b.timer?.count;

/** How much of the bench a setting keeps. A program writes ratio and timer; another divider needs other parts or links. */
const kept = (setting: RateSetting, now: Partial<RateSetting>): number =>
  (setting.divide === (now.divide ?? 1) ? 4 : 0) +
  (setting.ratio === (now.ratio ?? 16) ? 2 : 0) +
  (setting.timer?.prescale === now.timer?.prescale ? 1 : 0);

/**
 * Every standard rate (or those in `rates`) as this port can make it from its clock, each with its error, the best
 * setting and the register writes for it. Throws an `InputError` where part or clock are not known.
 */
export function rateTable(port: BenchPort, frame: Frame, rates: readonly number[] = STANDARD_RATES): RateRow[] {
  const { clock } = port;
  if (!generatorOf(port))
    throw new InputError(
      "no-generator",
      `${port.name}: the serial port part is not given, or the catalogue has none of that name.`,
    );
  if (!clock) throw new InputError("no-clock", `${port.name}: the crystal or clock is not given (${port.path}.clock).`);
  if (port.timer && !timerKind(port.timer.part))
    throw new InputError("no-timer", `${port.name}: how the timer ${port.timer.part} counts is not known.`);
  const now = settingOf(port);
  const present: Partial<RateSetting> = "missing" in now ? {} : now;
  return rates.map((rate): RateRow => {
    const [best] = candidates(port, clock.value / rate)
      .map((setting) => {
        const made = clock.value / bitCycles(port, setting);
        return { setting, made, error: made / rate - 1 };
      })
      // Errors alike to one part in a million are alike: the setting that keeps more of the bench goes first.
      .sort((a, b) => {
        const gap = Math.abs(a.error) - Math.abs(b.error);
        return Math.abs(gap) > 1e-6 ? gap : kept(b.setting, present) - kept(a.setting, present);
      });
    const { setting, made, error } = best!;
    const off = Math.abs(error);
    return {
      rate,
      made,
      error,
      verdict: off <= mismatchAdvised(frame) ? "good" : off <= mismatchLimit(frame) ? "tight" : "no",
      setting,
      current: !("missing" in now) && same(setting, now),
      writes: registerWrites(port, setting, frame),
    };
  });
}
