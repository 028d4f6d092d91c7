import { InputError } from "@rouse/core/errors";
import { Hono } from "hono";
import type { ServerEnv } from "./guard.ts";
import { badRequest, jsonObject, textOf } from "./json-body.ts";
import { PHOTO_LIMIT, type RunBookRoom } from "./runbook.ts";
import { followRoute } from "./runbook-follow.ts";

const MOST_ENTRIES = 200;
/** Photographs that phones may send while the workbench is open: 2 GiB at most. */
const MOST_PHOTOS = 500;

type Given = Readonly<Record<string, unknown>>;
const isObject = (value: unknown): value is Given =>
  typeof value === "object" && value !== null && !Array.isArray(value);

function entryIn({ entry }: Given): Given {
  if (!isObject(entry)) throw badRequest('The request needs an object "entry".');
  return entry;
}

function photoIn({ photo }: Given): Uint8Array {
  if (typeof photo !== "string" || photo.length > (PHOTO_LIMIT / 3 + 1) * 4 || !/^[A-Za-z0-9+/]+={0,2}$/.test(photo))
    throw badRequest('"photo" must be a photograph of at most 4 MiB in base64 (RFC 4648).');
  return Buffer.from(photo, "base64");
}

/**
 * Routes of the run book. Each entry has a name that the page gave it, so what comes twice counts once.
 *
 *     GET  runbook                              {job, book, log, unread}
 *     POST runbook/entries  {now, entries}      {added, known, refused}; at most 200, `now` is the page's clock
 *     POST runbook/photo    {now, entry, photo} the same; the photograph in base64
 *     GET  runbook/live                         WebSocket: a word at every change
 *
 * On the computer only, and never for a phone:
 *
 *     POST runbook/attach   {now, entry, path}  a file of captures/ or dossier/
 *     GET  runbook/files                        which there are
 *     GET  runbook/picture?path=                a photograph that the log names
 *     GET  runbook/paper                        the checklist as a page to save
 */
export function createRunBookApi(room: RunBookRoom, { phone = false } = {}): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  let photos = 0;
  api.get("/runbook", async (c) => c.json(await room.read()));
  api.post("/runbook/entries", async (c) => {
    const { entries, now } = await jsonObject(c);
    if (!Array.isArray(entries) || entries.length > MOST_ENTRIES || !entries.every(isObject))
      throw badRequest(`"entries" must be a list of at most ${MOST_ENTRIES} objects.`);
    return c.json(await room.add(entries, Number(now)));
  });
  api.post("/runbook/photo", async (c) => {
    const body = await jsonObject(c);
    const photo = photoIn(body);
    if (phone && ++photos > MOST_PHOTOS)
      throw new InputError("too-many", "Phones have sent 500 photographs; open the workbench anew to take more.");
    return c.json(await room.addPhoto(entryIn(body), Number(body.now), photo));
  });
  api.get("/runbook/live", followRoute(room.follow), () => {
    throw badRequest("This address is for a WebSocket.");
  });
  if (phone) return api;
  api.post("/runbook/attach", async (c) => {
    const body = await jsonObject(c);
    return c.json(await room.attach(entryIn(body), Number(body.now), textOf(body, "path")));
  });
  api.get("/runbook/files", async (c) => c.json(await room.files()));
  api.get("/runbook/picture", async (c) => {
    const { bytes, type } = await room.photo(c.req.query("path") ?? "");
    return c.body(bytes as Uint8Array<ArrayBuffer>, 200, { "content-type": type });
  });
  api.get("/runbook/paper", async (c) =>
    c.body(await room.paper(), 200, {
      "content-type": "text/html; charset=utf-8",
      "content-disposition": 'attachment; filename="run-book.html"',
    }),
  );
  return api;
}
