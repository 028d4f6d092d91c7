import { realpath } from "node:fs/promises";
import { InputError } from "@rouse/core/errors";
import type { Context } from "hono";
import { openInside, readWhole } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";

const TYPES: Readonly<Record<string, string>> = {
  html: "text/html; charset=utf-8",
  js: "text/javascript; charset=utf-8",
  css: "text/css; charset=utf-8",
  json: "application/json",
  map: "application/json",
  webmanifest: "application/manifest+json",
  svg: "image/svg+xml",
  png: "image/png",
  ico: "image/x-icon",
  woff2: "font/woff2",
  txt: "text/plain; charset=utf-8",
};

const PAGE_LIMIT = 32 * 1024 * 1024;

const noSuchPage = (): InputError => new InputError("no-such-page", "There is no such page.");

/** The path of a built file; null for anything that is not plainly one: `..`, hidden files, encoded separators. */
function pagePath(url: string, front: string): string | null {
  try {
    const parts = new URL(url).pathname.split("/").slice(1).map(decodeURIComponent);
    if (parts.at(-1) === "") parts[parts.length - 1] = front;
    return parts.every((part) => /^[\w@-][\w@.-]*$/.test(part)) ? parts.join("/") : null;
  } catch {
    return null;
  }
}

/** Serves a file of the built page, `front` where a folder is asked for; an HTML page is told the nonce that its style elements must carry. */
export async function servePage(c: Context<ServerEnv>, webRoot: string, front = "index.html"): Promise<Response> {
  const path = pagePath(c.req.url, front);
  const type = TYPES[path?.slice(path.lastIndexOf(".") + 1) ?? ""];
  if (path === null || type === undefined) throw noSuchPage();
  let bytes: Uint8Array;
  try {
    const handle = await openInside(await realpath(webRoot), path);
    try {
      bytes = await readWhole(handle, path, PAGE_LIMIT);
    } finally {
      await handle.close();
    }
  } catch (error) {
    // An InputError, or a failed file operation where there is no folder at all.
    if (!(error instanceof Error && "code" in error)) throw error;
    if (path !== front) throw noSuchPage();
    throw new InputError("no-such-page", "The workbench page has not been built: run npm run build.");
  }
  if (!path.endsWith(".html")) return c.body(bytes as Uint8Array<ArrayBuffer>, 200, { "content-type": type });
  const nonce = `<meta name="csp-nonce" nonce="${c.get("nonce")}">`;
  const html = new TextDecoder().decode(bytes).replace(/<head[^>]*>/i, (head) => head + nonce);
  return c.body(html, 200, { "content-type": type });
}
