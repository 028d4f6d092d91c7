import { InputError } from "../errors/index.ts";
import { formatNumber, parseQuantity } from "../quantity/index.ts";
import { meanSeconds, missingOf, parameterText, type TimingInput, valuesOf } from "./answer.ts";
import type { Fitted, FittedValue } from "./fitted.ts";
import { BOUNDS, type Parameter, type ParameterId, timedBench } from "./parameters.ts";
import { JOBS, type JobKind, type JobWish, planJob } from "./plan.ts";

export interface Measurement {
  text: string;
  wish: JobWish;
  seconds: number;
  /** Standard deviation. */
  spread: number;
}

/**
 * Reads `boot 41 s`, `load LIST 3.5 s ± 0.2 s`. Without a tolerance, a reading by hand is good to half a unit of its last
 * digit, and to 0.2 s at best (reaction time; common practice, no source).
 */
export function readMeasurement(text: string): Measurement {
  const match = /^\s*([a-z]+)\s+(?:(\S.*?)\s+)?([\d.,]+\s*(?:s|ms|min|h)\b.*)$/i.exec(text);
  const what = JOBS.find((each) => each === match?.[1]?.toLowerCase()) as JobKind | undefined;
  if (!match || !what)
    throw new InputError(
      "bad-measurement",
      `“${text}” is not a measurement; expected something like “boot 41 s” or “load NAME 3.5 s ± 0.2 s”, for ${JOBS.join(", ")}.`,
    );
  const name = match[2];
  if ((what === "load") !== (name !== undefined))
    throw new InputError(
      "bad-measurement",
      what === "load" ? `“${text}” does not say which file was loaded.` : `“${text}”: only load takes a name.`,
    );
  const quantity = parseQuantity(match[3]!, "time");
  if (!(quantity.value > 0)) throw new InputError("bad-measurement", `“${text}”: a time is more than nothing.`);
  const stated = (quantity.high - quantity.low) / 2;
  const [, digits = "", unit = "s"] = /^([\d.,]+)\s*(\w+)/.exec(match[3]!)!;
  const decimals = digits.includes(".") ? digits.split(".")[1]!.length : 0;
  const scale = { ms: 0.001, s: 1, min: 60, h: 3600 }[unit] ?? 1;
  return {
    text: text.trim(),
    wish: name === undefined ? { what } : { what, name },
    seconds: quantity.value,
    spread: stated > 0 ? stated : Math.max(0.2, (scale * 10 ** -decimals) / 2),
  };
}

/** Simulated runs of one fit, over all measurements; more unknowns get a coarser net. */
const MOST_POINTS = 400;
const ROUNDS = 40;
const PHASES = 2;
/** Predictions range over so many sets of values. */
const MOST_SAMPLES = 24;
/** Misfit above the best that still counts as met: two standard deviations of one parameter. */
const MET = 4;

/** Points of a net over a cube, evenly spread in every number of dimensions (Halton sequence). */
function halton(index: number, base: number): number {
  let result = 0;
  for (let fraction = 1 / base, i = index; i > 0; i = Math.floor(i / base), fraction /= base)
    result += fraction * (i % base);
  return result;
}
const PRIMES = [2, 3, 5, 7, 11, 13];

/** Rates are sought by proportion, times by difference. */
const scaled = (id: ParameterId, share: number): number => {
  const [low, high] = BOUNDS[id];
  return id === "busRate" || id === "lineRate" ? low * (high / low) ** share : low + share * share * (high - low);
};

/**
 * Fits what the bench does not give to measured times: least squares with bounds. The misfit has steps, as a sector just
 * missed costs a turn, so that slopes are of no use: an even net over the bounds is searched, and the best point refined by
 * a pattern that halves. Every point within two standard deviations tells how well the values are known.
 */
