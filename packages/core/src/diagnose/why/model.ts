import type { Bench } from "../../bench/index.ts";
import { causesOf } from "./causes/index.ts";
import { kitOf } from "./kit.ts";
import { RAISES, SHARES } from "./rates.ts";
import { testsOf } from "./tests/index.ts";
import type { Cause, CauseClass, FaultInPlace, Test, WhyFinding } from "./types.ts";
import { closures, forceOf } from "./works.ts";

/** A cause with its chance before anything was seen, and the findings that raised or lowered it. */
export interface PriorCause extends Cause {
  prior: number;
  raisedBy: readonly WhyFinding[];
}

/** All that can be wrong with a bench and all that can be tried; made once for a bench and its findings. */
export interface WhyModel {
  bench: string;
  causes: readonly PriorCause[];
  /** Each way in which each cause shows, with the index of its cause and its prior. */
  faults: readonly FaultInPlace[];
  causeOf: Int32Array;
  /** First fault of each cause, and one past the last of all: those of a cause lie together. */
  firstFault: Int32Array;
  priors: Float64Array;
  tests: readonly Test[];
  /** By test: how likely each outcome is under each fault, a row a fault; rows sum to 1. */
  likelihoods: readonly Float64Array[];
}

/** The findings that speak of a cause: of its checks, and of its part of the bench where both name one. */
const findingsOf = ({ checks, about }: Cause, findings: readonly WhyFinding[]): WhyFinding[] =>
  findings.filter(({ id }) => {
    const slash = id.indexOf("/");
    const named = slash < 0 ? undefined : id.slice(slash + 1);
    return checks.includes(slash < 0 ? id : id.slice(0, slash)) && (!named || !about || named.startsWith(about));
  });

/** The gravest finding decides; several that run count once. */
function factorOf(findings: readonly WhyFinding[]): number {
  const factors = findings.map(({ verdict }) => RAISES[verdict]);
  return factors.length === 0 ? 1 : Math.max(...factors);
}

/** Shares out each class among its causes by weight, raises and lowers by findings, and sums to 1. */
function withPriors(causes: readonly Cause[], findings: readonly WhyFinding[]): PriorCause[] {
  const classes = new Map<CauseClass, number>();
  for (const { class: own, weight } of causes) classes.set(own, (classes.get(own) ?? 0) + weight);
  const raised = causes.map((cause) => {
    const raisedBy = findingsOf(cause, findings);
    const share = (SHARES[cause.class] * cause.weight) / classes.get(cause.class)!;
    return {
      ...cause,
      raisedBy: raisedBy.filter(({ verdict }) => verdict !== "runs"),
      prior: share * factorOf(raisedBy),
    };
  });
  const whole = raised.reduce((sum, { prior }) => sum + prior, 0);
  return raised.map((each) => ({ ...each, prior: each.prior / whole }));
}

/**
 * Makes the model of a bench: causes from its parts, with the findings of its chain in the priors, and the tests it allows.
 */
export function makeWhyModel(bench: Bench, findings: readonly WhyFinding[] = []): WhyModel {
  const kit = kitOf(bench);
  const causes = withPriors(causesOf(kit), findings);
  const failing = closures({ supply: kit.logicRails, levels: kit.levelRails });
  const faults: FaultInPlace[] = [];
  const owners: number[] = [];
  for (const [index, cause] of causes.entries())
    for (const fault of cause.faults) {
      const reached = failing.get(fault.node);
      const force = forceOf(fault);
      owners.push(index);
      faults.push({
        ...fault,
        cause,
        // A rail that feeds neither logic nor line driver stops nothing that is modelled.
        stops: (node) => (reached?.has(node) ? force : 0),
        is: (...kinds) => kinds.includes(cause.kind),
      });
    }
  const tests = testsOf({ ...kit, causes });
  return {
    bench: bench.name,
    causes,
    faults,
    causeOf: Int32Array.from(owners),
    firstFault: Int32Array.from([...causes.map((_, index) => owners.indexOf(index)), owners.length]),
    priors: Float64Array.from(faults, ({ share }, index) => causes[owners[index]!]!.prior * share),
    tests,
    likelihoods: tests.map((each) => table(each, faults)),
  };
}

/** A row a fault. With the chance that the test misleads, every outcome is as likely as another. */
function table({ outcomes, chances, misleads }: Test, faults: readonly FaultInPlace[]): Float64Array {
  const rows = new Float64Array(faults.length * outcomes.length);
  for (const [row, fault] of faults.entries()) {
    const found = chances(fault);
    const whole = found.reduce((sum, each) => sum + Math.max(0, each), 0);
    for (let column = 0; column < outcomes.length; column++)
      rows[row * outcomes.length + column] =
        ((1 - misleads) * Math.max(0, found[column] ?? 0)) / whole + misleads / outcomes.length;
  }
  return rows;
}
