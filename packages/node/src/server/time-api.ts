import {
  bestInterleave,
  type Fitted,
  fitMeasured,
  JOBS,
  type JobWish,
  type ParameterId,
  readMeasurement,
  type TimingAnswer,
  timeJob,
} from "@rouse/core/timing";
import { Hono } from "hono";
import type { Job } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";
import { timingOfJob } from "./job-timing.ts";
import { badRequest, jsonObject, textOf } from "./json-body.ts";

type Body = Readonly<Record<string, unknown>>;

const TRIABLE: readonly ParameterId[] = ["interleave", "skew", "rotation", "lineRate"];
const MOST_MEASURED = 12;
const MOST_FILES = 500;
const KEPT_FITS = 16;

/** Spans as columns, in seconds; `name` counts into `names`. For ten thousand spans a tenth of the rows' JSON. */
interface SpanColumns {
  names: readonly string[];
  lane: readonly string[];
  name: readonly number[];
  start: readonly number[];
  length: readonly number[];
}

const toMicroseconds = (seconds: number): number => Math.round(seconds * 1e6) / 1e6;

function columnsOf({ spans }: TimingAnswer): SpanColumns {
  const names = [...new Set(spans.map((each) => each.name))];
  const place = new Map(names.map((name, index) => [name, index]));
  return {
    names,
    lane: spans.map((each) => each.lane),
    name: spans.map((each) => place.get(each.name)!),
    start: spans.map((each) => toMicroseconds(each.start)),
    length: spans.map((each) => toMicroseconds(each.length)),
  };
}

/** Values to try, by parameter, in base units. */
function triedOf({ tried = {} }: Body): Map<ParameterId, number> {
  const found = new Map<ParameterId, number>();
  for (const [id, value] of Object.entries(tried as object)) {
    const known = TRIABLE.find((each) => each === id);
    if (!known || typeof value !== "number" || !Number.isFinite(value) || value < 0 || value > 1e7)
      throw badRequest(`"tried" takes numbers for ${TRIABLE.join(", ")}.`);
    found.set(known, value);
  }
  return found;
}

function wishOf(body: Body): JobWish {
  const what = JOBS.find((each) => each === body.what);
  if (!what) throw badRequest(`"what" must be one of ${JOBS.join(", ")}.`);
  return what === "load" ? { what, name: textOf(body, "name").trim() } : { what };
}

function measuredOf({ measured = [] }: Body): string[] {
  const isList = Array.isArray(measured) && measured.length <= MOST_MEASURED;
  if (!isList || !measured.every((each) => typeof each === "string"))
    throw badRequest(`"measured" must be a list of at most ${MOST_MEASURED} texts.`);
  return measured;
}

/** A fit without what is being tried: that is not to be taken from the measurements. */
const without = (fitted: Fitted, tried: ReadonlyMap<ParameterId, number>): Fitted => ({
  ...fitted,
  values: fitted.values.filter(({ id }) => !tried.has(id)),
  samples: fitted.samples.map((sample) => new Map([...sample].filter(([id]) => !tried.has(id)))),
});

/**
 * Routes of the time page. `tried`: {interleave?, skew?, rotation?, lineRate?} in base units; `measured`: lines such as
 * "boot 41 s".
 *
 *     GET  time                                                        {image, what, images: [{name, files, problem?}]}
 *     POST time              {image, what, name?, tried?, measured?}   {answer, spans, fitted}
 *     POST time/interleave   {image, tried?, measured?}                the best interleave, with its curve
 */
export function createTimeApi(job: Job): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  const timing = timingOfJob(job);
  const fits = new Map<string, Fitted>();

  const inputOf = async (body: Body) => {
    const input = await timing(textOf(body, "image"));
    const tried = triedOf(body);
    const lines = measuredOf(body);
    const tryInput = { ...input, tried };
    if (lines.length === 0) return { input: tryInput };
    const key = JSON.stringify([input.key, input.image.name, lines]);
    const whole = fits.get(key) ?? fitMeasured(input, lines.map(readMeasurement));
    if (fits.size > KEPT_FITS) fits.clear();
    fits.set(key, whole);
    return { input: tryInput, whole, fitted: without(whole, tried) };
  };

  api.get("/time", async (c) => {
    const { bench, image, checked } = await timing();
    return c.json({
      image: image.name,
      what: bench.show?.target === "login" ? "login" : "boot",
      images: bench.images.map(({ name }) => {
        const found = checked.images.find((each) => each.name === name);
        const files = (found?.volume?.entries ?? [])
          .filter((entry) => entry.type === "file" && !entry.deleted)
          .slice(0, MOST_FILES)
          .map(({ path }) => path);
        return { name, files, ...(found?.problem === undefined ? {} : { problem: found.problem }) };
      }),
    });
  });
  api.post("/time", async (c) => {
    const body = await jsonObject(c);
    const wish = wishOf(body);
    const { input, fitted, whole } = await inputOf(body);
    const answer = timeJob(input, wish, fitted);
    const told = whole && { ...whole, samples: [] };
    return c.json({ answer: { ...answer, spans: [] }, spans: columnsOf(answer), fitted: told ?? null });
  });
  api.post("/time/interleave", async (c) => {
    const { input, fitted } = await inputOf(await jsonObject(c));
    return c.json(bestInterleave(input, fitted));
  });
  return api;
}
