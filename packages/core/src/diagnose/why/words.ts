import { visible } from "../../bytes/index.ts";
import { InputError } from "../../errors/index.ts";
import { nearest } from "../../errors/nearest.ts";
import { parseQuantity } from "../../quantity/index.ts";
import type { WhyModel } from "./model.ts";
import type { Answer, Test } from "./types.ts";

/** What a person may say that leaves open which of several outcomes it was. */
const BROAD: readonly { sight: string; test: string; outcomes: readonly string[] }[] = [
  { sight: "banner but no login", test: "screen", outcomes: ["banner", "disk-error", "loading", "no-keys"] },
  { sight: "nothing on the screen", test: "screen", outcomes: ["dark", "blank"] },
  { sight: "drive does nothing", test: "drive-noise", outcomes: ["silent", "turns"] },
];

export interface Sight {
  sight: string;
  test: string;
  outcomes: readonly string[];
}

/** Everything that can be said unasked of this bench, in the order of the tests. */
export function sightsOf({ tests }: WhyModel): Sight[] {
  return tests.flatMap((test) => [
    ...test.outcomes.flatMap(({ id, sight }) =>
      sight === undefined ? [] : [{ sight, test: test.id, outcomes: [id] }],
    ),
    ...BROAD.filter(
      (each) => each.test === test.id && each.outcomes.every((id) => test.outcomes.some((known) => known.id === id)),
    ),
  ]);
}

/** Words as they are compared: "the 5 V rail" and "+5 V" are the same, "−12 V" and "12 V" are not. */
const bare = (text: string): string =>
  text
    .toLowerCase()
    .replaceAll("−", "-")
    .replace(/\b(?:the|a|an|on|of|at|rail|line|is|are)\b/g, " ")
    .replace(/[\s+\u201c\u201d"'.,;:]+/g, "");

/** Steps of a run book, by the start of their id, and the test that goes on from there when they fail. */
const STEPS: readonly (readonly [step: string, test: string])[] = [
  ["inspect-case", "smell"],
  ["inspect-shorts", "fuse"],
  ["memory-programs", "memory-test"],
  ["memory/", "memory-test"],
  ["cable/", "ring"],
  ["line/", "typing"],
  ["boot", "screen"],
  ["login", "screen"],
  ["show", "screen"],
];

/** The test to begin with when a step of the run book fails; undefined where none goes on from it. */
export function testOfStep(step: string): string | undefined {
  const rail = /^supply-(off|on|full)-load\/(.+)$/.exec(step);
  if (rail) return `${rail[1] === "off" ? "off-load" : "rail"}/${rail[2]}`;
  if (/^disk\/.+\/write$/.test(step)) return "read-back";
  if (/^disk\/.+\/medium$/.test(step)) return "other-disk";
  return STEPS.find(([start]) => step.startsWith(start))?.[1];
}

type Told = Pick<Answer, "test" | "outcomes" | "reading">;

/** What was seen or measured, as an answer: "dark screen", "5 V rail = 4.2 V", "reset = held". */
export function readTold(model: WhyModel, text: string): Told {
  const at = text.indexOf("=");
  return at < 0 ? readSight(model, text) : readValue(model, text.slice(0, at).trim(), text.slice(at + 1).trim());
}

function readSight(model: WhyModel, text: string): Told {
  const sights = sightsOf(model);
  const found = sights.find(({ sight }) => bare(sight) === bare(text));
  if (found) return { test: found.test, outcomes: found.outcomes };
  const close = nearest(
    text,
    sights.map(({ sight }) => sight),
  );
  throw new InputError(
    "no-such-sight",
    `“${visible(text)}” is not among what can be seen here; ${close ? `did you mean “${close}”?` : "the page Why and `rouse why JOB --list` list it, and a reading is written as “5 V rail = 4.2 V”."}`,
  );
}

function testNamed({ tests }: WhyModel, name: string): Test {
  const wanted = bare(name);
  if (wanted === "")
    throw new InputError("no-name", "The name of what was measured is missing; write it as “5 V rail = 4.2 V”.");
  const namesOf = ({ id, title, reading }: Test): readonly string[] => [id, title, ...(reading?.names ?? [])];
  const found =
    tests.find((test) => test.id === name) ?? tests.find((test) => namesOf(test).some((each) => bare(each) === wanted));
  if (found) return found;
  const close = nearest(name, tests.flatMap(namesOf));
  throw new InputError(
    "no-such-test",
    `Nothing here is called “${visible(name)}”; ${close ? `did you mean “${close}”?` : "the page Why and `rouse why JOB --list` list what can be looked at and measured."}`,
  );
}

/** Plain words for outcomes that most tests have under one id or another. */
const PLAIN: readonly { words: readonly string[]; ids: readonly string[] }[] = [
  { words: ["present", "yes", "ok", "right", "fine", "there", "normal"], ids: ["good", "all"] },
  { words: ["open", "infinite", "noreading"], ids: ["blown"] },
  { words: ["absent", "no", "missing", "none", "nothing", "dead"], ids: ["none", "still", "nothing", "zero"] },
];

/** An outcome by its id, its words or its sight, or by a plain word for it. */
function outcomeNamed({ outcomes }: Test, text: string): string | undefined {
  const wanted = bare(text);
  const ids = PLAIN.find(({ words }) => words.includes(wanted))?.ids ?? [];
  return (
    outcomes.find(({ id, words, sight }) => [id, words, sight ?? id].some((each) => bare(each) === wanted)) ??
    outcomes.find(({ id }) => ids.includes(id))
  )?.id;
}

function readValue(model: WhyModel, name: string, value: string): Told {
  const test = testNamed(model, name);
  return readAnswer(test, value);
}

/** What was found at a test: one of its outcomes, a reading with its unit, or "?" where it was not done. */
export function readAnswer(test: Test, value: string): Told {
  if (value === "?") return { test: test.id, outcomes: [] };
  const named = outcomeNamed(test, value);
  if (named !== undefined) return { test: test.id, outcomes: [named] };
  const { reading } = test;
  if (reading && /^[+\-\u2212]?[.\d]/.test(value)) {
    const { value: base } = parseQuantity(value.replace(/^\u2212/, "-"), reading.dimension);
    const doubt = base < 0 && reading.dimension !== "voltage" ? "it is less than nothing." : reading.doubt?.(base);
    if (doubt !== undefined)
      throw new InputError("doubtful-reading", `“${visible(value)}” cannot be what was found: ${doubt}`);
    return { test: test.id, outcomes: [reading.outcomeOf(base)], reading: value };
  }
  const list = test.outcomes.slice(0, 12).map(({ id }) => `“${id}”`);
  throw new InputError(
    "no-such-outcome",
    `“${visible(value)}” is no outcome of “${test.title}”; there is ${list.join(", ")}${test.outcomes.length > 12 ? " and more" : ""}${reading ? `, or a reading (wanted: ${reading.wanted})` : ""}.`,
  );
}
