import { randomBytes } from "node:crypto";
import { InputError } from "@rouse/core/errors";
import type { Context } from "hono";

/** What the page gets for every failure. */
export interface Problem {
  error: { code: string; sentence: string };
}

/** Told on the server's side, with all there is to know; the page gets only the id. */
export type TellFault = (id: string, fault: unknown) => void;

/** Codes with a status of their own; every other `InputError` is 422: understood, but it cannot be used. */
const STATUS: Readonly<Record<string, 400 | 403 | 404 | 409 | 413 | 415>> = {
  "bad-request": 400,
  "outside-folder": 403,
  "no-such-file": 404,
  "no-such-page": 404,
  "bench-changed": 409,
  "would-overwrite": 409,
  "too-large": 413,
  "not-json": 415,
};

/** The one place where failures become answers. */
export function answerProblem(c: Context, fault: unknown, tell: TellFault): Response {
  if (fault instanceof InputError) {
    const problem: Problem = { error: { code: fault.code, sentence: fault.message } };
    return c.json(problem, STATUS[fault.code] ?? 422);
  }
  const id = randomBytes(6).toString("hex");
  tell(id, fault);
  const sentence = `Something went wrong inside Rouse; its terminal window tells more under report ${id}.`;
  const problem: Problem = { error: { code: "fault", sentence } };
  return c.json(problem, 500);
}
