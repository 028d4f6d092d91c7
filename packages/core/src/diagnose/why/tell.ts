import type { Source } from "../../catalogue/index.ts";
import {
  after,
  byCause,
  type KnownAnswer,
  knownAnswers,
  type Proposal,
  proposal,
  proposals,
  settled,
  uncertainty,
} from "./bayes.ts";
import type { PriorCause, WhyModel } from "./model.ts";
import type { Answer, Hazard, Outcome, Risk, Test, WhyFinding, WhyLink } from "./types.ts";
import { type Sight, sightsOf } from "./words.ts";

export interface WhyCaution {
  code: Hazard;
  title: string;
  sentence: string;
}

/** How an answer moved a cause: bits are the base-2 logarithm of how many times likelier it became. */
interface Moved {
  id: string;
  title: string;
  found: string;
  bits: number;
}

export interface ToldCause {
  id: string;
  link: WhyLink;
  part: string;
  chance: number;
  prior: number;
  because: string;
  source: Source;
  raisedBy: readonly WhyFinding[];
  remedy: string;
  cautions: readonly WhyCaution[];
  at: string | null;
  moved: readonly Moved[];
}

export interface ToldTest {
  id: string;
  kind: Test["kind"];
  link: WhyLink;
  title: string;
  how: readonly string[];
  tools: readonly string[];
  /** Minutes of work; with opening the case where that is still to be done. */
  minutes: number;
  opens: boolean;
  risk: Risk;
  cautions: readonly WhyCaution[];
  misleads: number;
  bits: number;
  /** Bits a minute, a minute at risk counting more: what tests are ranked by. */
  worth: number;
  reading: { wanted: string; dimension: string } | null;
  /** `points`: to the likeliest cause if this is found. */
  outcomes: readonly (Outcome & { chance: number; points: { part: string; chance: number } })[];
}

interface ToldAnswer {
  id: string;
  test: string;
  title: string;
  found: string;
  reading: string | null;
  at: string | null;
  /** How likely it was thought to be, and whether that is so far below an even share that it is better looked at twice. */
  likely: number;
  surprising: boolean;
  /** Causes that it raised or lowered most, in bits. */
  raised: readonly { part: string; bits: number; chance: number }[];
  lowered: readonly { part: string; bits: number; chance: number }[];
}

/** Where a search stands: what `rouse why --json` prints and the page shows. */
export interface WhyTold {
  format: "rouse-why";
  version: 1;
  bench: string;
  /** Bits that are still open. */
  open: number;
  /** The cause that is as good as found, with those that cannot be told from it; `listed` false where it is none of the list. */
  found: { causes: readonly string[]; chance: number; listed: boolean } | null;
  /** Sets of causes that no test left tells apart, short of changing soldered parts. */
  alike: readonly (readonly string[])[];
  causes: readonly ToldCause[];
  links: readonly { link: WhyLink; chance: number }[];
  /** Tests by worth; the first is proposed. */
  tests: readonly ToldTest[];
  /** A test that was asked for by name, answered or not. */
  asked: ToldTest | null;
  sights: readonly Sight[];
  answers: readonly ToldAnswer[];
  /** Answers to tests that this bench no longer has: kept, and not counted. */
  left: readonly Answer[];
  /** All that is needed to go on elsewhere. */
  session: { format: "rouse-why-session"; version: 1; bench: string; answers: readonly Answer[] };
}

/** Short forms where the bench's own cautions do not speak of a hazard: a drive's mains, for one. */
const CAUTIONS: Readonly<Record<Hazard, Omit<WhyCaution, "code">>> = {
  mains: {
    title: "Mains",
    sentence:
      "Pull the plug and keep it in sight before a case is opened; do not work alone or on live mains. Local codes and licensed practice go first.",
  },
  "picture-tube": {
    title: "Picture tube",
    sentence:
      "The anode holds thousands of volts for hours: leave the inside of a display to people trained for it. Local codes and licensed practice go first.",
  },
  capacitors: {
    title: "Charged capacitors",
    sentence:
      "They stay charged with the plug pulled: wait, measure, and discharge through a resistor, never with a screwdriver.",
  },
  static: {
    title: "Static electricity",
    sentence:
      "Touch chips and boards only on a grounded mat with a wrist strap, with the power off; never the strap near live mains.",
  },
};

const cautionsFor = (hazards: readonly Hazard[], own: readonly WhyCaution[]): WhyCaution[] =>
  hazards.map((code) => own.find((each) => each.code === code) ?? { code, ...CAUTIONS[code] });

const log2 = (now: number, before: number): number => Math.log2(Math.max(now, 1e-12) / Math.max(before, 1e-12));

interface Step {
  known: KnownAnswer;
  before: Float64Array;
  after: Float64Array;
  likely: number;
}

/** Walks through the answers one by one, keeping the chances of the causes before and after each. */
function walk(model: WhyModel, known: readonly KnownAnswer[]): { faults: Float64Array; steps: Step[] } {
  let faults = model.priors;
  const steps: Step[] = [];
  for (const each of known) {
    const next = after(model, faults, each);
    steps.push({
      known: each,
      before: byCause(model, faults),
      after: byCause(model, next.faults),
      likely: next.likely,
    });
    faults = next.faults;
  }
  return { faults, steps };
}

function foundWords(model: WhyModel, { answer, test, outcomes }: KnownAnswer): string {
  const words = outcomes.map((each) => model.tests[test]!.outcomes[each]!.words);
  const told = words.length === 0 ? "not done" : words.join(", or ");
  return answer.reading === undefined ? told : `${answer.reading}: ${told}`;
}

