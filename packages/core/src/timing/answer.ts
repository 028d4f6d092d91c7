import type { Bench } from "../bench/index.ts";
import { formatNumber, formatValue } from "../quantity/index.ts";
import { buildMachine, type Values } from "./build-machine.ts";
import type { Fitted } from "./fitted.ts";
import type { Lane, Op } from "./machine.ts";
import {
  type Parameter,
  type ParameterId,
  type TimedBench,
  type TimedImage,
  timedBench,
  withTried,
} from "./parameters.ts";
import { type JobWish, type Plan, planJob } from "./plan.ts";
import { type Simulated, simulate } from "./simulate.ts";

/** Where the index stands when a job begins is not known: its times are the mean over these shares of a turn. */
const PHASES = 8;
/** Spans given at most; the totals count all. */
const MOST_SPANS = 20_000;

export interface TimedSpan {
  lane: Lane;
  name: string;
  /** Seconds. */
  start: number;
  length: number;
  part: number;
}

/** How long a job takes, and why. All times in seconds. */
export interface TimingAnswer {
  what: JobWish["what"];
  name: string | null;
  image: string;
  /** Whether everything it rests on is known; else the times are what it takes at least. */
  known: boolean;
  seconds: number;
  low: number;
  high: number;
  /** Bench keys that would settle what is missing. */
  missing: readonly { key: string; label: string }[];
  parameters: readonly (Parameter & { text: string; rests: boolean })[];
  parts: readonly { name: string; start: number; length: number }[];
  /** Waterfall of one run, of the phase nearest to the mean. */
  spans: readonly TimedSpan[];
  spansLeftOut: number;
  /** Seconds by lane and what was done there; lanes overlap, so they may add up to more than the whole. */
  totals: readonly { lane: Lane; name: string; seconds: number; times: number }[];
  notes: readonly string[];
  events: number;
}

export interface TimingInput {
  bench: Bench;
  image: TimedImage;
  /** Values to try in place of the bench's own, in the base unit of their dimension. */
  tried?: ReadonlyMap<ParameterId, number>;
}

/** Parameters that the job rests on and nobody gave. The bus matters only where the controller has a buffer. */
export function missingOf(timed: TimedBench, rests: readonly ParameterId[], values: Values): Parameter[] {
  return timed.parameters.filter(
    ({ id }) => rests.includes(id) && !values.has(id) && !(id === "busRate" && (values.get("buffers") ?? 1) === 0),
  );
}

export function valuesOf(timed: TimedBench, fitted?: Fitted): Map<ParameterId, number> {
  const values = new Map<ParameterId, number>();
  for (const { id, value } of timed.parameters) if (value !== undefined) values.set(id, value);
  for (const { id, value } of fitted?.values ?? []) values.set(id, value);
  return values;
}

/** The plan's operations, with what the CPU does before the first at their beginning, and the banner at their end. */
function opsOf(plan: Plan, values: Values): readonly Op[] {
  const { startPart, bannerPart } = plan;
  const start = values.get("startUp") ?? 0;
  const banner = values.get("banner");
  return [
    ...(startPart === undefined || start === 0 ? [] : [{ kind: "work", time: start * 1e6, part: startPart } as const]),
    ...plan.ops,
    ...(bannerPart === undefined || banner === undefined
      ? []
      : [{ kind: "line", characters: Math.round(banner), part: bannerPart } as const]),
  ];
}

/** Mean seconds over `phases` starts. */
export function meanSeconds(timed: TimedBench, plan: Plan, values: Values, phases: number): number {
  const ops = opsOf(plan, values);
  let sum = 0;
  for (let k = 0; k < phases; k++) sum += run(timed, ops, values, (k + 0.5) / phases).time;
  return sum / phases / 1e6;
}

const run = (timed: TimedBench, ops: readonly Op[], values: Values, phase: number, record = false): Simulated =>
  simulate(buildMachine(timed.recording!, values, timed.frameBits ?? 10, phase), ops, record);

/**
 * Answers how long a job takes. Throws an `InputError` where the bench or the image lacks what the job is about. `brief`
 * takes the mean over two places of the index, and leaves parts, spans and totals out.
 */
