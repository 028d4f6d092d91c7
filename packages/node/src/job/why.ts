import { randomUUID } from "node:crypto";
import {
  type Answer,
  answersOf,
  makeWhyModel,
  readTold,
  tellWhy,
  testOfStep,
  type WhyCaution,
  type WhyEntry,
  type WhyModel,
  type WhyTold,
} from "@rouse/core/diagnose/why";
import { InputError } from "@rouse/core/errors";
import { cautionsFor } from "@rouse/core/fit";
import { appendLog, type Job, readLog } from "../store/index.ts";
import type { CheckedJob } from "./index.ts";

type Found = Pick<Answer, "test" | "outcomes" | "reading">;

/** The search of a job: what is asked of its bench, and what its log holds of the answers. */
export interface JobWhy {
  model: WhyModel;
  /** `wanted`: a test, or a step of the run book whose test is told whatever it is worth. */
  told(wanted?: string): Promise<WhyTold>;
  /** What was seen or measured: "dark screen", "5 V rail = 4.2 V". Throws an `InputError` where it is neither. */
  read(text: string): Found;
  /** Keeps an answer. */
  answer(found: Found): Promise<void>;
  /** Takes an answer back; the last one where none is named. */
  undo(id?: string): Promise<void>;
  /** Begins anew; what was answered stays in the log and no longer counts. */
  fresh(): Promise<void>;
}

/** `kept` false: answers count for this one search, and the log is neither read nor written. */
export function whyOfJob(job: Job, { bench, chain }: CheckedJob, kept = true): JobWhy {
  if (!bench || !chain) throw new InputError("bad-bench", "The bench file cannot be used; `rouse check` shows why.");
  const model = makeWhyModel(bench, chain.findings);
  if (model.causes.every((each) => each.class === "other"))
    throw new InputError(
      "bare-bench",
      "This bench names no part that could be to blame: describe its computer, drive, port, cable or terminal first (docs/bench.md).",
    );
  const cautions: readonly WhyCaution[] = cautionsFor(bench);
  const own: { time: string; entry: Readonly<Record<string, unknown>> }[] = [];
  const entries = async () => (kept ? (await readLog(job)).entries : own);
  const add = async (entry: WhyEntry): Promise<void> => {
    if (kept) await appendLog(job, { ...entry }, () => new Date());
    else own.push({ time: new Date().toISOString(), entry: { ...entry } });
  };
  return {
    model,
    told: async (wanted) =>
      tellWhy(
        model,
        answersOf(await entries()),
        cautions,
        wanted === undefined ? undefined : (testOfStep(wanted) ?? wanted),
      ),
    read: (text) => readTold(model, text),
    answer: (found) => add({ kind: "why", what: "answer", id: randomUUID(), ...found }),
    undo: async (id) => {
      const answers = answersOf(await entries());
      const of = id === undefined ? answers.at(-1)?.id : answers.find((each) => each.id === id)?.id;
      if (of === undefined) throw new InputError("nothing-to-undo", "There is no such answer to take back.");
      await add({ kind: "why", what: "undo", id: randomUUID(), of });
    },
    fresh: () => add({ kind: "why", what: "fresh", id: randomUUID() }),
  };
}
