import type { Bench } from "../bench/index.ts";
import { type Chain, cautionsFor } from "../fit/index.ts";
import { diskSteps, type HashedImage } from "./disk-steps.ts";
import { cableSteps, lineSteps } from "./line-steps.ts";
import { fittedSteps, fittingSteps, inspectionSteps, supplySteps } from "./machine-steps.ts";
import { memorySteps } from "./memory-steps.ts";
import { backSteps, showSteps, startSteps } from "./start-steps.ts";
import { type Draft, finish } from "./step.ts";
import type { RunBook, Stage } from "./types.ts";

const cautionSteps = (bench: Bench): Draft[] =>
  cautionsFor(bench).map(({ code, title, sentence }) => ({
    id: `caution/${code}`,
    title,
    why: "This can hurt you, or what cannot be replaced.",
    how: [sentence],
    expected: "Everyone at the bench has read this.",
    time: 1,
    say: "Do not go on. Ask someone who is trained for it.",
    rests: [code, sentence],
  }));

/** The steps that this bench needs, in order: cautions first, the record last. */
export function makeRunBook(bench: Bench, images: readonly HashedImage[], chain?: Chain): RunBook {
  const computer = bench.computer;
  const stages: readonly [Stage, readonly Draft[]][] = [
    ["cautions", cautionSteps(bench)],
    ["inspection", computer ? inspectionSteps(computer) : []],
    ["supply", computer ? supplySteps(computer) : []],
    ["fitting", computer ? [...fittingSteps(computer), ...fittedSteps(computer)] : []],
    ["memory", memorySteps(bench)],
    ["cable", cableSteps(bench)],
    ["disk", diskSteps(bench, images)],
    ["line", lineSteps(bench)],
    ["start", startSteps(bench, images)],
    ["show", showSteps(bench)],
    ["put back", backSteps(bench)],
  ];
  return {
    bench: bench.name,
    steps: stages.flatMap(([stage, drafts]) => drafts.map((each) => finish(stage, each, chain))),
  };
}
