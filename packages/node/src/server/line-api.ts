import { upgradeWebSocket } from "@hono/node-server";
import { InputError } from "@rouse/core/errors";
import { readFrame, STANDARD_RATES } from "@rouse/core/line";
import { Receiver, Sender, TextReceiver, TextSender, type TransferFile } from "@rouse/core/transfer";
import { Hono } from "hono";
import { answerTime, ratesUpTo, untilStopped } from "../devices/line/index.ts";
import type { Job } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";
import { badRequest, jsonObject, textOf } from "./json-body.ts";
import { CABLE_VARIANTS, type CableVariant, lineBench } from "./line-bench.ts";
import type { LineDesk, LineWindow } from "./line-desk.ts";
import { safeFileName } from "./line-files.ts";
import type { SettingsTold } from "./line-types.ts";

type Body = Readonly<Record<string, unknown>>;

const PROTOCOLS = ["xmodem", "xmodem-crc", "xmodem-1k", "ymodem", "text"] as const;
const FLOWS = ["none", "lines", "characters"] as const;
const LINE_ENDS = ["cr", "lf", "crlf", "keep"] as const;
const MOST_RATE = 12_000_000;
const MOST_FILES = 256;
const MOST_PASTED = 1 << 20;
const LONGEST_BREAK = 5000;
const LONGEST_PAUSE = 60_000;
const LONGEST_TEST = 600;
/** A page that takes nothing away is let go; it comes back and is told what it missed. Bytes. */
const MOST_WAITING = 8 << 20;

/** A number of the request from 0 (or `least`) to `most`; what holds where it is not given. */
function numberOf(body: Body, name: string, most: number, otherwise: number, least = 0): number {
  const value = body[name] ?? otherwise;
  if (typeof value === "number" && value >= least && value <= most) return value;
  throw badRequest(`"${name}" must be a number from ${least} to ${most}.`);
}

function oneOf<T extends string>(body: Body, name: string, some: readonly T[], otherwise?: T): T {
  const value = body[name] ?? otherwise;
  const found = some.find((each) => each === value);
  if (found !== undefined) return found;
  throw badRequest(`"${name}" must be one of ${some.join(", ")}.`);
}

function settingsOf(body: Body): SettingsTold {
  const rate = numberOf(body, "rate", MOST_RATE, Number.NaN, 1);
  return { rate, frame: readFrame(textOf(body, "frame").toUpperCase()).text, flow: oneOf(body, "flow", FLOWS, "none") };
}

/** Characters U+0000 to U+00FF as bytes. */
function bytesOf(body: Body, name: string, most: number): Uint8Array {
  const text = body[name];
  if (typeof text !== "string" || text.length > most)
    throw badRequest(`"${name}" must be text of ${most} characters at most.`);
  return Uint8Array.from(text, (each) => {
    const code = each.charCodeAt(0);
    if (code <= 0xff) return code;
    throw new InputError("no-character", `“${each}” has no place in a code of eight bits.`);
  });
}

function paceOf(body: Body, { rate, frame }: SettingsTold) {
  const prompt = body.prompt;
  if (prompt !== undefined && prompt !== "" && (typeof prompt !== "string" || prompt.length !== 1 || prompt > "\u00ff"))
    throw new InputError("bad-prompt", "The character to wait for must be one of a code of eight bits.");
  const fastest = (readFrame(frame).bits * 1000) / rate;
  return {
    perCharacter: Math.max(fastest, numberOf(body, "character", LONGEST_PAUSE, 0)),
    afterLine: numberOf(body, "line", LONGEST_PAUSE, 0),
    lineEnd: oneOf(body, "end", LINE_ENDS, "cr"),
    ...(typeof prompt === "string" && prompt !== "" ? { waitFor: prompt.charCodeAt(0) } : {}),
  };
}

const BASE64 = /^[A-Za-z0-9+/]*={0,2}$/;

async function filesOf(body: Body, desk: LineDesk): Promise<TransferFile[]> {
  const { files } = body;
  if (!Array.isArray(files) || files.length === 0 || files.length > MOST_FILES)
    throw badRequest(`The request needs 1 to ${MOST_FILES} files.`);
  return Promise.all(
    files.map(async (each: unknown): Promise<TransferFile> => {
      const file = (typeof each === "object" && each !== null ? each : {}) as Body;
      if (file.image !== undefined) {
        const name = textOf(file, "image");
        return { name: name.slice(name.lastIndexOf("/") + 1), bytes: await desk.files.imageBytes(name) };
      }
      const { base64 } = file;
      if (typeof base64 !== "string" || !BASE64.test(base64)) throw badRequest("A file must be in base 64 (RFC 4648).");
      const modified =
        file.modified === undefined ? {} : { modified: Math.floor(numberOf(file, "modified", 2 ** 33, 0)) };
      return { name: textOf(file, "name"), bytes: Uint8Array.from(Buffer.from(base64, "base64")), ...modified };
    }),
  );
}

