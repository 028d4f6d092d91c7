import {
  after,
  expected,
  type KnownAnswer,
  makeWhyModel,
  proposals,
  settled,
  type WhyModel,
} from "@rouse/core/diagnose/why";
import { demoBench, findingsOf, type Job } from "../rehearse/demo-bench.ts";

/**
 * Single faults in the demo benches, looked for in three ways: by the tests that `rouse why` proposes, down a fixed checklist, and
 * down that checklist without the tests that can tell nothing any more. All hear the same answers, judge them by the same arithmetic, and stop at the same certainty.
 */

/** Repeatable numbers from 0 up to 1 (xorshift32, Marsaglia 2003). */
function numbersFrom(seed: number): () => number {
  let state = Math.imul(seed + 1, 0x9e3779b1) | 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 0x1_0000_0000;
  };
}

function drawn(shares: ArrayLike<number>, number: number): number {
  let whole = 0;
  for (let index = 0; index < shares.length; index++) whole += shares[index]!;
  let left = number * whole;
  for (let index = 0; index < shares.length; index++) {
    left -= shares[index]!;
    if (left < 0) return index;
  }
  return shares.length - 1;
}

/** The search gives up here. */
const MOST = 60;

interface World {
  model: WhyModel;
  /** How the bench answers, a row a fault and a column an outcome; not what the search believes, where `spread` is not 0. */
  answers: readonly Float64Array[];
  /** How often each fault comes about. */
  faults: Float64Array;
}

/**
 * A bench that answers. With `spread` 0 faults come as often, and answer, as the model says. Otherwise every chance of an
 * outcome is off by a factor of e^±spread (a normal deviate), and every part fails as often as any other.
 */
function worldOf(job: Job, spread: number, seed: number): World {
  const bench = demoBench(job);
  const model = makeWhyModel(bench, findingsOf(job, bench));
  const next = numbersFrom(seed);
  const normal = () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next());
  const answers = model.likelihoods.map((table, test) => {
    if (spread === 0) return table;
    const width = model.tests[test]!.outcomes.length;
    const other = table.map((each) => each * Math.exp(spread * normal()));
    for (let row = 0; row < other.length; row += width) {
      const whole = other.subarray(row, row + width).reduce((sum, each) => sum + each, 0);
      for (let column = 0; column < width; column++) other[row + column]! /= whole;
    }
    return other;
  });
  const faults = spread === 0 ? model.priors : Float64Array.from(model.faults, ({ share }) => share);
  return { model, answers, faults };
}

interface Search {
  tests: number;
  minutes: number;
  /** The search ended with a cause, or with causes that no test tells apart. */
  ended: boolean;
  /** The true cause is that one, or among those. */
  right: boolean;
}

/** Minutes of the simulated work: those of the test, and opening the case once. */
const minutesOf = (model: WhyModel, done: readonly KnownAnswer[]): number => {
  const tests = done.map(({ test }) => model.tests[test]!);
  return tests.reduce((sum, { minutes }) => sum + minutes, 0) + (tests.some(({ inside }) => inside) ? 5 : 0);
};

export type Way = "proposed" | "useful checklist" | "checklist";
const WAYS: readonly Way[] = ["proposed", "useful checklist", "checklist"];

/** A test of the useful checklist is left out when it is expected to tell less than this; bits. */
const TELLS_NOTHING = 0.02;

/** One fault, looked for in one way. What the screen shows is seen first and is no test. */
function search({ model, answers }: World, fault: number, seed: number, way: Way): Search | undefined {
  // Each test's answer is drawn from its own number, so that every way hears the same.
  const answerTo = (test: number): KnownAnswer => {
    const { id, outcomes } = model.tests[test]!;
    const row = answers[test]!.subarray(fault * outcomes.length, (fault + 1) * outcomes.length);
    const outcome = drawn(row, numbersFrom(seed * 1009 + test)());
    return { answer: { id, test: id, outcomes: [outcomes[outcome]!.id] }, test, outcomes: [outcome] };
  };
  const screen = model.tests.findIndex(({ id }) => id === "screen");
  const known = [answerTo(screen)];
  // A machine that seems to work gives nobody a reason to look.
  if (known[0]!.answer.outcomes[0] === "works") return undefined;
  let { faults } = after(model, model.priors, known[0]!);
  let { found } = settled(model, faults, known);
  const list = [...model.tests.keys()].filter((test) => test !== screen);
  while (found === null && known.length <= MOST) {
    let test: number | undefined;
    if (way === "proposed") test = proposals(model, faults, known)[0]?.test;
    else
      do test = list.shift();
      while (way === "useful checklist" && test !== undefined && expected(model, faults, test).bits < TELLS_NOTHING);
    if (test === undefined) break;
    const answer = answerTo(test);
    known.push(answer);
    faults = after(model, faults, answer).faults;
    found = settled(model, faults, known).found;
  }
  const truth = model.causeOf[fault]!;
  return {
    tests: known.length - 1,
    minutes: minutesOf(model, known.slice(1)),
    ended: found !== null,
    right: found?.causes.includes(truth) ?? false,
  };
}

export interface Summary {
  faults: number;
  median: number;
  ninth: number;
  mean: number;
  minutes: number;
  right: number;
  ended: number;
}

function summary(all: readonly Search[]): Summary {
  const ordered = all.map(({ tests }) => tests).sort((a, b) => a - b);
  const minutes = all.map((each) => each.minutes).sort((a, b) => a - b);
  const share = (some: (each: Search) => boolean) => all.filter(some).length / all.length;
  return {
    faults: all.length,
    median: ordered[all.length >> 1]!,
    ninth: ordered[Math.floor(all.length * 0.9)]!,
    mean: ordered.reduce((sum, each) => sum + each, 0) / all.length,
    minutes: minutes[all.length >> 1]!,
    right: share((each) => each.right),
    ended: share((each) => each.ended),
  };
}

/** Draws faults until `count` of them were seen to matter, and looks for each in every way. */
export function compare(jobs: readonly Job[], count: number, spread: number, seed: number, ways = WAYS) {
  const worlds = jobs.map((job, index) => worldOf(job, spread, seed + index));
  const next = numbersFrom(seed);
  const found = new Map<Way, Search[]>(ways.map((way) => [way, []]));
  for (let turn = 0; found.get(ways[0]!)!.length < count; turn++) {
    const world = worlds[turn % worlds.length]!;
    const fault = drawn(world.faults, next());
    for (const way of ways) {
      const ended = search(world, fault, seed + turn, way);
      if (ended) found.get(way)!.push(ended);
    }
  }
  return new Map([...found].map(([way, all]) => [way, summary(all)] as const));
}
