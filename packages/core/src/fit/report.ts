import type { Bench, BenchIssue } from "../bench/index.ts";
import { type Caution, cautionsFor } from "./cautions.ts";
import type { SurveyedImage } from "./frame.ts";
import type { Chain } from "./index.ts";
import type { Finding, Link, Verdict } from "./types.ts";

/** What `rouse check --json` prints and the workbench shows. Documented in docs/report.md; `version` changes with it. */
export interface JobReport {
  format: "rouse-report";
  version: 1;
  /** Version of Rouse that made it. */
  madeBy: string;
  bench: { file: string; name: string | null; about: string | null };
  /** What is wrong with the bench file itself; then there is no chain. */
  issues: readonly BenchIssue[];
  verdict: Verdict | null;
  links: readonly {
    link: Link;
    verdict: Verdict;
    findings: readonly FindingWithPlace[];
    /** Where there is no finding: keys of the bench file that would describe the link. */
    missing?: readonly string[];
  }[];
  cautions: readonly Caution[];
  images: readonly {
    name: string;
    file: string;
    size: number;
    sha256: string | null;
    /** Kind and layout of the volume found, and how whole it is. */
    kind: string | null;
    format: string | null;
    label: string | null;
    condition: string | null;
    needs: readonly { kind: string; evidence: readonly { file: string; offset: number; text: string }[] }[];
  }[];
}

export interface FindingWithPlace extends Finding {
  /** Where in the bench file it speaks of, from 1. */
  line: number | null;
  column: number | null;
}

export const brokenReport = (madeBy: string, file: string, issues: readonly BenchIssue[]): JobReport => ({
  format: "rouse-report",
  version: 1,
  madeBy,
  bench: { file, name: null, about: null },
  issues,
  verdict: null,
  links: [],
  cautions: [],
  images: [],
});

export function makeReport(
  madeBy: string,
  file: string,
  bench: Bench,
  chain: Chain,
  images: readonly (SurveyedImage & { sha256: string | null })[],
  where: (key: string) => { line: number; column: number },
): JobReport {
  return {
    format: "rouse-report",
    version: 1,
    madeBy,
    bench: { file, name: bench.name, about: bench.about ?? null },
    issues: [],
    verdict: chain.verdict,
    links: chain.links.map(({ findings, ...link }) => ({
      ...link,
      findings: findings.map((each) => {
        const place = each.at === undefined ? undefined : where(each.at);
        return { ...each, line: place?.line ?? null, column: place?.column ?? null };
      }),
    })),
    cautions: cautionsFor(bench),
    images: images.map((each) => ({
      name: each.name,
      file: bench.images.find((image) => image.name === each.name)?.file ?? each.name,
      size: each.size,
      sha256: each.sha256,
      kind: each.volume?.kind ?? null,
      format: each.volume?.format ?? null,
      label: each.volume?.label ?? null,
      condition: each.volume?.condition ?? null,
      needs: each.needs,
    })),
  };
}