/** The protocols put all eight bits to use. */
function demandEight(protocol: string, frame: string): void {
  if (protocol !== "text" && readFrame(frame).data < 8)
    throw new InputError("needs-eight", `${protocol} needs 8 data bits, not ${frame}.`);
}

const variantOf = (text: string | undefined): CableVariant =>
  oneOf({ variant: text }, "variant", CABLE_VARIANTS, "as described");

/**
 * Routes of the line page. Sessions live in the server: pages come and go, and several may look at one port.
 *
 *     GET  line                                  {ports, seats, rates}
 *     GET  line/bench                            what the bench says: ends, screens, cables
 *     GET  line/cables/NAME?variant=             wiring in words, and the continuity list
 *     GET  line/cables/NAME/drawing?variant=     SVG
 *     POST line/open      {port, rate, frame, flow?, capture?}     opens the port, or sets an open one anew
 *     POST line/close     {port}
 *     POST line/type      {port, text}           characters U+0000 to U+00FF, one a byte
 *     POST line/break     {port, ms?}
 *     POST line/lines     {port, dtr?, rts?}
 *     POST line/paste     {port, text, character?, line?, end?, prompt?}   times in ms
 *     POST line/send      {port, protocol, files: [{name, base64, modified?} or {image}], and those of paste for text}
 *     POST line/receive   {port, protocol, name?, trim?, quiet?, resume?}
 *     POST line/listen    {port, patience?}
 *     POST line/test      {port, rates? or highest?, frame, seconds?, controls?}
 *     POST line/stop      {port}                 ends a paste, transfer, search or test
 *     GET  line/received                         [{name, size}]
 *     GET  line/received/NAME                    octets
 *     GET  line/live?port=&run=&seen=            WebSocket: messages of `LineMessage` and frames of line-history.ts
 *
 * All but `open` answer with the work as it begins, or with {}.
 */
