import type { Step } from "@rouse/core/runbook/state";

/** What a person sees where a step fails, as the page Why names it; undefined where it has no name for it. */
export function symptomOf(_step: Step): string | undefined {
  return undefined;
}
