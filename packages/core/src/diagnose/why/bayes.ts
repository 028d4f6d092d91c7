import type { WhyModel } from "./model.ts";
import type { Answer, Risk } from "./types.ts";

/** An answer whose test and outcomes the model knows, by index. */
export interface KnownAnswer {
  answer: Answer;
  test: number;
  outcomes: readonly number[];
}

/** Parts answers into those that this bench's tests know, and those that are left from another state of it. */
export function knownAnswers(model: WhyModel, answers: readonly Answer[]): { known: KnownAnswer[]; left: Answer[] } {
  const known: KnownAnswer[] = [];
  const left: Answer[] = [];
  for (const answer of answers) {
    const test = model.tests.findIndex(({ id }) => id === answer.test);
    const outcomes = answer.outcomes.map((id) => model.tests[test]?.outcomes.findIndex((each) => each.id === id) ?? -1);
    if (test >= 0 && !outcomes.includes(-1)) known.push({ answer, test, outcomes });
    else left.push(answer);
  }
  return { known, left };
}

/** How likely it is under a fault that one of these outcomes is found. */
function chanceOf(model: WhyModel, test: number, outcomes: readonly number[], fault: number): number {
  const width = model.tests[test]!.outcomes.length;
  const table = model.likelihoods[test]!;
  let sum = 0;
  for (const outcome of outcomes) sum += table[fault * width + outcome]!;
  return sum;
}

/** Chances by cause of chances by fault. */
export function byCause(model: WhyModel, faults: Float64Array): Float64Array {
  const causes = new Float64Array(model.causes.length);
  for (let fault = 0; fault < faults.length; fault++) causes[model.causeOf[fault]!]! += faults[fault]!;
  return causes;
}

/** Chances of the faults after one more answer, and how likely that answer was. An answer "not done" changes nothing. */
export function after(
  model: WhyModel,
  before: Float64Array,
  { test, outcomes }: Pick<KnownAnswer, "test" | "outcomes">,
): { faults: Float64Array; likely: number } {
  if (outcomes.length === 0) return { faults: before, likely: 1 };
  const faults = new Float64Array(before.length);
  let whole = 0;
  for (let fault = 0; fault < before.length; fault++) {
    faults[fault] = before[fault]! * chanceOf(model, test, outcomes, fault);
    whole += faults[fault]!;
  }
  for (let fault = 0; fault < faults.length; fault++) faults[fault]! /= whole;
  return { faults, likely: whole };
}

/** How much is not known yet, in bits. */
export function uncertainty(chances: Float64Array): number {
  let bits = 0;
  for (const share of chances) if (share > 0) bits -= share * Math.log2(share);
  return bits;
}

/**
 * Bits that a test is expected to tell of the cause: uncertainty now, less the mean of what is left after each outcome.
 * (Shannon's mutual information of cause and outcome.) Gives also how likely each outcome is.
 */
export function expected(
  model: WhyModel,
  faults: Float64Array,
  test: number,
): { bits: number; outcomes: Float64Array } {
  const width = model.tests[test]!.outcomes.length;
  const table = model.likelihoods[test]!;
  const outcomes = new Float64Array(width);
  const joint = new Float64Array(model.causes.length * width);
  for (let fault = 0; fault < faults.length; fault++) {
    const share = faults[fault]!;
    if (share < 1e-12) continue;
    const row = model.causeOf[fault]! * width;
    for (let outcome = 0; outcome < width; outcome++) {
      const both = share * table[fault * width + outcome]!;
      joint[row + outcome]! += both;
      outcomes[outcome]! += both;
    }
  }
  let bits = uncertainty(byCause(model, faults)) - uncertainty(joint);
  bits += uncertainty(outcomes);
  return { bits: Math.max(0, bits), outcomes };
}

/** Minutes that opening the case takes once, with the cautions read; and those between any two tests (judgement). */
const OPENING = 5;
const BETWEEN = 6;
/** How much dearer a minute is that can hurt somebody or a part (judgement). */
const RISKS: Readonly<Record<Risk, number>> = { none: 1, low: 1.15, some: 1.35, high: 2.5 };

