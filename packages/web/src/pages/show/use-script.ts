import { useCallback, useEffect, useReducer, useRef, useState } from "react";
import { ask, ServerProblem, sending, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import type { PlanTold, ScriptText } from "./types.ts";
import { useRehearsed } from "./use-rehearsed.ts";

/** Typing is quiet for so long before the plan is worked out anew; ms. */
const QUIET = 250;
const MOST_UNDONE = 200;

interface Texts {
  saved: ScriptText | null;
  /** The file, where another program changed it while there were edits here. */
  outside: ScriptText | null;
  text: string;
  before: readonly string[];
  after: readonly string[];
}

type Move =
  | { read: ScriptText }
  | { write: string; together: boolean }
  | { saved: ScriptText }
  | { step: "undo" | "redo" }
  | { choose: "theirs" | "mine" };

function moved(state: Texts, move: Move): Texts {
  const { saved, text, before, after, outside } = state;
  if ("read" in move) {
    if (saved?.hash === move.read.hash) return state;
    if (saved && text !== saved.text && text !== move.read.text) return { ...state, outside: move.read };
    return { saved: move.read, outside: null, text: move.read.text, before: [], after: [] };
  }
  if ("saved" in move) return { ...state, saved: move.saved, outside: null };
  if ("choose" in move) {
    if (!outside) return state;
    return move.choose === "mine"
      ? { ...state, saved: outside, outside: null }
      : { saved: outside, outside: null, text: outside.text, before: [...before, text], after: [] };
  }
  if ("step" in move) {
    const [from, to] = move.step === "undo" ? [before, after] : [after, before];
    const next = from.at(-1);
    if (next === undefined) return state;
    const [rest, kept] = [from.slice(0, -1), [...to, text]];
    return {
      ...state,
      text: next,
      ...(move.step === "undo" ? { before: rest, after: kept } : { after: rest, before: kept }),
    };
  }
  if (move.write === text) return state;
  return {
    ...state,
    text: move.write,
    before: move.together && before.length > 0 ? before : [...before, text].slice(-MOST_UNDONE),
    after: [],
  };
}

/** The script of the job: its text, the plan that it makes, and every change undone and done again. */
export function useScript() {
  const [state, move] = useReducer(moved, { saved: null, outside: null, text: "", before: [], after: [] });
  const [plan, setPlan] = useState<PlanTold | null>(null);
  const [fault, setFault] = useState<string | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  /** What was written last, so that letters of one word are undone together. */
  const last = useRef<{ where: string; at: number }>({ where: "", at: 0 });
  const { saved, text } = state;
  const rehearsed = useRehearsed(useJob().text, text);
  const waits = rehearsed.told && "waits" in rehearsed.told ? rehearsed.told.waits : null;

  const read = useCallback((): void => {
    ask<ScriptText>("show").then(
      (found) => {
        move({ read: found });
        setProblem(null);
      },
      (error: unknown) => setProblem(sentenceOf(error)),
    );
  }, []);
  useEffect(() => {
    read();
    window.addEventListener("focus", read);
    return () => window.removeEventListener("focus", read);
  }, [read]);

  const isRead = saved !== null;
  useEffect(() => {
    if (!isRead || text === "") {
      setPlan(null);
      setFault(null);
      return;
    }
    const mine = new AbortController();
    const timer = setTimeout(() => {
      ask<PlanTold>("show/plan", sending("POST", waits === null ? { text } : { text, waits }, mine.signal)).then(
        (found) => {
          setPlan(found);
          setFault(null);
        },
        (error: unknown) => {
          if (!mine.signal.aborted) setFault(sentenceOf(error));
        },
      );
    }, QUIET);
    return () => {
      clearTimeout(timer);
      mine.abort();
    };
  }, [isRead, text, waits]);

  return {
    ...state,
    plan,
    rehearsed,
    /** Why the text cannot be used; the plan is then that of the last one that could. */
    fault,
    problem,
    isUnsaved: saved !== null && text !== saved.text,
    /** `where`: changes in the same place soon after each other are one step of undo. */
    write(next: string, where = ""): void {
      const now = Date.now();
      move({ write: next, together: where !== "" && where === last.current.where && now - last.current.at < 1500 });
      last.current = { where, at: now };
    },
    undo: () => move({ step: "undo" }),
    redo: () => move({ step: "redo" }),
    takeTheirs: () => move({ choose: "theirs" }),
    keepMine: () => move({ choose: "mine" }),
    async save(): Promise<void> {
      if (!saved) return;
      try {
        move({ saved: await ask<ScriptText>("show", sending("PUT", { text, expectedHash: saved.hash })) });
        setProblem(null);
      } catch (error) {
        if (error instanceof ServerProblem && error.code === "bench-changed") read();
        else setProblem(sentenceOf(error));
      }
    },
  };
}
