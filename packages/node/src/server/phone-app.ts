/**
 * The server that phones on the local network reach: its own listener, its own few routes, its own guards. It has the
 * run book and the prompter, takes entries, and nothing else: no file is read by name, no bench edited, no device or line touched.
 */
import { randomBytes } from "node:crypto";
import { BlockList } from "node:net";
import { InputError } from "@rouse/core/errors";
import { type Context, Hono, type MiddlewareHandler } from "hono";
import { bodyLimit } from "hono/body-limit";
import { compress } from "hono/compress";
import { getCookie, setCookie } from "hono/cookie";
import { isRead, isUpgrade, jsonOnly, refusal, type ServerEnv } from "./guard.ts";
import { jsonObject, textOf } from "./json-body.ts";
import { servePage } from "./pages.ts";
import type { Pairing } from "./pairing.ts";
import { answerProblem, type TellFault } from "./problems.ts";

/** A network that this computer is on. */
export interface Network {
  /** IPv4, of this computer in it. */
  address: string;
  /** Bits of the network's part. */
  prefix: number;
}

export interface PhoneAppDeps {
  network: Network;
  port: number;
  pairing: Pairing;
  /** Folder of the built page; `phone.html` is the front. */
  webRoot: string;
  /** Routes below `/api` for phones that are paired. */
  rooms: readonly Hono<ServerEnv>[];
  tellFault: TellFault;
}

/** A photograph of 4 MiB in base64, and its entry. */
const BODY_LIMIT = 6 * 1024 * 1024;

export const phoneCookie = (port: number): string => `rouse-phone-${port}`;

/** Headers of every answer. Those that browsers heed only over TLS are left out. */
function phoneHeaders(host: string): MiddlewareHandler<ServerEnv> {
  return async (c, next) => {
    const nonce = randomBytes(16).toString("base64url");
    c.set("nonce", nonce);
    await next();
    const policy = [
      "default-src 'none'",
      "script-src 'self'",
      `style-src 'self' 'nonce-${nonce}'`,
      "img-src 'self' data: blob:",
      `connect-src 'self' ws://${host}`,
      "base-uri 'none'",
      "form-action 'none'",
      "frame-ancestors 'none'",
    ].join("; ");
    const headers: Readonly<Record<string, string>> = {
      "content-security-policy": policy,
      "x-content-type-options": "nosniff",
      "referrer-policy": "same-origin",
      "x-frame-options": "DENY",
      "cache-control": "no-store",
    };
    for (const [name, value] of Object.entries(headers)) c.header(name, value);
  };
}

/** Refuses whoever is not on the same network, asks for another host, or comes from another site. */
function sameNetworkOnly({ address, prefix }: Network, host: string): MiddlewareHandler<ServerEnv> {
  const near = new BlockList();
  near.addSubnet(address, prefix);
  return async (c, next) => {
    const peer = (c.env as Partial<ServerEnv["Bindings"]> | undefined)?.incoming?.socket.remoteAddress;
    if (peer === undefined || !near.check(peer))
      return refusal(c, 403, "foreign-network", "Only devices on the same network are answered.");
    if (c.req.header("host") !== host) return refusal(c, 403, "foreign-host", `This server answers only as ${host}.`);
    const origin = c.req.header("origin");
    if (origin === undefined ? !isRead(c) || isUpgrade(c) : origin !== `http://${host}`)
      return refusal(c, 403, "foreign-origin", "The request does not come from the phone's own page and is refused.");
    const site = c.req.header("sec-fetch-site");
    if (site !== undefined && site !== "same-origin" && site !== "none" && c.req.path !== "/")
      return refusal(c, 403, "foreign-site", "The request comes from another site and is refused.");
    return next();
  };
}

/** The whole server for phones without its socket. */
export function createPhoneApp({ network, port, pairing, webRoot, rooms, tellFault }: PhoneAppDeps): Hono<ServerEnv> {
  const host = `${network.address}:${port}`;
  const app = new Hono<ServerEnv>();
  const zip = compress();
  app.use(phoneHeaders(host));
  app.use(sameNetworkOnly(network, host));
  app.use(async (c, next) => (isUpgrade(c) ? next() : zip(c, next)));
  app.use("/api/*", jsonOnly);
  app.use(
    "/api/*",
    bodyLimit({
      maxSize: BODY_LIMIT,
      onError: () => {
        throw new InputError("too-large", "The request is too large.");
      },
    }),
  );
  app.post("/api/pair", async (c) => {
    const { token, seconds } = pairing.pair(textOf(await jsonObject(c), "code"));
    // No Secure: there is no TLS here, which the person was told.
    setCookie(c, phoneCookie(port), token, { httpOnly: true, sameSite: "Strict", path: "/", maxAge: seconds });
    return c.json({});
  });
  app.use("/api/*", async (c, next) => {
    if (pairing.isPaired(getCookie(c, phoneCookie(port)))) return next();
    return refusal(c, 401, "not-paired", "This phone is not paired; type the code that the computer shows.");
  });
  for (const room of rooms) app.route("/api", room);
  app.all("/api/*", () => {
    throw new InputError("no-such-page", "There is no such address here.");
  });
  const page = (c: Context<ServerEnv>) => servePage(c, webRoot, "phone.html");
  app.get("/", page);
  app.get("/assets/*", page);
  app.notFound((c) => answerProblem(c, new InputError("no-such-page", "There is no such page."), tellFault));
  app.onError((error, c) => answerProblem(c, error, tellFault));
  return app;
}