/** An answer below this part of an even share among the outcomes is a surprise (judgement). */
const SURPRISE = 0.25;

/** Chances of causes below this move about without meaning anything. */
const LEAST = 0.005;

function toldAnswer(model: WhyModel, step: Step): ToldAnswer {
  const { known } = step;
  const moves = model.causes
    .map(({ part }, cause) => ({
      part,
      bits: log2(step.after[cause]!, step.before[cause]!),
      chance: step.after[cause]!,
      was: step.before[cause]!,
    }))
    .filter(({ chance, was }) => Math.max(chance, was) >= LEAST);
  const told = ({ part, bits, chance }: (typeof moves)[number]) => ({ part, bits, chance });
  // By how much chance moved, not by bits: a rare cause that doubles is still rare.
  const byMove = [...moves].sort((a, b) => b.chance - b.was - (a.chance - a.was));
  return {
    id: known.answer.id,
    test: known.answer.test,
    title: model.tests[known.test]!.title,
    found: foundWords(model, known),
    reading: known.answer.reading ?? null,
    at: known.answer.at ?? null,
    likely: step.likely,
    surprising: step.likely * model.tests[known.test]!.outcomes.length < SURPRISE,
    raised: byMove
      .filter(({ bits }) => bits > 0.1)
      .slice(0, 3)
      .map(told),
    lowered: [...byMove]
      .reverse()
      .filter(({ bits }) => bits < -0.1)
      .slice(0, 3)
      .map(told),
  };
}

function toldCause(
  model: WhyModel,
  cause: PriorCause,
  index: number,
  chance: number,
  steps: readonly Step[],
  own: readonly WhyCaution[],
): ToldCause {
  return {
    id: cause.id,
    link: cause.link,
    part: cause.part,
    chance,
    prior: cause.prior,
    because: cause.because,
    source: cause.source,
    raisedBy: cause.raisedBy,
    remedy: cause.remedy,
    cautions: cautionsFor(cause.hazards, own),
    at: cause.at ?? null,
    moved: steps.map((step) => ({
      id: step.known.answer.id,
      title: model.tests[step.known.test]!.title,
      found: foundWords(model, step.known),
      bits: log2(step.after[index]!, step.before[index]!),
    })),
  };
}

function toldTest(model: WhyModel, faults: Float64Array, proposal: Proposal, own: readonly WhyCaution[]): ToldTest {
  const test = model.tests[proposal.test]!;
  const { id, kind, link, title, how, tools, risk, misleads, hazards, reading } = test;
  return {
    id,
    kind,
    link,
    title,
    how,
    tools,
    risk,
    misleads,
    minutes: proposal.minutes,
    opens: proposal.minutes > test.minutes,
    cautions: cautionsFor(hazards, own),
    bits: proposal.bits,
    worth: proposal.worth,
    reading: reading ? { wanted: reading.wanted, dimension: reading.dimension } : null,
    outcomes: test.outcomes.map((outcome, index) => {
      const next = byCause(model, after(model, faults, { test: proposal.test, outcomes: [index] }).faults);
      const first = next.indexOf(Math.max(...next));
      return {
        ...outcome,
        chance: proposal.outcomes[index]!,
        points: { part: model.causes[first]!.part, chance: next[first]! },
      };
    }),
  };
}

/** Tests that a front end lists besides the one proposed. */
const LISTED = 12;

/**
 * Where a search stands after these answers: causes ranked, what moved them, the tests by worth. `cautions` are those of
 * the bench, to be read before a case is opened; `wanted` is a test that is told whatever it is worth.
 */
export function tellWhy(
  model: WhyModel,
  answers: readonly Answer[],
  cautions: readonly WhyCaution[] = [],
  wanted?: string,
): WhyTold {
  const { known, left } = knownAnswers(model, answers);
  const { faults, steps } = walk(model, known);
  const chances = byCause(model, faults);
  const order = [...chances.keys()].sort((a, b) => chances[b]! - chances[a]! || a - b);
  const idsOf = (some: readonly number[]) => some.map((each) => model.causes[each]!.id);
  const { found, groups } = settled(model, faults, known);
  const asked = model.tests.findIndex(({ id }) => id === wanted);
  const links = [...new Set(model.causes.map(({ link }) => link))];
  return {
    format: "rouse-why",
    version: 1,
    bench: model.bench,
    open: uncertainty(chances),
    found: found && {
      causes: idsOf(found.causes),
      chance: found.chance,
      listed: found.causes.some((each) => model.causes[each]!.class !== "other"),
    },
    alike: groups.filter(({ length }) => length > 1).map(idsOf),
    causes: order.map((index) => toldCause(model, model.causes[index]!, index, chances[index]!, steps, cautions)),
    links: links.map((link) => ({
      link,
      chance: model.causes.reduce((sum, each, index) => sum + (each.link === link ? chances[index]! : 0), 0),
    })),
    tests: proposals(model, faults, known)
      .slice(0, LISTED)
      .map((each) => toldTest(model, faults, each, cautions)),
    asked: asked < 0 ? null : toldTest(model, faults, proposal(model, faults, known, asked), cautions),
    sights: sightsOf(model),
    answers: steps.map((step) => toldAnswer(model, step)),
    left,
    session: { format: "rouse-why-session", version: 1, bench: model.bench, answers },
  };
}
