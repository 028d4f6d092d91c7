import type { BenchRegion } from "../bench/index.ts";
import type { MemoryMap } from "./map.ts";
import { maskLogic, type Proof, proveEqual, rangeLogic } from "./prove.ts";
import type { Segment } from "./segments.ts";
import type { MapState } from "./state.ts";

export interface Range {
  from: number;
  to: number;
}

/** What is wrong, or worth knowing, with a map over all states looked at. */
export interface MapFindings {
  /** States looked at, and how many there are. */
  looked: number;
  states: number;
  /** Addresses that nothing answers in any state, and those that nothing answers in some. */
  holes: readonly Range[];
  sometimesHoles: readonly Range[];
  /** Two drivers at once: the first state and addresses of each set of regions. */
  clashes: readonly Clash[];
  /** Bytes of parts that no state shows. */
  unseen: readonly { part: string; bytes: number; of: number; banks: readonly number[] }[];
  /** Addresses at which a region answers beyond its own place. */
  mirrors: readonly { region: string; ranges: readonly Range[]; bytes: number }[];
  /** Longest run that can be read and written: the shortest and the longest over all states. */
  longest: { least: Run; most: Run };
}

interface Clash extends Range {
  regions: readonly string[];
  state: MapState;
  /** States in which they clash. */
  states: number;
}

export interface Run extends Range {
  bytes: number;
  state: MapState;
}

const SPACE = 0x1_0000;

/** Joins ranges that touch. */
function joined(ranges: readonly Range[]): Range[] {
  const out: Range[] = [];
  for (const each of [...ranges].sort((a, b) => a.from - b.from)) {
    const last = out.at(-1);
    if (last && each.from <= last.to + 1) last.to = Math.max(last.to, each.to);
    else out.push({ from: each.from, to: each.to });
  }
  return out;
}

const isMemory = (segment: Segment): boolean =>
  segment.clash.length === 0 &&
  segment.read !== undefined &&
  segment.write !== undefined &&
  (segment.read.kind === "ram" || segment.read.kind === "window") &&
  segment.read.part === segment.write.part &&
  segment.read.offset === segment.write.offset &&
  !segment.read.mirror;

/** Runs of memory that can be read and written, in one view. */
export function runsOf(view: readonly Segment[]): Range[] {
  return joined(view.filter(isMemory));
}

function longestOf(view: readonly Segment[], state: MapState): Run {
  let best: Range = { from: 0, to: -1 };
  for (const run of runsOf(view)) if (run.to - run.from > best.to - best.from) best = run;
  return { ...best, bytes: best.to - best.from + 1, state };
}

/** Segments that are looked at, over all states: a part that answers at tens of thousands of mirrors must not take minutes. */
const MOST_SEGMENTS = 100_000;

/** Looks at every state, up to `most`, or fewer where each is very finely divided. */
export function analyse(map: MemoryMap, most = USUAL_MOST): MapFindings {
  if (most !== USUAL_MOST) return lookThrough(map, most);
  const found = analysed.get(map) ?? lookThrough(map, most);
  analysed.set(map, found);
  return found;
}

const USUAL_MOST = 1024;
const analysed = new WeakMap<MemoryMap, MapFindings>();