export function createLineApi(job: Job, desk: LineDesk): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  const bench = lineBench(job);
  api.get("/line", async (c) => c.json({ ports: await desk.list(), seats: desk.seats(), rates: STANDARD_RATES }));
  api.get("/line/bench", async (c) => c.json(await bench.lines()));
  api.get("/line/cables/:name", async (c) =>
    c.json(await bench.cable(c.req.param("name"), variantOf(c.req.query("variant")))),
  );
  api.get("/line/cables/:name/drawing", async (c) => {
    const svg = await bench.drawing(c.req.param("name"), variantOf(c.req.query("variant")));
    return c.body(svg, 200, { "content-type": "image/svg+xml" });
  });

  api.post("/line/open", async (c) => {
    const body = await jsonObject(c);
    const settings = settingsOf(body);
    const seat = await desk.take(textOf(body, "port"));
    await seat.open(settings, body.capture !== false);
    return c.json({});
  });
  api.post("/line/close", async (c) => {
    await desk.seat(textOf(await jsonObject(c), "port")).close();
    return c.json({});
  });
  api.post("/line/type", async (c) => {
    const body = await jsonObject(c);
    await desk.seat(textOf(body, "port")).type(bytesOf(body, "text", 4096));
    return c.json({});
  });
  api.post("/line/break", async (c) => {
    const body = await jsonObject(c);
    await desk.seat(textOf(body, "port")).sendBreak(numberOf(body, "ms", LONGEST_BREAK, 250, 1));
    return c.json({});
  });
  api.post("/line/lines", async (c) => {
    const { port, dtr, rts } = await jsonObject(c);
    const lines = { ...(typeof dtr === "boolean" ? { dtr } : {}), ...(typeof rts === "boolean" ? { rts } : {}) };
    await desk.seat(textOf({ port }, "port")).setLines(lines);
    return c.json({});
  });
  api.post("/line/paste", async (c) => {
    const body = await jsonObject(c);
    const port = textOf(body, "port");
    const bytes = bytesOf(body, "text", MOST_PASTED);
    const machine = new TextSender({ name: "text", bytes }, paceOf(body, desk.seat(port).settings));
    return c.json(desk.seat(port).transfer("paste", "text", machine, 1));
  });
  api.post("/line/send", async (c) => {
    const body = await jsonObject(c);
    const port = textOf(body, "port");
    const protocol = oneOf(body, "protocol", PROTOCOLS);
    const settings = desk.seat(port).settings;
    demandEight(protocol, settings.frame);
    const files = await filesOf(body, desk);
    if (protocol !== "ymodem" && files.length > 1)
      throw new InputError("one-file", `${protocol} takes one file; ymodem takes any number.`);
    const timeout = answerTime(settings.rate, readFrame(settings.frame).bits);
    const machine =
      protocol === "text"
        ? new TextSender(files[0]!, paceOf(body, settings))
        : new Sender(protocol, files, { timeout });
    return c.json(desk.seat(port).transfer("send", protocol, machine, files.length));
  });
  api.post("/line/receive", async (c) => {
    const body = await jsonObject(c);
    const port = textOf(body, "port");
    const protocol = oneOf(body, "protocol", PROTOCOLS);
    const settings = desk.seat(port).settings;
    demandEight(protocol, settings.frame);
    const name = protocol === "ymodem" ? "batch" : safeFileName(textOf(body, "name"));
    const machine =
      protocol === "text"
        ? untilStopped(
            new TextReceiver({
              name,
              quiet: numberOf(body, "quiet", 600_000, 5000, 100),
              ...(body.resume === true ? { before: await desk.files.receivedBytes(name) } : {}),
            }),
          )
        : new Receiver(protocol, {
            name,
            timeout: answerTime(settings.rate, readFrame(settings.frame).bits),
            trim: body.trim === true,
            linger: 1000,
          });
    const files = protocol === "ymodem" ? null : 1;
    return c.json(desk.seat(port).transfer("receive", protocol, machine, files));
  });
  api.post("/line/listen", async (c) => {
    const body = await jsonObject(c);
    const seat = await desk.take(textOf(body, "port"));
    return c.json(seat.listen(numberOf(body, "patience", 60_000, 3000, 100)));
  });
  api.post("/line/test", async (c) => {
    const body = await jsonObject(c);
    const frame = readFrame(textOf(body, "frame").toUpperCase()).text;
    const rates = ratesOf(body);
    const seat = await desk.take(textOf(body, "port"));
    const seconds = numberOf(body, "seconds", LONGEST_TEST, 2, 0.05);
    return c.json(seat.test(rates, frame, seconds, body.controls !== false));
  });
  api.post("/line/stop", async (c) => {
    desk.seat(textOf(await jsonObject(c), "port")).stop();
    return c.json({});
  });
  api.get("/line/received", async (c) => c.json(await desk.files.received()));
  api.get("/line/received/:name", async (c) => {
    const bytes = await desk.files.receivedBytes(c.req.param("name"));
    return c.body(bytes as Uint8Array<ArrayBuffer>, 200, {
      "content-type": "application/octet-stream",
      "content-disposition": "attachment",
    });
  });
  api.get(
    "/line/live",
    upgradeWebSocket((c) => {
      const [port = "", run, seen] = ["port", "run", "seen"].map((name) => c.req.query(name));
      let leave = (): void => {};
      return {
        onOpen(_event, socket) {
          const put = (data: string | Uint8Array<ArrayBuffer>): void => {
            try {
              if (((socket.raw as { bufferedAmount?: number } | undefined)?.bufferedAmount ?? 0) > MOST_WAITING)
                socket.close();
              else socket.send(data);
            } catch {
              // The page is gone; it comes back and is told all that it missed.
              leave();
            }
          };
          const window: LineWindow = {
            port,
            ...(run !== undefined && /^\d{1,15}$/.test(seen ?? "") ? { seen: { run, position: Number(seen) } } : {}),
            text: (message) => put(JSON.stringify(message)),
            bytes: put,
          };
          leave = desk.join(window);
        },
        onClose: () => leave(),
        onError: () => leave(),
      };
    }),
    () => {
      throw badRequest("This address is for a WebSocket.");
    },
  );
  return api;
}

function ratesOf(body: Body): number[] {
  if (body.rates === undefined) {
    const rates = ratesUpTo(numberOf(body, "highest", MOST_RATE, 115_200, 1));
    if (rates.length > 0) return rates;
    throw new InputError("no-rates", "No standard rate is that low.");
  }
  const { rates } = body;
  if (!Array.isArray(rates) || rates.length === 0 || rates.length > 64)
    throw badRequest('"rates" must be a list of 1 to 64 rates.');
  return rates.map((each: unknown) => numberOf({ rate: each }, "rate", MOST_RATE, Number.NaN, 1)).sort((a, b) => a - b);
}
