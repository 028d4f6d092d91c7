import type { Bench, BenchComputer, BenchPath, BenchStage } from "../bench/index.ts";
import { type Catalogue, type Chip, type Logic, namesIn, type Source, type Sourced } from "../catalogue/index.ts";
import { orderOf } from "../memory/index.ts";
import { type ReadCycle, readCycle } from "./cycle.ts";
import { type FanOut, fanOuts } from "./fan-out.ts";
import { type Change, changesOf, fastestFor, functionOf, type Reach } from "./faster.ts";

/** A stretch of time in a read, in s from the start of the cycle. */
export interface Span {
  what: string;
  kind: "address" | "translation" | "decode" | "buffer" | "load" | "wait" | "memory" | "data" | "set-up" | "edge";
  part?: string;
  from: number;
  to: number;
  added: boolean;
  source?: Source;
  note?: string;
}

/** A line of a timing diagram: what a signal is from one time on. */
export interface Trace {
  signal: string;
  edges: readonly { at: number; to: "low" | "high" | "changing" | "valid" | "off" }[];
}

/** A read of one memory, worked out by the greatest delays of the data sheets. */
export interface BusTiming {
  path: BenchPath;
  cycle: ReadCycle;
  /** Hz, and the time from the start of the address to the edge that takes the data, s. */
  clock: number;
  window: number;
  spans: readonly Span[];
  traces: readonly Trace[];
  /** Time left between the data and the moment it must be there, s. */
  margin: number;
  /** What added boards cost, s. */
  added: number;
  /** The strobe of a dynamic memory: when it comes, when the address is there, and the time between them, s. */
  strobe?: { at: number; reached: number; margin: number };
  /** Fastest clock at which every delay still fits, Hz; a strobe that the clock gives comes sooner with a faster clock. */
  fastest: number;
  /** What the CPU itself is rated for, Hz. */
  rated?: number;
  changes: readonly Change[];
}

/** A read whose time cannot be worked out, with the keys that would settle it. */
export interface UnknownTiming {
  path: BenchPath;
  missing: readonly string[];
}

interface Delay {
  seconds: number;
  value: Sourced;
}

/** Delay of a stage: the one that the bench names, else the longest; a register file's access time counts as its delay. */
function delayOf(stage: BenchStage): Delay | undefined {
  const { chip } = stage;
  const rows = (chip?.delays ?? []).filter((each) => stage.delay === undefined || each.path === stage.delay);
  const values = rows.flatMap((each) => each.max ?? each.typical ?? []);
  const longest = values.sort((a, b) => b.value.value - a.value.value)[0] ?? chip?.memory?.access;
  return longest && { seconds: longest.value.value, value: longest };
}

const kindOf = (stage: BenchStage, computer: BenchComputer): Span["kind"] => {
  if (stage.board !== undefined && stage.board === computer.translation?.board) return "translation";
  const number = functionOf(stage.part);
  if (number === "138" || number === "139") return "decode";
  return stage.chip?.output?.type === "three-state" && stage.chip.kind === "logic" ? "buffer" : "decode";
};

/** Longest delay of a chip's paths, or its access time. */
const longestOf = (chip: Chip | undefined): number => {
  const delays = (chip?.delays ?? []).flatMap((each) => each.max ?? each.typical ?? []);
  return Math.max(0, ...delays.map((each) => each.value.value));
};

/** The wired parts that make a region's select, in order, along the way that takes longest. */
function decoderOf(computer: BenchComputer, regionName: string): BenchStage[] {
  const select = computer.regions.find((each) => each.name === regionName)?.select?.[0]?.logic;
  if (!select) return [];
  const { signals, madeBy } = computer.logic;
  const ways = new Map<string, { seconds: number; stages: BenchStage[] }>();
  const longest = (logic: Logic) => {
    let best: { seconds: number; stages: BenchStage[] } = { seconds: 0, stages: [] };
    for (const name of namesIn(logic)) {
      const way = ways.get(name);
      if (way && way.seconds > best.seconds) best = way;
    }
    return best;
  };
  for (const name of orderOf(select, signals)) {
    const before = longest(signals.get(name)!);
    const maker = madeBy.get(name);
    const stage: BenchStage | undefined = maker && {
      path: "computer.logic.parts",
      part: maker.part,
      note: `decoder, ${maker.part} ${maker.place}`,
      ...(maker.chip ? { chip: maker.chip } : {}),
    };
    ways.set(name, {
      seconds: before.seconds + longestOf(maker?.chip),
      stages: stage ? [...before.stages, stage] : before.stages,
    });
  }
  return longest(select).stages;
}