export interface Proposal {
  test: number;
  bits: number;
  outcomes: Float64Array;
  /** Minutes with everything around it. */
  minutes: number;
  /** What it is ranked by: bits a minute, a risky minute counting more. */
  worth: number;
}

/** What a test is worth after these answers. */
export function proposal(model: WhyModel, faults: Float64Array, known: readonly KnownAnswer[], test: number): Proposal {
  const { minutes: work, inside, risk } = model.tests[test]!;
  const opened = known.some((each) => model.tests[each.test]!.inside && each.outcomes.length > 0);
  const minutes = work + (inside && !opened ? OPENING : 0);
  const { bits, outcomes } = expected(model, faults, test);
  return { test, bits, outcomes, minutes, worth: bits / ((minutes + BETWEEN) * RISKS[risk]) };
}

/** Every test not yet answered, that of most worth first. */
export function proposals(model: WhyModel, faults: Float64Array, known: readonly KnownAnswer[]): Proposal[] {
  const done = new Set(known.map(({ test }) => test));
  return [...model.tests.keys()]
    .flatMap((test) => (done.has(test) ? [] : [proposal(model, faults, known, test)]))
    .sort((a, b) => b.worth - a.worth || a.test - b.test);
}

/** Tests differ by less than this between two causes: then they do not tell them apart. */
const SAME = 0.12;

/** How far two causes lie apart in a test: half the sum of differences between their outcomes, 0 to 1. */
function apart(model: WhyModel, faults: Float64Array, test: number, one: number, other: number): number {
  const width = model.tests[test]!.outcomes.length;
  const means = [one, other].map((cause) => {
    const mean = new Float64Array(width);
    let whole = 0;
    for (let fault = model.firstFault[cause]!; fault < model.firstFault[cause + 1]!; fault++) {
      whole += faults[fault]!;
      for (let outcome = 0; outcome < width; outcome++)
        mean[outcome]! += faults[fault]! * model.likelihoods[test]![fault * width + outcome]!;
    }
    return mean.map((each) => (whole > 0 ? each / whole : 0));
  });
  return means[0]!.reduce((sum, each, outcome) => sum + Math.abs(each - means[1]![outcome]!), 0) / 2;
}

/**
 * Causes that no test left tells from the given one, short of changing a part that is soldered in. The likelier ones
 * only: a cause below a hundredth is nobody's worry.
 */
function alikeTo(
  model: WhyModel,
  faults: Float64Array,
  chances: Float64Array,
  known: readonly KnownAnswer[],
  cause: number,
): number[] {
  const done = new Set(known.map(({ test }) => test));
  const left = model.tests.flatMap(({ risk }, test) => (done.has(test) || risk === "high" ? [] : [test]));
  return [...chances.keys()].filter(
    (other) =>
      other !== cause &&
      chances[other]! >= 0.01 &&
      left.every((test) => apart(model, faults, test, cause, other) < SAME),
  );
}

/** A cause, or causes that cannot be told apart, this likely count as found (judgement). */
const ENOUGH = 0.8;

export interface Settled {
  /** Indices of the cause that is as good as found and of those alike, and their chance together; null while open. */
  found: { causes: readonly number[]; chance: number } | null;
  /** The likelier causes, each with those that cannot be told from it; the likeliest set first. */
  groups: readonly (readonly number[])[];
}

/** What is settled by now. */
export function settled(model: WhyModel, faults: Float64Array, known: readonly KnownAnswer[]): Settled {
  const chances = byCause(model, faults);
  const order = [...chances.keys()].filter((each) => chances[each]! >= 0.02).sort((a, b) => chances[b]! - chances[a]!);
  const placed = new Set<number>();
  const groups: number[][] = [];
  for (const cause of order.slice(0, 8)) {
    if (placed.has(cause)) continue;
    const group = [cause, ...alikeTo(model, faults, chances, known, cause).filter((each) => !placed.has(each))];
    for (const each of group) placed.add(each);
    groups.push(group);
  }
  const sum = (group: readonly number[]): number => group.reduce((total, each) => total + chances[each]!, 0);
  groups.sort((a, b) => sum(b) - sum(a));
  const chance = groups[0] ? sum(groups[0]) : 0;
  return { found: chance >= ENOUGH ? { causes: groups[0]!, chance } : null, groups };
}
