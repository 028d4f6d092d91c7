/** Programs are made, run and their reports read beside the page, which stays at hand meanwhile. */
import { readBench } from "@rouse/core/bench";
import { loadCatalogue, type UserFile } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { ask, askBytes, ServerProblem } from "../../job/api.ts";
import { choicesOf, type Ground, makeForms, readThrough, runThrough } from "./make.ts";
import type { Answers, Job } from "./types.ts";

async function groundOf(text: string): Promise<Ground> {
  const { bench, issues } = readBench(text, loadCatalogue(await ask<UserFile[]>("rehearsal/catalogue")));
  if (!bench)
    throw new InputError(
      "bad-bench",
      `The bench file cannot be used; the page Bench file shows why.${issues[0] ? ` Line ${issues[0].line}: ${issues[0].sentence}` : ""}`,
    );
  const roms = new Map<string, Uint8Array>();
  for (const { file } of bench.computer?.regions ?? [])
    if (file !== undefined && !roms.has(file)) {
      try {
        roms.set(file, await askBytes(`rehearsal/rom?${new URLSearchParams({ file })}`));
      } catch (error) {
        // Without its image a ROM has no sum to be held against; the program says so.
        if (!(error instanceof ServerProblem)) throw error;
      }
    }
  return { bench, roms };
}

function answerOf(ground: Ground, job: Job): Answers[keyof Answers] {
  switch (job.kind) {
    case "choices":
      return choicesOf(ground);
    case "make":
      return makeForms(ground, job.wish);
    case "run":
      return runThrough(ground, job.wish, job.index);
    case "read":
      return readThrough(ground, job.wish, job.text);
  }
}

self.onmessage = async ({ data }: MessageEvent<{ text: string; job: Job }>) => {
  try {
    self.postMessage({ answer: answerOf(await groundOf(data.text), data.job) });
  } catch (error) {
    const isTheirs = error instanceof InputError || error instanceof ServerProblem;
    if (!isTheirs) console.error(error);
    self.postMessage({
      problem: isTheirs ? error.message : "Something went wrong inside the page; load it anew.",
    });
  }
};
