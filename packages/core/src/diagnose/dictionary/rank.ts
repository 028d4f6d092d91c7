import type { Bench } from "../../bench/index.ts";
import { memoryMapOf } from "../../memory/index.ts";
import type { MachineFault } from "../fault/machine.ts";
import type { Report } from "../report/read.ts";
import type { Finding, Test, TestProgram } from "../types.ts";
import { cellCandidates, chipsOf, type WrongByte, wrongBytes } from "./cells.ts";
import { type Group, groupKey, type Prediction, Predictor, turnOf } from "./predict.ts";
import { arraysOf, type ChipArray, candidatesOf } from "./suspects.ts";
import type { Candidate, Suspect } from "./types.ts";

/**
 * From what a program printed to the parts that may be bad. Each candidate's findings are worked out and held against the report,
 * group by group: which bytes, which bits, in which elements, how many. Nothing is stored for single cells.
 */

/** A part that may be bad. */
export interface Ranked {
  suspect: Suspect;
  /** The way of being bad that fits best. */
  how: string;
  /** How well its findings are those of the report: 1 is every one of them, and no other. */
  fit: number;
}

/** A finding told with less than this is one of all that there are. */
const TOLD_ALL = 4;
/** What fits less than this explains nothing. */
const WORTH = 0.05;
/** Addresses of a test at which candidates are looked at: more than a program tells of one element. */
const MOST_ADDRESSES = 48;
/** What one of these costs in a group, between 0 and 1. */
const NOT_FOUND = 1;
const OTHER_BYTE = 0.7;
const TOO_MANY = 0.8;
/** Counts that are one apart on a scale of twos cost this, and no more than MOST_COUNT. */
const COUNT = 0.08;
const MOST_COUNT = 0.6;
/** A bad cell of a kind that is not worked out, as a coupling whose other cell is not known. */
const SOME_CELL = 0.12;
/** Of two that fit alike: a chip before a line, a line before what serves several parts. */
const RARER: Readonly<Record<Suspect["kind"], number>> = {
  chip: 0,
  "data line": 0.01,
  select: 0.01,
  "address line": 0.01,
  latch: 0.01,
  translation: 0.01,
  refresh: 0.01,
};

/** The report in groups, with the tests that said whether they found anything. */
interface Observed {
  groups: Map<string, Group>;
  /** Tests that came to their verdict. */
  judged: Set<string>;
  findings: readonly Finding[];
}

/** Parts that may be bad by a report, the best first; none where the report has no finding, or nothing explains it. */
export function rankSuspects(bench: Bench, program: TestProgram, report: Report, most = 10): Ranked[] {
  const map = memoryMapOf(bench);
  if (!map || report.findings.length === 0) return [];
  const observed = observe(program.tests, report);
  const predictor = new Predictor(
    map,
    program,
    [...observed.groups.values()].flatMap((each) => each.findings),
  );
  const arrays = arraysOf(bench, map);
  const wrong = wrongBytes(predictor, program, report.findings);
  const best = new Map<string, Ranked>();
  const offer = (candidate: Pick<Candidate, "suspect" | "how">, cost: number) => {
    const { suspect, how } = candidate;
    const fit = Math.max(0, 1 - cost - RARER[suspect.kind]);
    const known = best.get(suspect.id);
    if (!known || known.fit < fit) best.set(suspect.id, { suspect, how, fit });
  };
  const signs = signsOf(predictor, program, report.findings);
  for (const candidate of [
    ...candidatesOf(bench, map).filter((each) => mayBe(each.fault, signs)),
    ...(wrong ? cellCandidates(map, arrays, wrong) : []),
  ])
    offer(candidate, costOf(observed, predictor.predict(candidate.fault)));
  if (wrong) for (const each of someCells(arrays, wrong, observed)) offer(each.candidate, each.cost);
  return [...best.values()]
    .filter(({ fit }) => fit >= WORTH)
    .sort((a, b) => b.fit - a.fit)
    .slice(0, most);
}

/** What marches saw, at a glance: it rules out most candidates before anything is worked out. */
interface Signs {
  /** Memory parts with wrong bytes. */
  parts: Set<string>;
  /** Bits that were wrong at any time, and those that were wrong every time. */
  ever: number;
  always: number;
  views: boolean;
}

function signsOf(predictor: Predictor, program: TestProgram, findings: readonly Finding[]): Signs {
  const tests = new Map(program.tests.map((test) => [test.letter, test]));
  const signs: Signs = { parts: new Set(), ever: 0, always: 0xff, views: false };
  for (const { test: letter, address, view, wanted, got } of findings) {
    const test = tests.get(letter);
    if (!test?.march || view !== undefined) signs.views = true;
    if (!test?.march || address === undefined || wanted === undefined || got === undefined) continue;
    const word = predictor.wordAt(test, address, view);
    const part = word === undefined ? undefined : predictor.partAt(word);
    if (part !== undefined) signs.parts.add(part);
    signs.ever |= wanted ^ got;
    signs.always &= wanted ^ got;
  }
  return signs;
}

