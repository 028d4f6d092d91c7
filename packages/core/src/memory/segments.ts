import type { BenchRegion } from "../bench/index.ts";
import type { ChipAt } from "./parts.ts";
import type { Stretch } from "./regions.ts";

const SPACE = 0x1_0000;

/** What answers an address in one direction. */
export interface Answer {
  region: string;
  kind: BenchRegion["kind"];
  /** The part whose chips they are, by its name, and the byte in it. */
  part: string;
  offset: number;
  bank?: number;
  /** Physical block, where the address was translated. */
  block?: number;
  mirror: boolean;
  waits: number;
}

/** What answers an address, down to the chip. */
export interface FullAnswer extends Answer {
  board?: string;
  chipPart?: string;
  chips: readonly ChipAt[];
}

/** Addresses that are answered alike: offsets go on byte by byte. */
export interface Segment {
  from: number;
  to: number;
  read?: Answer;
  write?: Answer;
  /** Regions that drive a read at the same time. */
  clash: readonly string[];
  /** Regions that are selected here and give way. */
  hidden: readonly string[];
}

/** A region that is selected. */
interface Candidate {
  answer: Answer;
  region: BenchRegion;
  under: boolean;
}

/** Where an overlap is meant, who goes before whom: a port before a ROM, a ROM before RAM. */
const RANK: Readonly<Record<BenchRegion["kind"], number>> = { io: 0, rom: 1, window: 2, ram: 3 };

/** Addresses at which a region is selected. */
export interface Selected {
  from: number;
  to: number;
  candidate: Candidate;
}

interface Decision {
  answer?: Answer;
  clash: readonly string[];
  hidden: readonly string[];
}
const NONE: readonly string[] = [];
const NOBODY: Decision = { clash: NONE, hidden: NONE };

/** Who of those that are selected answers, who fights and who gives way. */
function decide(live: readonly Selected[], from: number): Decision {
  const [only] = live;
  if (!only) return NOBODY;
  if (live.length === 1) {
    const { answer } = only.candidate;
    // Finely divided maps have tens of thousands of these: no copy where the answer is right as it is.
    const shift = from - only.from;
    return { clash: NONE, hidden: NONE, answer: shift === 0 ? answer : { ...answer, offset: answer.offset + shift } };
  }
  const sorted = live
    .map(({ from: start, candidate }) => ({ ...candidate, shift: from - start }))
    .sort((a, b) => RANK[a.region.kind] - RANK[b.region.kind] || Number(a.under) - Number(b.under));
  const [winner, ...others] = sorted;
  const open = sorted.filter((each) => !each.under);
  const clash = open.length > 1 ? open.map((each) => each.region.name) : [];
  const hidden = others.filter((each) => !clash.includes(each.region.name)).map((each) => each.region.name);
  return { clash, hidden, answer: { ...winner!.answer, offset: winner!.answer.offset + winner!.shift } };
}

const alike = (a: Answer | undefined, b: Answer | undefined, distance: number): boolean =>
  a === undefined || b === undefined
    ? a === b
    : a.region === b.region &&
      a.bank === b.bank &&
      a.block === b.block &&
      a.mirror === b.mirror &&
      a.offset + distance === b.offset;
const same = (a: readonly string[], b: readonly string[]) =>
  a.length === b.length && a.every((each, i) => each === b[i]);
const goesOn = (a: Segment, b: Segment): boolean =>
  alike(a.read, b.read, b.from - a.from) &&
  alike(a.write, b.write, b.from - a.from) &&
  same(a.clash, b.clash) &&
  same(a.hidden, b.hidden);

/** What of a stretch lies inside the given ranges. */
export function inside(stretch: Stretch, fixed: readonly { from: number; to: number }[]): Stretch[] {
  return fixed.flatMap((range): Stretch[] => {
    const from = Math.max(stretch.from, range.from);
    const to = Math.min(stretch.to, range.to);
    return from > to ? [] : [{ ...stretch, from, to, offset: stretch.offset + from - stretch.from }];
  });
}

/** What of a stretch lies outside the given ranges. */
export function without(
  stretch: Stretch,
  fixed: readonly { from: number; to: number }[],
): { from: number; to: number }[] {
  let parts = [{ from: stretch.from, to: stretch.to }];
  for (const range of fixed)
    parts = parts.flatMap(({ from, to }) =>
      range.to < from || range.from > to
        ? [{ from, to }]
        : [
            ...(range.from > from ? [{ from, to: range.from - 1 }] : []),
            ...(range.to < to ? [{ from: range.to + 1, to }] : []),
          ],
    );
  return parts;
}

/** The segment of a view that holds an address. */
export function segmentAt(view: readonly Segment[], address: number): Segment {
  let low = 0;
  let high = view.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (view[middle]!.to < address) low = middle + 1;
    else high = middle;
  }
  return view[low]!;
}

/** Divides all 64 KiB into segments, from what is selected for reads and for writes. */
export function segmentsOf(reads: Selected[], writes: Selected[]): Segment[] {
  const cuts = new Set([0, SPACE]);
  for (const { from, to } of [...reads, ...writes]) cuts.add(from).add(to + 1);
  const bounds = [...cuts].sort((a, b) => a - b);
  const byPlace = (a: { from: number }, b: { from: number }) => a.from - b.from;
  const waiting = [reads.sort(byPlace), writes.sort(byPlace)].map((list) => ({
    list,
    next: 0,
    live: [] as typeof reads,
  }));
  const segments: Segment[] = [];
  for (let index = 0; index + 1 < bounds.length; index++) {
    const from = bounds[index]!;
    const to = bounds[index + 1]! - 1;
    const [read, write] = waiting.map((side) => {
      if (side.live.some((each) => each.to < from)) side.live = side.live.filter((each) => each.to >= from);
      while (side.next < side.list.length && side.list[side.next]!.from <= from)
        side.live.push(side.list[side.next++]!);
      return decide(side.live, from);
    }) as [Decision, Decision];
    const segment: Segment = {
      from,
      to,
      clash: read.clash,
      hidden: read.hidden,
      ...(read.answer ? { read: read.answer } : {}),
      ...(write.answer ? { write: write.answer } : {}),
    };
    const last = segments.at(-1);
    if (last && goesOn(last, segment)) last.to = to;
    else segments.push(segment);
  }
  return segments;
}
