import type { Link, LinkReport, Verdict, WorkbenchReport } from "../../job/types.ts";
import { counted, listed } from "../../parts/words.ts";

const GRAVITY: readonly Verdict[] = ["stops", "unknown", "tight", "runs"];

/** The first link with the chain's worst verdict. */
export const worstLink = ({ links }: WorkbenchReport): LinkReport | undefined =>
  [...links].sort((a, b) => GRAVITY.indexOf(a.verdict) - GRAVITY.indexOf(b.verdict))[0];

const named = (links: readonly LinkReport[], verdict: Verdict): Link[] =>
  links.filter((each) => each.verdict === verdict).map(({ link }) => link);

const theLinks = (links: readonly string[]): string => listed(links.map((each) => `the ${each}`));

/** What the whole chain says, in one sentence. */
export function headline({ links, drawing }: WorkbenchReport): string {
  const stops = named(links, "stops");
  const tight = named(links, "tight");
  const unknown = named(links, "unknown");
  const target = drawing?.audience?.target ?? "login";
  if (stops.length > 0)
    return `${theLinks(stops).replace(/^t/, "T")} ${stops.length === 1 ? "stops" : "stop"} this chain before the ${target}.`;
  if (unknown.length > 0)
    return `Nothing stops this chain so far, but ${counted(unknown.length, "link")} cannot be judged: a number is missing.`;
  if (tight.length > 0) return `The chain reaches the ${target}, with little margin at ${theLinks(tight)}.`;
  return `The chain reaches the ${target}.`;
}

/** "2 stop, 1 tight, 8 run" */
export function tally({ links }: WorkbenchReport): { verdict: Verdict; count: number; text: string }[] {
  return GRAVITY.map((verdict) => ({ verdict, count: named(links, verdict).length }))
    .filter(({ count }) => count > 0)
    .map(({ verdict, count }) => ({
      verdict,
      count,
      text: `${count} ${verdict === "runs" && count !== 1 ? "run" : verdict === "stops" && count !== 1 ? "stop" : verdict}`,
    }));
}