/** Surplus load on address lines slows the driver; the worst of the lines that it drives counts. */
function loadDelay(loads: readonly FanOut[], driver: string, letter: string): FanOut | undefined {
  return loads
    .filter((each) => each.driver?.part === driver && each.lines.some((line) => line.startsWith(letter)))
    .sort((a, b) => (b.slowed ?? 0) - (a.slowed ?? 0))[0];
}

/** Times every read that the bench describes. */
export function busTimings(bench: Bench, catalogue: Catalogue): (BusTiming | UnknownTiming)[] {
  const computer = bench.computer;
  if (!computer) return [];
  const loads = fanOuts(computer);
  return computer.paths.map((path) => timingOf(computer, path, loads, catalogue));
}

function timingOf(
  computer: BenchComputer,
  path: BenchPath,
  loads: readonly FanOut[],
  catalogue: Catalogue,
): BusTiming | UnknownTiming {
  const missing: string[] = [];
  const cycle = computer.cpu?.chip && readCycle(computer.cpu.chip);
  if (!cycle) missing.push("computer.cpu.part");
  const clock = computer.cpu?.clock?.high;
  if (clock === undefined) missing.push("computer.cpu.clock");
  const access = path.access ?? path.memory?.chip?.memory?.access?.value;
  if (!access) missing.push(`${path.path}.access`);
  for (const stage of [...path.through, ...path.back]) if (!delayOf(stage)) missing.push(`${stage.path}.part`);
  if (!cycle || clock === undefined || !access || missing.length > 0) return { path, missing };

  const added = new Set(computer.boards.filter((each) => each.added).map((each) => each.name));
  const spans = spansOf({ computer, path, loads, cycle, access: access.high, added });
  const dataAt = spans.at(-1)!.to;
  const window = (cycle.periods + path.waits) / clock;
  const take = window - cycle.edge;
  const rated = computer.cpu?.chip?.cpu?.clockMax?.value.value;
  const reached = reachedAt(spans);
  const strobe = path.starts?.high;
  const takesRow = path.memory?.chip?.memory?.type === "dynamic";
  const reach: Reach = {
    periods: cycle.periods + path.waits,
    before: reached,
    after: dataAt - spans.find((each) => each.kind === "memory")!.from + cycle.setup.value.value + cycle.edge,
    ...(strobe === undefined ? {} : { strobe: { at: strobe * clock, takesRow } }),
  };
  const all: Span[] = [
    ...spans,
    {
      what: "set-up",
      kind: "set-up",
      from: take - cycle.setup.value.value,
      to: take,
      added: false,
      source: cycle.setup.source,
    },
    ...(cycle.edge > 0
      ? [{ what: "edge of the clock", kind: "edge" as const, from: take, to: window, added: false }]
      : []),
  ];
  return {
    path,
    cycle,
    clock,
    window,
    spans: all,
    traces: tracesOf(spans, cycle, clock, window, path.waits),
    margin: take - cycle.setup.value.value - dataAt,
    added: spans.filter((each) => each.added).reduce((sum, each) => sum + each.to - each.from, 0),
    ...(strobe !== undefined && takesRow ? { strobe: { at: strobe, reached, margin: strobe - reached } } : {}),
    fastest: fastestFor(reach),
    ...(rated === undefined ? {} : { rated }),
    changes: changesOf({ path, reach, clock, catalogue, spans }),
  };
}

/** When the address is at the memory, s: the end of the last delay before it. */
function reachedAt(spans: readonly Span[]): number {
  const memory = spans.findIndex((each) => each.kind === "memory");
  return (
    spans
      .slice(0, memory)
      .filter((each) => each.kind !== "wait")
      .at(-1)?.to ?? 0
  );
}

