/** What the tests of this room share. */
import { InputError } from "@rouse/core/errors";
import type { Hono } from "hono";
import { createApp } from "./app.ts";
import type { ServerEnv } from "./guard.ts";
import { createLive, type Live } from "./live.ts";
import type { Services } from "./services.ts";

export const TOKEN = "test-token-0123456789";
export const PORT = 7309;

/** Services over nothing but memory; a call is kept in `calls`. */
function fakeServices(over: Partial<Services> = {}): { services: Services; calls: unknown[][] } {
  const calls: unknown[][] = [];
  let bench = { text: "name: Larkfield\n", hash: "h1" };
  const image = Uint8Array.from({ length: 1000 }, (_, index) => index & 0xff);
  const services: Services = {
    benchText: async () => bench,
    saveBench: async (text, expectedHash) => {
      calls.push(["saveBench", text, expectedHash]);
      if (expectedHash !== bench.hash) throw new InputError("bench-changed", "bench.yaml was changed; not saved.");
      bench = { text, hash: `h${calls.length + 1}` };
      return bench;
    },
    report: async (text) => {
      calls.push(["report", text]);
      return { of: text ?? bench.text };
    },
    images: async () => [{ name: "tern.img", size: image.length }],
    imageReport: async (name) => {
      calls.push(["imageReport", name]);
      if (name === "none") throw new InputError("no-such-file", "none cannot be read: it does not exist.");
      return { name };
    },
    imageBytes: async (_name, offset, length) => ({ bytes: image.slice(offset, offset + length), size: image.length }),
    imageFile: async (name, address, as) => {
      calls.push(["imageFile", name, address, as]);
      return as === "bytes"
        ? { as, bytes: image.slice(0, 4), fileName: 'é "x"\r\nset-cookie: a=b' }
        : { as, view: { as, text: "<script>alert(1)</script>" } };
    },
    schema: async () => ({ title: "bench" }),
    ...over,
  };
  return { services, calls };
}

export interface FakeApp {
  app: Hono<ServerEnv>;
  calls: unknown[][];
  faults: { id: string; fault: unknown }[];
  live: Live;
}

export function fakeApp({
  port = PORT,
  webRoot = "/nowhere",
  over = {},
  rooms = [],
}: {
  port?: number;
  webRoot?: string;
  over?: Partial<Services>;
  rooms?: readonly Hono<ServerEnv>[];
} = {}): FakeApp {
  const { services, calls } = fakeServices(over);
  const faults: FakeApp["faults"] = [];
  const live = createLive("run-1");
  const tellFault = (id: string, fault: unknown): void => {
    faults.push({ id, fault });
  };
  return { app: createApp({ port, token: TOKEN, webRoot, services, live, rooms, tellFault }), calls, faults, live };
}
