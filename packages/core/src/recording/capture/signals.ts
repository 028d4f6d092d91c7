import { InputError } from "../../errors/index.ts";
import type { Capture, CaptureOptions, Edges, Signal } from "./types.ts";

/** Changes of a signal that lead to `level`. */
const edgesTo = ({ changes, firstLevel }: Signal, level: 0 | 1): Float64Array => {
  const from = firstLevel === level ? 0 : 1;
  const result = new Float64Array(Math.max(0, Math.ceil((changes.length - from) / 2)));
  for (let i = 0; i < result.length; i++) result[i] = changes[from + 2 * i]!;
  return result;
};

/** Values at shares of a sorted copy; NaN where there are none. */
function shares(values: Float64Array, wanted: readonly number[]): number[] {
  const sorted = values.slice().sort();
  return wanted.map((share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN);
}

/** How long the signal stays at `level` each time. */
function widths(signal: Signal, level: 0 | 1): Float64Array {
  const starts = signal.firstLevel === level ? 0 : 1;
  const result: number[] = [];
  for (let i = starts; i + 1 < signal.changes.length; i += 2) result.push(signal.changes[i + 1]! - signal.changes[i]!);
  return Float64Array.from(result);
}

/** A pulse lasts less than this share of the least spacing; a line that only changes its level is at each for half of it. */
const LONGEST_PULSE = 0.45;

/**
 * Times of the transitions on a read line. A drive gives a short pulse for each, mostly low; a read amplifier's output
 * changes its level instead. Pulses are told by one level lasting much shorter than the spacing of its beginnings.
 */
function transitionsOf(signal: Signal, edges: Edges): { times: Float64Array; note: string } {
  if (edges === "both") return { times: signal.changes, note: "both edges count" };
  if (edges !== "auto") return { times: edgesTo(signal, edges === "falling" ? 0 : 1), note: `${edges} edges count` };
  for (const level of [0, 1] as const) {
    const starts = edgesTo(signal, level);
    const gaps = starts.slice(1).map((time, i) => time - starts[i]!);
    const [wide] = shares(widths(signal, level), [0.95]);
    const [near] = shares(gaps, [0.05]);
    if (wide! < LONGEST_PULSE * near!)
      return { times: starts, note: `${level ? "high" : "low"} pulses: ${level ? "rising" : "falling"} edges count` };
  }
  return { times: signal.changes, note: "no pulses: both edges count" };
}

/** Index pulses: beginnings of the level that the line spends less time at; of one or two, what the line first goes to. */
function indexOf(signal: Signal): Float64Array {
  if (signal.changes.length < 4) return edgesTo(signal, signal.firstLevel);
  const spent = (level: 0 | 1) => widths(signal, level).reduce((sum, width) => sum + width, 0);
  return edgesTo(signal, spent(0) <= spent(1) ? 0 : 1);
}

const sameName = (one: string, other: string): boolean => one.trim().toLowerCase() === other.trim().toLowerCase();

/** Takes the read line and the index line out of the signals of a file. Throws an `InputError` where there is no read line. */
export function captureOf(signals: readonly Signal[], options: CaptureOptions): Capture {
  const named = (name: string | undefined, what: string): Signal | undefined => {
    if (name === undefined) return undefined;
    const found = signals.find((each) => sameName(each.name, name));
    if (found) return found;
    const known = signals.slice(0, 20).map((each) => each.name);
    throw new InputError(
      "no-signal",
      `There is no signal “${name}” for the ${what} line; there are: ${known.join(", ") || "none"}.`,
    );
  };
  const most = (from: readonly Signal[]): Signal | undefined =>
    from.reduce<Signal | undefined>(
      (best, each) => (best === undefined || each.changes.length > best.changes.length ? each : best),
      undefined,
    );
  const askedRead = named(options.read, "read");
  const askedIndex = named(options.index, "index");
  let index = askedIndex ?? signals.find((each) => each !== askedRead && /index|idx/i.test(each.name));
  const read = askedRead ?? most(signals.filter((each) => each !== index));
  if (!read || read.changes.length < 2)
    throw new InputError("no-transitions", "No signal of this capture changes its level, so there is nothing to read.");
  // An index comes once a turn, where the read line changes thousands of times.
  index ??= signals.find(
    (each) => each !== read && each.changes.length >= 1 && each.changes.length * 100 < read.changes.length,
  );
  const { times, note } = transitionsOf(read, options.edges ?? "auto");
  const notes = [`“${read.name}” is the read line; ${note}`];
  if (index) notes.push(`“${index.name}” is the index`);
  return { transitions: times, index: index ? indexOf(index) : new Float64Array(0), notes };
}
