import { Hono } from "hono";
import type { ServerEnv } from "./guard.ts";
import { badRequest, jsonObject, textOf } from "./json-body.ts";
import type { Phones } from "./phone.ts";
import { followRoute } from "./runbook-follow.ts";

/**
 * Routes by which the computer's own page lets phones in; no phone reaches them. Each answers with `PhonesTold`.
 *
 *     GET  phones
 *     POST phones/open    {address, understood: true}
 *     POST phones/code    {}                    a new code
 *     POST phones/unpair  {phone}
 *     POST phones/close   {}
 *     GET  phones/live                          WebSocket: the same, now and at every change
 */
export function createPhoneApi(phones: Phones): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  api.get("/phones", (c) => c.json(phones.told()));
  api.post("/phones/open", async (c) => {
    const body = await jsonObject(c);
    if (body.understood !== true) throw badRequest("The request needs the person's word.");
    return c.json(await phones.open(textOf(body, "address")));
  });
  api.post("/phones/code", (c) => c.json(phones.newCode()));
  api.post("/phones/unpair", async (c) => c.json(phones.remove(textOf(await jsonObject(c), "phone"))));
  api.post("/phones/close", async (c) => c.json(await phones.close()));
  api.get("/phones/live", followRoute(phones.follow), () => {
    throw badRequest("This address is for a WebSocket.");
  });
  return api;
}
