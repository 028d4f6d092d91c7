import type { Chain } from "../fit/index.ts";
import { basisOf } from "./basis.ts";
import type { Stage, Step, Wanted } from "./types.ts";

/** A step as its maker writes it; what is left out is empty. */
export interface Draft {
  id: string;
  title: string;
  why: string;
  how: readonly string[];
  expected: string;
  reading?: Wanted;
  tools?: readonly string[];
  /** Minutes that such work usually takes (common practice, no source), or what the timing room says. */
  time: number | Step["time"];
  say: string;
  checks?: readonly string[];
  missing?: readonly string[];
  /** Values of the bench whose change makes a tick worthless. */
  rests: unknown;
  image?: string;
}

/** Completes a draft: basis, and the findings of the chain that stand in its way. */
export function finish(stage: Stage, draft: Draft, chain: Chain | undefined): Step {
  const { rests, say, checks = [], time, missing = [], tools = [], ...rest } = draft;
  const warnings = (chain?.findings ?? []).filter(
    ({ id, verdict }) => (verdict === "stops" || verdict === "tight") && checks.includes(id.split("/")[0]!),
  );
  return {
    ...rest,
    stage,
    tools,
    missing,
    time: typeof time === "number" ? { seconds: time * 60, from: "usual" } : time,
    fails: { say, checks },
    warnings: warnings.map((each) => each.sentence),
    basis: basisOf([draft.id, rests]),
  };
}
