import { type Context, Hono } from "hono";
import { catalogueFiles } from "../job/index.ts";
import { diskOfJob, romOfJob } from "../job/rehearsal.ts";
import type { Job } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";
import { badRequest } from "./json-body.ts";

const octets = (c: Context, bytes: Uint8Array): Response =>
  c.body(bytes as Uint8Array<ArrayBuffer>, 200, { "content-type": "application/octet-stream" });

/**
 * Routes of the page Rehearse. The machine itself runs in a worker of the page, which asks for what it is made of:
 *
 *     GET rehearsal/catalogue    the job's own catalogue files, checked: [{file, data}]
 *     GET rehearsal/rom?file=    octets of a ROM image in the job folder, named as in the bench file
 *     GET rehearsal/disk?file=   octets of an image in the job's images/
 */
export function createRehearseApi(job: Job): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  const fileOf = (c: Context): string => {
    const file = c.req.query("file");
    if (file === undefined || file === "") throw badRequest('The request needs a "file".');
    return file;
  };
  api.get("/rehearsal/catalogue", async (c) => c.json(await catalogueFiles(job)));
  api.get("/rehearsal/rom", async (c) => octets(c, await romOfJob(job, fileOf(c))));
  api.get("/rehearsal/disk", async (c) => octets(c, await diskOfJob(job, fileOf(c))));
  return api;
}