export function fitMeasured(input: TimingInput, measurements: readonly Measurement[]): Fitted {
  if (measurements.length === 0) throw new InputError("no-measurement", "There is nothing measured to fit to.");
  const timed = timedBench(input.bench, input.image.name);
  if (!timed.recording || !timed.drive)
    throw new InputError("nothing-to-fit", `Fitting needs ${timed.lacking.join(" and ")} in the bench file.`);
  const known = valuesOf(timed);
  const plans = measurements.map(({ wish }) => planJob(timed.recording!, input.image, wish));
  const unknown = new Map<ParameterId, Parameter>();
  for (const plan of plans) for (const each of missingOf(timed, plan.rests, known)) unknown.set(each.id, each);
  const ids = [...unknown.keys()];
  if (ids.length > PRIMES.length)
    throw new InputError(
      "too-many-unknowns",
      `${ids.length} values are missing; give some of them: ${[...unknown.values()].map((each) => each.key).join(", ")}.`,
    );

  const timesAt = (shares: readonly number[], phases: number): number[] => {
    const values = new Map(known);
    ids.forEach((id, i) => {
      values.set(id, scaled(id, shares[i]!));
    });
    return plans.map((plan) => meanSeconds(timed, plan, values, phases));
  };
  const misfitOf = (times: readonly number[]): number =>
    times.reduce((sum, time, i) => sum + ((time - measurements[i]!.seconds) / measurements[i]!.spread) ** 2, 0);

  const tried: { shares: number[]; misfit: number }[] = [];
  const attempt = (shares: number[]): { shares: number[]; misfit: number } => {
    const point = { shares, misfit: misfitOf(timesAt(shares, PHASES)) };
    tried.push(point);
    return point;
  };
  const net = ids.length === 0 ? 0 : Math.floor(MOST_POINTS / measurements.length / (ids.length === 1 ? 4 : 1));
  let best = attempt(ids.map(() => 0.5));
  for (let k = 1; k <= net; k++) {
    const point = attempt(ids.map((_, i) => halton(k, PRIMES[i]!)));
    if (point.misfit < best.misfit) best = point;
  }
  let reach = 0.1;
  for (let round = 0; round < ROUNDS && ids.length > 0 && reach > 1e-4; round++) {
    const before = best;
    for (let i = 0; i < ids.length; i++)
      for (const way of [-1, 1]) {
        const shares = [...best.shares];
        shares[i] = Math.min(1, Math.max(0, shares[i]! + way * reach));
        const point = attempt(shares);
        if (point.misfit < best.misfit) best = point;
      }
    if (best === before) reach /= 2;
  }

  const met = tried.filter(({ misfit }) => misfit <= best.misfit + MET);
  const values = ids.map((id, i): FittedValue => {
    const each = unknown.get(id)!;
    const shares = met.map((point) => point.shares[i]!);
    const lowest = Math.min(...shares);
    const highest = Math.max(...shares);
    const value = scaled(id, best.shares[i]!);
    const low = scaled(id, lowest);
    const high = scaled(id, highest);
    // Zero is a natural end for times; a range that spans most of the search says nothing.
    const howWell = highest - lowest > 0.6 || highest > 0.99 ? "not" : high - low < value / 3 ? "well" : "roughly";
    return {
      id,
      label: each.label,
      key: each.key,
      value,
      low,
      high,
      howWell,
      text: parameterText({ ...each, value, low, high }),
    };
  });
  met.sort((a, b) => a.misfit - b.misfit);
  const stride = Math.max(1, Math.ceil(met.length / MOST_SAMPLES));
  const extremes = ids.flatMap((_, i) => {
    const sorted = [...met].sort((a, b) => a.shares[i]! - b.shares[i]!);
    return [sorted[0]!, sorted.at(-1)!];
  });
  const samples = [...met.filter((_, i) => i % stride === 0), ...extremes].map(
    ({ shares }) => new Map(ids.map((id, i) => [id, scaled(id, shares[i]!)] as const)),
  );
  const fitted = timesAt(best.shares, 8);
  return {
    values,
    samples: ids.length === 0 ? [] : samples,
    measurements: measurements.map(({ text, seconds, spread }, i) => ({
      text,
      measured: seconds,
      spread,
      fitted: fitted[i]!,
    })),
    misfit: best.misfit,
    sentence: sentenceOf(values, best.misfit, measurements.length),
  };
}

function sentenceOf(values: readonly FittedValue[], misfit: number, count: number): string {
  if (values.length === 0)
    return misfit > MET * count
      ? "Nothing is missing, and what was measured departs from the model by more than its spread: a value of the bench is wrong."
      : "Nothing is missing, and the model meets what was measured.";
  if (misfit > MET * count)
    return `No values within the bounds meet what was measured (misfit ${formatNumber(misfit, 3)}): a value of the bench is wrong, or something happened that the model lacks.`;
  const open = values.filter(({ howWell }) => howWell === "not");
  return open.length === 0
    ? "What was missing follows from the measurements."
    : `The measurements cannot tell ${open.map(({ label }) => label).join(" and ")}: measure something else too.`;
}
