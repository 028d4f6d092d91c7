import type { Kit } from "../kit.ts";
import type { Cause, FaultInPlace, Outcome, Test } from "../types.ts";

/** What the makers of tests know: the bench, and its causes, which some tests name as outcomes. */
export interface TestKit extends Kit {
  causes: readonly Cause[];
}

type Draft = Pick<Test, "id" | "kind" | "link" | "title" | "how" | "outcomes" | "minutes" | "chances"> & Partial<Test>;

/** Fills in what most tests have: nothing is opened, and one in fifty misleads. */
export const test = (draft: Draft): Test => ({
  tools: [],
  inside: false,
  risk: "none",
  hazards: [],
  misleads: 0.02,
  ...draft,
});

export const outcome = (id: string, words: string, sight?: string): Outcome => ({
  id,
  words,
  ...(sight === undefined ? {} : { sight }),
});

/** Whether the machine does better once something was changed; `share` of those that it mends. */
export const cured = (chance: (fault: FaultInPlace) => number): Pick<Test, "outcomes" | "chances" | "misleads"> => ({
  outcomes: [outcome("cured", "it does better now"), outcome("same", "the same as before")],
  // What comes and goes may stay away for a while whatever was done.
  chances: (fault) => {
    const lucky = fault.manner === "sometimes" ? 0.15 : 0.01;
    const share = Math.max(lucky, chance(fault));
    return [share, 1 - share];
  },
  misleads: 0.02,
});

export const good = (words: string): Outcome => outcome("good", words);

/** Two outcomes, the second by its chance. */
export const bad = (chance: (fault: FaultInPlace) => number): Pick<Test, "chances"> => ({
  chances: (fault) => {
    const share = chance(fault);
    return [1 - share, share];
  },
});

/**
 * What is seen of a start that goes from stage to stage: at each, what is newly blocked there gives that stage's outcomes,
 * and what gets through all of them gives `rest`.
 */
export function inTurn(
  fault: FaultInPlace,
  stages: readonly (readonly [node: string, outcomes: readonly number[]])[],
  rest: readonly number[],
): number[] {
  const sum = rest.map(() => 0);
  let blocked = 0;
  const add = (share: number, outcomes: readonly number[]): void => {
    const whole = outcomes.reduce((total, each) => total + each, 0);
    for (const [index, each] of outcomes.entries()) sum[index] = sum[index]! + (share * each) / whole;
  };
  for (const [node, outcomes] of stages) {
    const here = Math.max(0, fault.stops(node) - blocked);
    if (here > 0) add(here, outcomes);
    blocked += here;
  }
  add(1 - blocked, rest);
  return sum;
}

/** Signals of lines: all of them move, some do not, none does. */
export const LINES = [
  outcome("all", "every line moves"),
  outcome("some", "one or more stay still"),
  outcome("none", "none moves"),
] as const;