interface SpanInput {
  computer: BenchComputer;
  path: BenchPath;
  loads: readonly FanOut[];
  cycle: ReadCycle;
  access: number;
  added: ReadonlySet<string>;
}

/** The delays of a read one after another, from the start of the cycle to valid data at the CPU. */
function spansOf({ computer, path, loads, cycle, access, added }: SpanInput): Span[] {
  const spans: Span[] = [];
  let now = 0;
  const take = (span: Omit<Span, "from" | "to">, seconds: number) => {
    spans.push({ ...span, from: now, to: now + seconds });
    now += seconds;
  };
  const loadOf = (part: string, letter: string) => {
    const slow = loadDelay(loads, part, letter);
    if (slow?.slowed)
      take(
        { what: `load of ${slow.title} on ${part}`, kind: "load", part, added: slow.load.addedCapacitance > 0 },
        slow.slowed,
      );
  };
  const cpu = computer.cpu?.part ?? "CPU";
  take(
    { what: "address delay of the CPU", kind: "address", part: cpu, added: false, source: cycle.addressDelay.source },
    cycle.addressDelay.value.value,
  );
  loadOf(cpu, "A");
  const pass = (stages: readonly BenchStage[], letter: string, kind?: Span["kind"]) => {
    for (const stage of stages) {
      const { seconds, value } = delayOf(stage)!;
      take(
        {
          what: stage.note ?? `${stage.part}${stage.delay ? `, ${stage.delay}` : ""}`,
          kind: kind ?? kindOf(stage, computer),
          part: stage.part,
          added: stage.board !== undefined && added.has(stage.board),
          source: value.source,
          ...(value.note === undefined ? {} : { note: value.note }),
        },
        seconds,
      );
      loadOf(stage.part, letter);
    }
  };
  pass(path.through, "A");
  pass(decoderOf(computer, path.region), "A", "decode");
  const starts = path.starts?.high;
  if (starts !== undefined && starts > now)
    take({ what: "wait for the row strobe", kind: "wait", added: false }, starts - now);
  const memory = path.memory;
  const source = path.access ? undefined : memory?.chip?.memory?.access?.source;
  take(
    {
      what: `access of ${memory?.part ?? path.region}`,
      kind: "memory",
      added: false,
      ...(memory ? { part: memory.part } : {}),
      ...(source ? { source } : {}),
    },
    access,
  );
  pass(path.back, "D", "data");
  return spans;
}

/** The signals of a read for a drawing. */
function tracesOf(spans: readonly Span[], cycle: ReadCycle, clock: number, window: number, waits: number): Trace[] {
  const edges: Trace["edges"][number][] = [];
  const halves = Math.round((cycle.periods + waits) * 2);
  for (let half = 0; half <= halves; half++) {
    // The 6809's E and the 6502's phase 2 are low first; the Z80's clock is high first.
    const low = cycle.periods === 1 ? half % 2 === 0 : half % 2 === 1;
    edges.push({ at: half / 2 / clock, to: low ? "low" : "high" });
  }
  const address = spans.find((each) => each.kind === "address")!;
  const memory = spans.find((each) => each.kind === "memory")!;
  const reached = reachedAt(spans);
  const data = spans.at(-1)!.to;
  const valid = (signal: string, at: number): Trace => ({
    signal,
    edges: [
      { at: 0, to: "changing" },
      { at, to: "valid" },
    ],
  });
  return [
    { signal: "clock", edges },
    valid("address at the CPU", address.to),
    valid("address and select at the memory", reached),
    {
      signal: "data of the memory",
      edges: [
        { at: 0, to: "off" },
        { at: memory.from, to: "changing" },
        { at: memory.to, to: "valid" },
      ],
    },
    {
      signal: "data at the CPU",
      edges: [
        { at: 0, to: "off" },
        { at: memory.from, to: "changing" },
        { at: data, to: data <= window ? "valid" : "changing" },
      ],
    },
  ];
}
