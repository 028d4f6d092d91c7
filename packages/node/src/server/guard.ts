/**
 * Who may talk to the server. It listens on loopback, but any page in the person's browser can reach loopback too, so:
 * the Host must be ours (a foreign name that resolves to loopback is not); a request that changes something, and a
 * WebSocket, must come from our own page (Origin; Sec-Fetch-Site where the browser sends it); and everything needs the
 * random token of this run. The printed address carries the token once and it is exchanged for a cookie.
 */
import { createHash, randomBytes, timingSafeEqual } from "node:crypto";
import type { HttpBindings } from "@hono/node-server";
import { InputError } from "@rouse/core/errors";
import type { Context, MiddlewareHandler } from "hono";
import { getCookie, setCookie } from "hono/cookie";

export interface ServerEnv {
  Bindings: HttpBindings;
  /** `nonce`: names the style elements of one page, see `contentPolicy`. */
  Variables: { nonce: string };
}

export const newToken = (): string => randomBytes(32).toString("base64url");

/** The name holds the port, since a browser sends the cookies of one host to all its ports. */
export const cookieName = (port: number): string => `rouse-${port}`;
const TOKEN_HEADER = "x-rouse-token";

const hostsOf = (port: number): readonly string[] => [`127.0.0.1:${port}`, `localhost:${port}`, `[::1]:${port}`];
export const isUpgrade = (c: Context): boolean => c.req.header("upgrade") !== undefined;
export const isRead = (c: Context): boolean => c.req.method === "GET" || c.req.method === "HEAD";

/** Compared as hashes: of equal length, and in the same time wherever they differ. */
export function isSame(given: string | undefined, token: string): boolean {
  const hash = (text: string): Buffer => createHash("sha256").update(text).digest();
  return given !== undefined && timingSafeEqual(hash(given), hash(token));
}

/**
 * `'self'` and nothing else, with three exceptions: style elements that carry this answer's nonce (the text editor
 * makes some), pictures in the style sheet itself (`data:`), and the WebSocket, which some browsers do not count as
 * `'self'`. No inline script, no `eval`, no other host, no frame around the page.
 */
function contentPolicy(nonce: string, host: string): string {
  return [
    "default-src 'none'",
    "script-src 'self'",
    `style-src 'self' 'nonce-${nonce}'`,
    "img-src 'self' data:",
    "font-src 'self'",
    `connect-src 'self' ws://${host}`,
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ].join("; ");
}

/** The headers of every answer, refusals included. Nothing is cached: the answers hold the person's work. */
export function safeHeaders(port: number): MiddlewareHandler<ServerEnv> {
  const hosts = hostsOf(port);
  return async (c, next) => {
    const nonce = randomBytes(16).toString("base64url");
    c.set("nonce", nonce);
    await next();
    const host = c.req.header("host")?.toLowerCase() ?? "";
    const headers: Readonly<Record<string, string>> = {
      "content-security-policy": contentPolicy(nonce, hosts.includes(host) ? host : (hosts[0] ?? "")),
      "x-content-type-options": "nosniff",
      // Not "no-referrer": that would make the browser send "Origin: null" with our own forms.
      "referrer-policy": "same-origin",
      "cross-origin-opener-policy": "same-origin",
      "cross-origin-embedder-policy": "require-corp",
      "cross-origin-resource-policy": "same-origin",
      "x-frame-options": "DENY",
      "cache-control": "no-store",
    };
    for (const [name, value] of Object.entries(headers)) c.header(name, value);
  };
}

export const refusal = (c: Context, status: 401 | 403, code: string, sentence: string): Response =>
  c.json({ error: { code, sentence } }, status);

/** Refuses what does not come from the person's own browser page (or a program of theirs that knows the token). */
export function sameOriginOnly(port: number): MiddlewareHandler<ServerEnv> {
  const hosts = hostsOf(port);
  return async (c, next) => {
    const host = c.req.header("host")?.toLowerCase();
    if (host === undefined || !hosts.includes(host)) {
      return refusal(c, 403, "foreign-host", `This server answers only as ${hosts.join(", ")}.`);
    }
    const site = c.req.header("sec-fetch-site");
    // Following a link to the page from anywhere is harmless, since the page itself cannot be framed or read.
    const isVisit = c.req.path === "/" && isRead(c) && c.req.header("sec-fetch-mode") === "navigate";
    if (
      site !== undefined &&
      site !== "same-origin" &&
      site !== "none" &&
      !(isVisit && c.req.header("sec-fetch-dest") === "document")
    ) {
      return refusal(c, 403, "foreign-site", "The request comes from another site and is refused.");
    }
    const origin = c.req.header("origin");
    const needsOrigin = !isRead(c) || isUpgrade(c);
    if (origin === undefined ? needsOrigin : origin.toLowerCase() !== `http://${host}`) {
      return refusal(
        c,
        403,
        "foreign-origin",
        "The request does not come from the workbench's own page and is refused.",
      );
    }
    return next();
  };
}

/** What a browser shows that comes without the token. */
const LOCKED = `<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Rouse: locked</title>
<h1>This workbench is locked</h1>
<p>Open the whole address that <code>rouse open</code> printed, with the token at its end. If you came by that address
from a link, <a href="/">go on from here</a>.</p>
</html>
`;

/** Demands the token: as cookie, as header, or once in the address, where it is exchanged for the cookie. */
export function tokenOnly(port: number, token: string): MiddlewareHandler<ServerEnv> {
  return async (c, next) => {
    const inAddress = c.req.query("token");
    if (c.req.path === "/" && isRead(c) && isSame(inAddress, token)) {
      // No Max-Age: it goes with the browser, and the token in it with this run. No Secure: loopback has no TLS.
      setCookie(c, cookieName(port), token, { httpOnly: true, sameSite: "Strict", path: "/" });
      return c.redirect("/", 303);
    }
    if (isSame(getCookie(c, cookieName(port)), token) || isSame(c.req.header(TOKEN_HEADER), token)) return next();
    if (c.req.path === "/") return c.html(LOCKED, 401);
    return refusal(c, 401, "no-token", "Open the whole address that rouse open printed, with the token at its end.");
  };
}

/** Demands JSON of a request that changes something: a form of another site cannot send that unasked. */
export const jsonOnly: MiddlewareHandler<ServerEnv> = async (c, next) => {
  const type = c.req.header("content-type")?.split(";")[0]?.trim().toLowerCase();
  if (!isRead(c) && type !== "application/json") {
    throw new InputError("not-json", "The request must be application/json.");
  }
  return next();
};
