import { upgradeWebSocket } from "@hono/node-server";
import { Hono } from "hono";
import type { Job } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";
import { badRequest, jsonObject, textOf } from "./json-body.ts";
import { listTargets, targetPath, wishFor } from "./write-targets.ts";
import type { Writing } from "./writing.ts";

const placeOf = (body: Parameters<typeof textOf>[0]): { device: string } | { file: string } =>
  body.device === undefined ? { file: textOf(body, "file") } : { device: textOf(body, "device") };

/**
 * Routes of the write page. One write runs at a time, in the server: pages come and go.
 *
 *     GET  write                        {state, certificates, interrupted: [{image, target, device or file, done, blocks, started}]}
 *     GET  write/targets                {devices: [{path, size, model, mounted}], writers: [{name, command, readsBack, problem}]}
 *     POST write/plan   {image, device or file or writer, twice?, resume?, withoutCopy?}   what would be done
 *     POST write/start  {plan, word, despite?}    begins it; `word` is what the target shows
 *     POST write/stop   {}                        ends it after the stretch at hand
 *     GET  write/live                             WebSocket: the state, now and at every change
 */
export function createWriteApi(job: Job, writing: Writing): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  api.get("/write", async (c) => {
    const [certificates, interrupted] = await Promise.all([writing.certificates(), writing.interrupted()]);
    return c.json({
      state: writing.state(),
      certificates,
      interrupted: interrupted.map(({ head, done }) => ({
        image: head.image,
        target: head.target,
        ...wishFor(job, head.target),
        done,
        blocks: head.blocks,
        started: head.started,
      })),
    });
  });
  api.get("/write/targets", async (c) => {
    const [devices, writers] = await Promise.all([listTargets(), writing.writers()]);
    return c.json({ devices, writers });
  });
  api.post("/write/plan", async (c) => {
    const body = await jsonObject(c);
    const isWriter = body.writer !== undefined;
    const target = isWriter ? textOf(body, "writer") : await targetPath(job, placeOf(body));
    const plan = await writing.plan({
      image: textOf(body, "image"),
      target,
      isWriter,
      // Above 4 MiB the person says that this very target is meant.
      ...(body.twice === true ? { again: target } : {}),
      resume: body.resume === true,
      withoutCopy: body.withoutCopy === true,
    });
    return c.json(plan);
  });
  api.post("/write/start", async (c) => {
    const body = await jsonObject(c);
    return c.json(await writing.start(textOf(body, "plan"), textOf(body, "word"), body.despite === true));
  });
  api.post("/write/stop", (c) => c.json(writing.stop()));
  api.get(
    "/write/live",
    upgradeWebSocket(() => {
      let leave = (): void => {};
      return {
        onOpen(_event, socket) {
          const send = (state: unknown): void => {
            try {
              socket.send(JSON.stringify(state));
            } catch {
              // The page is gone; it comes back and is told all anew.
              leave();
            }
          };
          leave = writing.follow(send);
          send(writing.state());
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