function lookThrough(map: MemoryMap, most: number): MapFindings {
  const answered = new Uint8Array(SPACE);
  const sometimes = new Uint8Array(SPACE);
  const clashes = new Map<string, Clash>();
  const seen = new Map<string, Range[]>();
  const mirrors = new Map<string, Range[]>();
  let least: Run | undefined;
  let longest: Run | undefined;
  let looked = 0;
  let segments = 0;
  for (const state of map.states(most)) {
    looked++;
    const view = map.view(state);
    segments += view.length;
    const here = new Set<string>();
    for (const { from, to, read, write, clash } of view) {
      if (read || write) answered.fill(1, from, to + 1);
      else sometimes.fill(1, from, to + 1);
      if (clash.length > 0) {
        const key = clash.join("\n");
        const known = clashes.get(key);
        if (!known) clashes.set(key, { regions: clash, from, to, state, states: 1 });
        else if (known.state === state && from === known.to + 1) known.to = to;
        else if (known.state !== state && !here.has(key)) known.states++;
        here.add(key);
      }
      for (const answer of [read, write])
        if (answer) {
          add(seen, answer.part, { from: answer.offset, to: answer.offset + to - from });
          if (answer.mirror) add(mirrors, answer.region, { from, to });
        }
    }
    for (const [part, ranges] of seen) if (ranges.length > 64) seen.set(part, joined(ranges));
    for (const [region, ranges] of mirrors) if (ranges.length > 256) mirrors.set(region, joined(ranges));
    const run = longestOf(view, state);
    if (!least || run.bytes < least.bytes) least = run;
    if (!longest || run.bytes > longest.bytes) longest = run;
    if (segments > MOST_SEGMENTS) break;
  }
  // A map can be written to show any block: what translation can reach counts as seen.
  for (const { part, from, to } of map.translated()) add(seen, part, { from, to });
  const holes = rangesOf(answered, 0);
  for (const { from, to } of holes) sometimes.fill(0, from, to + 1);
  const none: Run = { from: 0, to: -1, bytes: 0, state: map.powerOn };
  return {
    looked,
    states: map.stateCount,
    holes,
    sometimesHoles: rangesOf(sometimes, 1),
    clashes: [...clashes.values()],
    unseen: map.parts.flatMap((part) => {
      const shown = joined(seen.get(part.name) ?? []);
      const shownBytes = shown.reduce((sum, each) => sum + Math.min(each.to, part.bytes - 1) - each.from + 1, 0);
      if (shownBytes >= part.bytes || part.kind === "io") return [];
      const { banks, bank } = part;
      const hidden = Array.from({ length: Math.min(banks ?? 0, 4096) }, (_, index) => index).filter(
        (index) => !shown.some((each) => each.from < (index + 1) * bank! && each.to >= index * bank!),
      );
      return [{ part: part.name, bytes: part.bytes - shownBytes, of: part.bytes, banks: hidden }];
    }),
    mirrors: [...mirrors].map(([region, ranges]) => {
      const all = joined(ranges);
      return { region, ranges: all, bytes: all.reduce((sum, each) => sum + each.to - each.from + 1, 0) };
    }),
    longest: { least: least ?? none, most: longest ?? none },
  };
}

const add = (to: Map<string, Range[]>, key: string, range: Range) => {
  const list = to.get(key);
  if (list) list.push(range);
  else to.set(key, [range]);
};

/** Where `flags`, each 0 or 1, hold `wanted`. */
function rangesOf(flags: Uint8Array, wanted: 0 | 1): Range[] {
  const ranges: Range[] = [];
  for (let from = flags.indexOf(wanted); from >= 0; ) {
    const end = flags.indexOf(wanted ^ 1, from);
    ranges.push({ from, to: (end < 0 ? flags.length : end) - 1 });
    from = end < 0 ? -1 : flags.indexOf(wanted, end);
  }
  return ranges;
}

/** A region whose select is given as logic, held against another equation or against its place. */
export interface DecodeProof {
  region: string;
  path: string;
  /** What was held against what, in words. */
  one: string;
  other: string;
  proof: Proof;
}

/** Holds every select that is given more than once against its first form, and against where the bench says the region is. */
export function proveDecoding(map: MemoryMap): DecodeProof[] {
  const { signals } = map.computer.logic;
  return map.computer.regions.flatMap((region): DecodeProof[] => {
    const [first, ...others] = region.select ?? [];
    if (!first) return [];
    const proofs = others.map(
      (other): DecodeProof => ({
        region: region.name,
        path: region.path,
        one: first.text,
        other: other.text,
        proof: proveEqual(first.logic, other.logic, signals),
      }),
    );
    return [
      ...proofs,
      {
        region: region.name,
        path: region.path,
        one: first.text,
        other: `its place, ${placeText(region)}`,
        proof: proveEqual(first.logic, placeLogic(region), signals),
      },
    ];
  });
}

const placeLogic = (region: BenchRegion) =>
  region.decode === undefined
    ? rangeLogic(region.from, Math.min(region.to, SPACE - 1))
    : maskLogic(region.decode, region.from);

const hex4 = (value: number): string => `$${value.toString(16).toUpperCase().padStart(4, "0")}`;
const placeText = (region: BenchRegion): string =>
  region.decode === undefined
    ? `${hex4(region.from)}–${hex4(region.to)}`
    : `${hex4(region.from)} on the lines of “decode”`;
