import { InputError } from "@rouse/core/errors";
import { type Context, Hono } from "hono";
import { bodyLimit } from "hono/body-limit";
import { jsonOnly, type ServerEnv } from "./guard.ts";
import { type Live, liveRoute } from "./live.ts";
import type { FileAs, Services } from "./services.ts";

/** A bench file of 1 MiB, every character of it escaped in JSON as six. */
const BODY_LIMIT = 6 * 1024 * 1024 + 1024;
/** Most bytes of an image in one answer. */
const PART_LIMIT = 64 * 1024;

const badRequest = (sentence: string): InputError => new InputError("bad-request", sentence);

/** Fields of a JSON body that must be text. */
async function textFields<Name extends string>(c: Context, ...names: Name[]): Promise<Record<Name, string>> {
  const body: unknown = await c.req.json().catch(() => {
    throw badRequest("The request is not JSON.");
  });
  const found = typeof body === "object" && body !== null ? (body as Record<string, unknown>) : {};
  for (const name of names) {
    if (typeof found[name] !== "string") throw badRequest(`The request needs the text "${name}".`);
  }
  return found as Record<Name, string>;
}

function wholeNumber(c: Context, name: string, highest: number): number {
  const text = c.req.query(name) ?? "";
  const value = Number(text);
  if (/^\d{1,15}$/.test(text) && value <= highest) return value;
  throw badRequest(`"${name}" must be a whole number from 0 to ${highest}.`);
}

const binary = (c: Context, bytes: Uint8Array, headers: Record<string, string>): Response =>
  c.body(bytes as Uint8Array<ArrayBuffer>, 200, { "content-type": "application/octet-stream", ...headers });

/** A file name in a header as RFC 8187 section 3.2.1 writes it, so that no character of it can end the header. */
const extValue = (name: string): string =>
  Array.from(Buffer.from(name), (byte) => {
    const character = String.fromCharCode(byte);
    return /[\w!#$&+.^`|~-]/.test(character) ? character : `%${byte.toString(16).toUpperCase().padStart(2, "0")}`;
  }).join("");

/**
 * The routes below `/api`. Answers are JSON, save for bytes of an image:
 *
 *     GET  bench                               {text, hash}
 *     PUT  bench      {text, expectedHash}     {text, hash}; 409 where the file changed meanwhile
 *     GET  report                              the chain and its drawing, for the bench file as it stands
 *     POST report     {text}                   the chain, for a text not saved
 *     GET  images                              [{name, size, problem?}]
 *     GET  images/NAME/report?address=         address: of a volume in one of its files, if any
 *     GET  images/NAME/bytes?offset=&length=   octets; the header x-rouse-size has the image's size
 *     GET  images/NAME/file?address=&as=       as: text or hex (JSON), bytes (octets, to save)
 *     GET  schema
 *     GET  live                                WebSocket, see live.ts
 *
 * NAME is encoded as one part (`side%20b%2Fdata.img`).
 */
export function createApi(services: Services, live: Live): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  api.use(jsonOnly);
  api.use(
    bodyLimit({
      maxSize: BODY_LIMIT,
      onError: () => {
        throw new InputError("too-large", "The request is too large.");
      },
    }),
  );

  api.get("/bench", async (c) => c.json(await services.benchText()));
  api.put("/bench", async (c) => {
    const { text, expectedHash } = await textFields(c, "text", "expectedHash");
    return c.json(await services.saveBench(text, expectedHash));
  });
  api.get("/report", async (c) => c.json(await services.report()));
  api.post("/report", async (c) => c.json(await services.report((await textFields(c, "text")).text)));
  api.get("/schema", async (c) => c.json(await services.schema()));

  api.get("/images", async (c) => c.json(await services.images()));
  api.get("/images/:name/report", async (c) =>
    c.json(await services.imageReport(c.req.param("name"), c.req.query("address"))),
  );
  api.get("/images/:name/bytes", async (c) => {
    const offset = wholeNumber(c, "offset", Number.MAX_SAFE_INTEGER);
    const length = wholeNumber(c, "length", PART_LIMIT);
    const { bytes, size } = await services.imageBytes(c.req.param("name"), offset, length);
    return binary(c, bytes, { "x-rouse-size": String(size) });
  });
  api.get("/images/:name/file", async (c) => {
    const address = c.req.query("address");
    const as = c.req.query("as");
    if (address === undefined) throw badRequest('The request needs an "address".');
    if (as !== "text" && as !== "hex" && as !== "bytes") throw badRequest('"as" must be text, hex or bytes.');
    const file = await services.imageFile(c.req.param("name"), address, as satisfies FileAs);
    if (file.as !== "bytes") return c.json(file.view);
    return binary(c, file.bytes, { "content-disposition": `attachment; filename*=UTF-8''${extValue(file.fileName)}` });
  });

  api.get("/live", liveRoute(live), () => {
    throw badRequest("This address is for a WebSocket.");
  });
  return api;
}
