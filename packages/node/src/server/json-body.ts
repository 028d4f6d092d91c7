import { InputError } from "@rouse/core/errors";
import type { Context } from "hono";

export const badRequest = (sentence: string): InputError => new InputError("bad-request", sentence);

/** The JSON object of a request; every other body is refused. */
export async function jsonObject(c: Context): Promise<Record<string, unknown>> {
  const body: unknown = await c.req.json().catch(() => {
    throw badRequest("The request is not JSON.");
  });
  if (typeof body !== "object" || body === null || Array.isArray(body))
    throw badRequest("The request needs a JSON object.");
  return body as Record<string, unknown>;
}

/** A field of it that must be text of a sensible length. */
export function textOf(body: Readonly<Record<string, unknown>>, name: string): string {
  const value = body[name];
  if (typeof value !== "string" || value.length > 4096) throw badRequest(`The request needs the text "${name}".`);
  return value;
}
