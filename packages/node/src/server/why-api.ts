import { readAnswer } from "@rouse/core/diagnose/why";
import { InputError } from "@rouse/core/errors";
import { Hono } from "hono";
import { type JobWhy, whyOfJob } from "../job/why.ts";
import type { Job } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";
import { checkedJobs } from "./job-timing.ts";
import { badRequest, jsonObject, textOf } from "./json-body.ts";

/**
 * Routes of the Why page. Every answer is `WhyTold`: where the search of this job stands, kept in its log.
 *
 *     GET  why?from=                        from: a test, or a step of the run book that failed, to begin with
 *     POST why/tell    {text}               something seen or measured: "dark screen", "5 V rail = 4.2 V"
 *     POST why/answer  {test, found}        an outcome by its id, a reading, or "?" where it was not done
 *     POST why/undo    {id}                 takes one answer back
 *     POST why/fresh   {}                   begins anew
 */
export function createWhyApi(job: Job): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  const checkedNow = checkedJobs(job);
  let made: { key: string; why: JobWhy } | undefined;
  const whyNow = async (): Promise<JobWhy> => {
    const { key, checked } = await checkedNow();
    if (!checked.bench)
      throw new InputError("bad-bench", "The bench file cannot be used; the page Bench file shows why.");
    if (made?.key !== key) made = { key, why: whyOfJob(job, checked) };
    return made.why;
  };

  api.get("/why", async (c) => c.json(await (await whyNow()).told(c.req.query("from"))));
  api.post("/why/tell", async (c) => {
    const text = textOf(await jsonObject(c), "text");
    const why = await whyNow();
    await why.answer(why.read(text));
    return c.json(await why.told());
  });
  api.post("/why/answer", async (c) => {
    const body = await jsonObject(c);
    const [id, found] = [textOf(body, "test"), textOf(body, "found")];
    const why = await whyNow();
    const test = why.model.tests.find((each) => each.id === id);
    if (!test) throw badRequest("This bench has no such test.");
    await why.answer(readAnswer(test, found));
    return c.json(await why.told());
  });
  api.post("/why/undo", async (c) => {
    const id = textOf(await jsonObject(c), "id");
    const why = await whyNow();
    await why.undo(id);
    return c.json(await why.told());
  });
  api.post("/why/fresh", async (c) => {
    await jsonObject(c);
    const why = await whyNow();
    await why.fresh();
    return c.json(await why.told());
  });
  return api;
}