export function timeJob(input: TimingInput, wish: JobWish, fitted?: Fitted, brief = false): TimingAnswer {
  const timed = withTried(timedBench(input.bench, input.image.name), input.tried);
  const base = { what: wish.what, name: wish.name ?? null, image: input.image.name };
  if (!timed.recording || !timed.drive)
    return {
      ...base,
      known: false,
      seconds: 0,
      low: 0,
      high: 0,
      missing: timed.lacking.map((key) => ({ key, label: key.split(".").at(-1)! })),
      parameters: [],
      parts: [],
      spans: [],
      spansLeftOut: 0,
      totals: [],
      notes: [],
      events: 0,
    };
  const plan = planJob(timed.recording, input.image, wish);
  const values = valuesOf(timed, fitted);
  const missing = missingOf(timed, plan.rests, values);
  const ops = opsOf(plan, values);
  const phases = brief ? 2 : PHASES;
  const times: number[] = [];
  for (let k = 0; k < phases; k++) times.push(run(timed, ops, values, (k + 0.5) / phases).time);
  const mean = times.reduce((sum, time) => sum + time, 0) / phases;
  const spread = [...times];
  // Both ends of the spindle's and the line's tolerance, taken together.
  for (const end of ["low", "high"] as const) {
    const edge = new Map(values);
    for (const each of timed.parameters)
      if ((each.id === "rotation" || each.id === "lineRate") && each[end] !== undefined) edge.set(each.id, each[end]);
    for (const phase of brief ? [0.5] : [0.25, 0.75]) spread.push(run(timed, ops, edge, phase).time);
  }
  for (const sample of fitted?.samples ?? []) {
    const tried = new Map(values);
    for (const [id, value] of sample) tried.set(id, value);
    const sampled = opsOf(plan, tried);
    for (const phase of [0.25, 0.75]) spread.push(run(timed, sampled, tried, phase).time);
  }
  const nearest = times.reduce(
    (best, time, k) => (Math.abs(time - mean) < Math.abs(times[best]! - mean) ? k : best),
    0,
  );
  const told: Pick<Simulated, "spans" | "parts" | "events"> = brief
    ? { spans: [], parts: [], events: 0 }
    : run(timed, ops, values, (nearest + 0.5) / phases, true);
  const totals = new Map<string, { lane: Lane; name: string; seconds: number; times: number }>();
  for (const { lane, name, length } of told.spans) {
    const key = `${lane} ${name}`;
    const total = totals.get(key) ?? { lane, name, seconds: 0, times: 0 };
    total.seconds += length / 1e6;
    total.times++;
    totals.set(key, total);
  }
  const notes = [...plan.notes];
  const overrun = busTooSlow(timed, values);
  if (overrun !== undefined) notes.push(overrun);
  return {
    ...base,
    known: missing.length === 0,
    seconds: mean / 1e6,
    low: Math.min(...spread) / 1e6,
    high: Math.max(...spread) / 1e6,
    missing: missing.map(({ key, label }) => ({ key, label })),
    parameters: timed.parameters.map((each) => {
      const fit = fitted?.values.find(({ id }) => id === each.id);
      const shown = fit ? { ...each, value: fit.value, low: fit.low, high: fit.high, source: FITTED } : each;
      return {
        ...shown,
        text: parameterText(shown),
        rests: plan.rests.includes(each.id) && !(each.id === "busRate" && values.get("buffers") === 0),
      };
    }),
    parts: told.parts.flatMap((part, index) =>
      part === undefined
        ? []
        : [{ name: plan.parts[index]!, start: part.start / 1e6, length: (part.end - part.start) / 1e6 }],
    ),
    spans: told.spans
      .slice(0, MOST_SPANS)
      .map(({ lane, name, start, length, part }) => ({ lane, name, start: start / 1e6, length: length / 1e6, part })),
    spansLeftOut: Math.max(0, told.spans.length - MOST_SPANS),
    totals: [...totals.values()].sort((a, b) => b.seconds - a.seconds),
    notes,
    events: told.events,
  };
}

const FITTED = { id: "measured", title: "fitted to your measurements", kind: "user" } as const;

export const parameterText = ({ id, value, low, high, dimension }: Parameter): string => {
  if (value === undefined) return "not known";
  // A bus is thought of in bytes.
  const print = (each: number, digits: number): string =>
    id === "busRate" ? `${formatNumber(each / 8, digits)} byte/s` : formatValue(each, dimension, digits);
  if (low === undefined || high === undefined || low === high) return print(value, 4);
  return `${print(value, 4)} (${print(low, 3)} to ${print(high, 3)})`;
};

/** Without a buffer the bus must keep up with the disk. */
function busTooSlow(timed: TimedBench, values: Values): string | undefined {
  const rate = values.get("busRate");
  if ((values.get("buffers") ?? 1) > 0 || rate === undefined) return undefined;
  const disk = Math.max(...timed.recording!.rates.map((each) => each.value.value));
  return rate < disk
    ? `The bus moves ${formatValue(rate, "rate")} and the disk gives ${formatValue(disk, "rate")}: without a buffer, bytes are lost.`
    : undefined;
}
