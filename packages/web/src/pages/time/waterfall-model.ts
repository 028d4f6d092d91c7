import type { TimingAnswer } from "@rouse/core/timing";
import type { SpanColumns } from "./types.ts";

/** One bar of the waterfall, in seconds. */
export interface WaterfallSpan {
  name: string;
  start: number;
  length: number;
}

export interface WaterfallLane {
  name: string;
  /** Ascending by start. */
  spans: readonly WaterfallSpan[];
}

/** In the order in which data flow from the disk to the terminal. */
const ORDER = ["motor", "arm", "head", "disk", "bus", "CPU", "line"];

const byStart = (a: WaterfallSpan, b: WaterfallSpan): number => a.start - b.start;

/** The parts of the job first, then a lane for each thing that does something. */
export function lanesOf({ parts }: TimingAnswer, columns: SpanColumns): WaterfallLane[] {
  const lanes = new Map<string, WaterfallSpan[]>();
  columns.lane.forEach((lane, k) => {
    const spans = lanes.get(lane) ?? [];
    spans.push({ name: columns.names[columns.name[k]!]!, start: columns.start[k]!, length: columns.length[k]! });
    lanes.set(lane, spans);
  });
  const own = ORDER.flatMap((name) => {
    const spans = lanes.get(name);
    return spans ? [{ name, spans: spans.sort(byStart) }] : [];
  });
  return [{ name: "part", spans: [...parts].sort(byStart) }, ...own];
}

/** When the last thing ends, in seconds. */
export const endOf = (lanes: readonly WaterfallLane[]): number =>
  lanes.reduce(
    (end, { spans }) => spans.reduce((latest, { start, length }) => Math.max(latest, start + length), end),
    1e-6,
  );

/** Place of the last span that begins at or before `time`; -1 before the first. */
export function lastBefore(spans: readonly WaterfallSpan[], time: number): number {
  let low = -1;
  let high = spans.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (spans[middle]!.start <= time) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** The span at a time, or the nearest within `reach` seconds of it; -1 where there is none. */
export function spanAt(spans: readonly WaterfallSpan[], time: number, reach: number): number {
  const before = lastBefore(spans, time);
  const found = spans[before];
  const next = spans[before + 1];
  const past = found ? time - (found.start + found.length) : Number.POSITIVE_INFINITY;
  if (past <= 0) return before;
  const ahead = next ? next.start - time : Number.POSITIVE_INFINITY;
  if (Math.min(past, ahead) > reach) return -1;
  return past <= ahead ? before : before + 1;
}
