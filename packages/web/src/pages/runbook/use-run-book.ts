import { type StepState, stateOf } from "@rouse/core/runbook/state";
import { useEffect, useMemo, useSyncExternalStore } from "react";
import { openKeeper } from "./keep.ts";
import { asLogged, createRunBookStore, type RunBookState } from "./store.ts";

const store = createRunBookStore(openKeeper());

interface Progress {
  steps: number;
  done: number;
  stale: number;
  /** Of the steps that are not done. */
  seconds: number;
  /** Whether some of these are only known to take at least so long. */
  atLeast: boolean;
}

export interface RunBookView extends RunBookState {
  steps: readonly StepState[];
  left: ReturnType<typeof stateOf>["left"];
  progress: Progress;
  /** The first step that is not done, by its id. */
  next: string | undefined;
}

function progressOf(steps: readonly StepState[]): Progress {
  const rest = steps.filter(({ state }) => state !== "done");
  return {
    steps: steps.length,
    done: steps.length - rest.length,
    stale: rest.filter(({ state }) => state === "no longer holds").length,
    seconds: rest.reduce((sum, { step }) => sum + step.time.seconds, 0),
    atLeast: rest.some(({ step }) => step.time.from === "at least"),
  };
}

/** The run book as it stands, with what is not sent yet; followed while the page is shown. */
export function useRunBook(): RunBookView {
  const state = useSyncExternalStore(store.subscribe, store.get);
  useEffect(store.start, []);
  const { told, kept } = state;
  const { steps, left } = useMemo(
    () => (told ? stateOf(told.book, [...told.log, ...asLogged(kept)]) : { steps: [], left: [] }),
    [told, kept],
  );
  const progress = useMemo(() => progressOf(steps), [steps]);
  const next = steps.find((each) => each.state !== "done")?.step.id;
  return { ...state, steps, left, progress, next };
}

export const { add: addDeed, forget, sync } = store;
