import type { Step } from "@rouse/core/runbook/state";

/** Where a step fails the page Why begins with the test that goes on from there: it knows the run book's steps by id. */
export const symptomOf = (step: Step): string => step.id;
