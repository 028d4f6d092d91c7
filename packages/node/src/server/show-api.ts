import type { Stretch } from "@rouse/core/show";
import { Hono } from "hono";
import type { ServerEnv } from "./guard.ts";
import { badRequest, jsonObject } from "./json-body.ts";
import { followRoute } from "./runbook-follow.ts";
import type { ShowRoom } from "./show.ts";
import type { Prompters } from "./show-prompter.ts";

/** A script of 256 KiB. */
const LONGEST = 1 << 18;
const MOST_SCENES = 1000;
/** Of one scene, in seconds. */
const LONGEST_WAIT = 86_400;

function scriptIn(body: Readonly<Record<string, unknown>>): string {
  if (typeof body.text !== "string" || body.text.length > LONGEST)
    throw badRequest('The request needs the "text" of a script, of at most 256 KiB.');
  return body.text;
}

const isStretch = (value: unknown): value is Stretch => {
  if (typeof value !== "object" || value === null) return false;
  const { low, usual, high } = value as Record<string, unknown>;
  return [low, usual, high].every((each) => typeof each === "number" && each >= 0 && each <= LONGEST_WAIT);
};

/** Waits of a rehearsal, by scene; null where nothing was measured. */
function waitsIn({ waits = [] }: Readonly<Record<string, unknown>>): (Stretch | undefined)[] {
  if (!Array.isArray(waits) || waits.length > MOST_SCENES || !waits.every((each) => each === null || isStretch(each)))
    throw badRequest('"waits" must be a list of {low, usual, high} in seconds, or null, by scene.');
  return waits.map((each: Stretch | null) => each ?? undefined);
}

/**
 * Routes of the show. A phone has only the last.
 *
 *     GET  show                              {text, hash}; both empty where there is no script yet
 *     PUT  show           {text, expectedHash}   {text, hash}; 409 where the file changed meanwhile
 *     POST show/plan      {text, waits?}     {plan, ends, spare}; 422 with line and key
 *     GET  show/captures                     [{name, size, stamp, head}]
 *     GET  show/captures/NAME                octets
 *     GET  show/live?capture=                WebSocket: `PrompterTold`, now and at every change
 */
export function createShowApi(show: ShowRoom, prompters: Prompters, { phone = false } = {}): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  api.get(
    "/show/live",
    (c, next) => {
      const capture = phone ? undefined : c.req.query("capture");
      return followRoute((told) => prompters.follow(told, capture))(c, next);
    },
    () => {
      throw badRequest("This address is for a WebSocket.");
    },
  );
  if (phone) return api;
  api.get("/show", async (c) => c.json(await show.script()));
  api.put("/show", async (c) => {
    const body = await jsonObject(c);
    if (typeof body.expectedHash !== "string") throw badRequest('The request needs the text "expectedHash".');
    return c.json(await show.save(scriptIn(body), body.expectedHash));
  });
  api.post("/show/plan", async (c) => {
    const body = await jsonObject(c);
    return c.json(await show.plan(scriptIn(body), waitsIn(body)));
  });
  api.get("/show/captures", async (c) => c.json(await show.captures()));
  api.get("/show/captures/:name", async (c) => {
    const bytes = await show.capture(c.req.param("name"));
    return c.body(bytes as Uint8Array<ArrayBuffer>, 200, { "content-type": "application/octet-stream" });
  });
  return api;
}