function mayBe(fault: MachineFault, { parts, ever, always, views }: Signs): boolean {
  if (fault.on === "map") return views;
  if (ever === 0 || fault.on === "cells") return true;
  const own = fault.on === "lines" ? [fault.part] : fault.parts;
  if (![...parts].every((each) => own.includes(each))) return false;
  const line = fault.fault;
  if (line.kind === "select") return true;
  const bits = line.kind === "data-short" ? (1 << line.lines[0]) | (1 << line.lines[1]) : line.bits;
  // A wrong address gives another byte's pattern, which differs in every bit that comes from there.
  const whole = line.kind === "address" || line.kind === "address-short";
  return (ever & ~bits) === 0 && (!whole || always === bits);
}

function observe(tests: readonly Test[], { findings, counts, verdicts }: Report): Observed {
  const groups = new Map<string, Group>();
  const looked = new Map<string, Set<number>>();
  const byLetter = new Map(tests.map((test) => [test.letter, test]));
  for (const finding of findings) {
    const test = byLetter.get(finding.test);
    if (!test) continue;
    const turn = turnOf(test, finding.wanted);
    const key = groupKey(finding.test, finding.element, turn);
    const group = groups.get(key) ?? { test: finding.test, element: finding.element, turn, findings: [], count: 0 };
    groups.set(key, group);
    group.count++;
    const addresses = looked.get(finding.test) ?? new Set();
    looked.set(finding.test, addresses);
    if (finding.address !== undefined && addresses.size < MOST_ADDRESSES) addresses.add(finding.address);
    if (finding.address === undefined || addresses.has(finding.address)) group.findings.push(finding);
  }
  for (const [key, { findings: kept }] of groups) if (kept.length === 0) groups.delete(key);
  // The numbers come once for each pattern that had findings, in the order of the patterns.
  const numbered = new Map<string, number>();
  for (const { test, element, count } of counts) {
    const key = `${test}${element}`;
    const index = numbered.get(key) ?? 0;
    numbered.set(key, index + 1);
    const own = [...groups.values()]
      .filter((each) => each.test === test && each.element === element)
      .sort((a, b) => a.turn - b.turn)[index];
    if (own) own.count = Math.max(own.count, count);
  }
  return {
    groups,
    judged: new Set([...verdicts.map(({ test }) => test), ...findings.map(({ test }) => test)]),
    findings,
  };
}

/** How badly a prediction fits, 0 to 1. */
function costOf(observed: Observed, { groups }: Prediction): number {
  let cost = 0;
  let weight = 0;
  const keys = new Set([...observed.groups.keys(), ...groups.keys()]);
  for (const key of keys) {
    const seen = observed.groups.get(key);
    const said = groups.get(key);
    if (!observed.judged.has((seen ?? said)!.test)) continue;
    weight++;
    cost += groupCost(seen, said);
  }
  return weight === 0 ? 1 : cost / weight;
}

const placeOf = ({ address, view }: Finding): string => `${address} ${view}`;

function groupCost(seen: Group | undefined, said: Group | undefined): number {
  if (!seen || !said) return 1;
  const told = new Map(said.findings.map((each) => [`${placeOf(each)} ${each.wanted}`, each.got]));
  let wrong = 0;
  for (const finding of seen.findings) {
    const got = told.get(`${placeOf(finding)} ${finding.wanted}`);
    if (got === undefined) wrong += NOT_FOUND;
    else if (got !== finding.got) wrong += OTHER_BYTE;
  }
  let cost = wrong / seen.findings.length;
  const expected = said.count > 0 ? said.count : said.findings.length;
  cost += Math.min(MOST_COUNT, COUNT * Math.abs(Math.log2((expected + 1) / (seen.count + 1))));
  if (seen.count <= TOLD_ALL) {
    const reported = new Set(seen.findings.map((each) => `${placeOf(each)} ${each.wanted}`));
    const others = said.findings.filter((each) => !reported.has(`${placeOf(each)} ${each.wanted}`)).length;
    cost += (TOO_MANY * others) / (others + seen.findings.length);
  }
  return Math.min(1, cost);
}

/** For each chip that holds a wrong bit: that cells of it are bad in a way that is not worked out. */
function someCells(
  arrays: readonly ChipArray[],
  wrong: readonly WrongByte[],
  observed: Observed,
): { candidate: Pick<Candidate, "suspect" | "how">; cost: number }[] {
  const chips = new Map<string, { suspect: Suspect; mask: number; bytes: number }>();
  for (const { part, word, bits } of wrong) {
    const array = arrays.find((each) => each.part.name === part);
    if (!array) continue;
    for (const { suspect, mask } of chipsOf(array, word))
      if (bits & mask) {
        const known = chips.get(suspect.id) ?? { suspect, mask, bytes: 0 };
        known.bytes++;
        chips.set(suspect.id, known);
      }
  }
  return [...chips.values()].map(({ suspect, mask, bytes }) => {
    let cost = 0;
    for (const { findings, count } of observed.groups.values()) {
      const strange = findings.filter(({ wanted = 0, got = 0 }) => (wanted ^ got) & ~mask).length;
      cost += Math.min(
        1,
        strange / findings.length + (count > bytes * 3 ? MOST_COUNT : 0) + (1 - bytes / wrong.length) / 2,
      );
    }
    return { candidate: { suspect, how: "bad cells" }, cost: SOME_CELL + cost / observed.groups.size };
  });
}
