import { BugError } from "../errors/index.ts";
import { CHECKS } from "./checks/index.ts";
import { byGravity, type Check, type FitContext, runCheck, worstOf } from "./frame.ts";
import { type Finding, LINKS, type Link, type Verdict } from "./types.ts";
import { keysThatDescribe } from "./undescribed.ts";

export type { Check, FitContext, RomFile, SurveyedImage } from "./frame.ts";
export * from "./types.ts";

/**
 * The chain of a bench: a verdict for each link, and the findings it rests on, the worst first. `missing` has the keys of
 * the bench file that would describe a link without findings.
 */
export interface Chain {
  verdict: Verdict;
  links: readonly { link: Link; verdict: Verdict; findings: readonly Finding[]; missing?: readonly string[] }[];
  findings: readonly Finding[];
}

/** Runs every check that the bench's data allow. A link that no check could judge is `unknown`, never good. */
export function fitChain(context: FitContext, checks: readonly Check[] = CHECKS): Chain {
  const findings = withOwnIds(
    checks.flatMap((check) => {
      try {
        return runCheck(check, context);
      } catch (error) {
        throw new BugError(`the check “${check.id}” failed`, { cause: error });
      }
    }),
  );
  const links = LINKS.map((link) => {
    const own = findings.filter((each) => each.link === link).sort(byGravity);
    return {
      link,
      verdict: worstOf(own.map((each) => each.verdict)),
      findings: own,
      ...(own.length > 0 ? {} : { missing: keysThatDescribe(link, context.bench) }),
    };
  });
  return {
    verdict: worstOf(links.map((each) => each.verdict)),
    links,
    findings: [...findings].sort((a, b) => byGravity(a, b) || LINKS.indexOf(a.link) - LINKS.indexOf(b.link)),
  };
}

/** Tells apart what a check says of one thing several times, as of two kinds of code on one image: `system-cpu/disk (2)`. */
function withOwnIds(findings: readonly Finding[]): Finding[] {
  const seen = new Map<string, number>();
  return findings.map((each) => {
    const times = (seen.get(each.id) ?? 0) + 1;
    seen.set(each.id, times);
    return times === 1 ? each : { ...each, id: `${each.id} (${times})` };
  });
}

/** A check by its id, or by the id of one of its findings (`port-rate/console`). */
export const checkNamed = (id: string): Check | undefined => CHECKS.find((each) => each.id === id.split("/")[0]);

export const allChecks = (): readonly Check[] => CHECKS;

export { type Caution, cautionsFor } from "./cautions.ts";
export { type Carries, type Drawing, type DrawnCable, type DrawnChip, drawingOf } from "./drawing.ts";
export { type ImageReport, imageReport } from "./image-report.ts";
export { surveyForFit, unreadableImage } from "./images.ts";
export { brokenReport, type FindingWithPlace, type JobReport, makeReport } from "./report.ts";
