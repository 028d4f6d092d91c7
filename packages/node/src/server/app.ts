import { InputError } from "@rouse/core/errors";
import { Hono } from "hono";
import { createApi } from "./api.ts";
import { type ServerEnv, safeHeaders, sameOriginOnly, tokenOnly } from "./guard.ts";
import type { Live } from "./live.ts";
import { servePage } from "./pages.ts";
import { answerProblem, type TellFault } from "./problems.ts";
import type { Services } from "./services.ts";

export interface AppDeps {
  /** The port that the server listens on: part of the Host and Origin it accepts. */
  port: number;
  token: string;
  /** Folder of the built page. */
  webRoot: string;
  services: Services;
  live: Live;
  /** Routes of further pages, below `/api`; they come under the same guards and limits. */
  rooms?: readonly Hono<ServerEnv>[];
  /** Hears of our own faults; the page is told only the id. */
  tellFault: TellFault;
}

/** The whole server without its socket: `app.request(…)` answers. */
export function createApp({ port, token, webRoot, services, live, rooms = [], tellFault }: AppDeps): Hono<ServerEnv> {
  const app = new Hono<ServerEnv>();
  app.use(safeHeaders(port));
  app.use(sameOriginOnly(port));
  app.use(tokenOnly(port, token));
  app.route("/api", createApi(services, live));
  for (const room of rooms) app.route("/api", room);
  app.all("/api/*", () => {
    throw new InputError("no-such-page", "There is no such address in the API.");
  });
  app.get("*", (c) => servePage(c, webRoot));
  app.notFound((c) => answerProblem(c, new InputError("no-such-page", "There is no such page."), tellFault));
  app.onError((error, c) => answerProblem(c, error, tellFault));
  return app;
}
