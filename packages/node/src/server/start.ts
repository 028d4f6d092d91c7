import type { Server } from "node:http";
import { createAdaptorServer, type WebSocketServerLike } from "@hono/node-server";
import { BugError, InputError } from "@rouse/core/errors";
import type { Hono } from "hono";
import { WebSocketServer } from "ws";
import type { ServerEnv } from "./guard.ts";

const LOOPBACK = "127.0.0.1";
export const DEFAULT_PORT = 7309;
/** Ports tried upwards from the wished one. */
const PORTS_TRIED = 50;
/** Pages send nothing over the WebSocket; bytes. */
const MOST_RECEIVED = 4096;

export interface Started {
  port: number;
  /** `http://127.0.0.1:7309/`; the token is to be added by whoever prints it. */
  address: string;
  /** Ends every WebSocket; pages that may come back do so. */
  dropSockets(): void;
  close(): Promise<void>;
}

function listen(server: Server, host: string, port: number): Promise<boolean> {
  return new Promise((resolve, reject) => {
    const onError = (error: NodeJS.ErrnoException): void => {
      if (error.code === "EADDRINUSE" || error.code === "EACCES") resolve(false);
      else reject(error);
    };
    server.once("error", onError);
    server.listen({ host, port, exclusive: true }, () => {
      server.off("error", onError);
      resolve(true);
    });
  });
}

/**
 * Listens on one address only, 127.0.0.1 unless said, on the first free port from `port` upwards (0: any). `makeApp` is
 * called with the port found before the first request is read.
 */
export async function startServer(
  makeApp: (port: number) => Hono<ServerEnv>,
  { port = DEFAULT_PORT, host = LOOPBACK }: { port?: number; host?: string } = {},
): Promise<Started> {
  let app: Hono<ServerEnv> | undefined;
  const sockets = new WebSocketServer({ noServer: true, maxPayload: MOST_RECEIVED, perMessageDeflate: false });
  const server = createAdaptorServer({
    hostname: host,
    websocket: { server: sockets as WebSocketServerLike },
    fetch: (request, env) => {
      if (app === undefined) throw new BugError("a request came before the server was ready");
      return app.fetch(request, env as ServerEnv["Bindings"]);
    },
  }) as Server;
  refuseOtherUpgrades(server);
  const last = port === 0 ? 0 : Math.min(65_535, port + PORTS_TRIED - 1);
  let wish = port;
  while (!(await listen(server, host, wish))) {
    wish += 1;
    if (wish > last) throw new InputError("no-free-port", `No port from ${port} to ${last} is free on ${host}.`);
  }
  const bound = server.address();
  if (bound === null || typeof bound === "string") throw new BugError("the server has no port");
  const dropSockets = (): void => {
    for (const socket of sockets.clients) socket.terminate();
  };
  const close = (): Promise<void> =>
    new Promise((resolve) => {
      dropSockets();
      server.close(() => resolve());
      server.closeAllConnections();
    });
  try {
    app = makeApp(bound.port);
  } catch (error) {
    await close();
    throw error;
  }
  return { port: bound.port, address: `http://${host}:${bound.port}/`, dropSockets, close };
}

/** The adaptor leaves an upgrade to anything but a WebSocket without an answer, and its connection open for ever. */
function refuseOtherUpgrades(server: Server): void {
  const listeners = server.listeners("upgrade");
  server.removeAllListeners("upgrade");
  server.on("upgrade", (request, socket, head) => {
    if (request.headers.upgrade?.toLowerCase() === "websocket") {
      for (const listener of listeners) listener.call(server, request, socket, head);
    } else {
      socket.end("HTTP/1.1 400 Bad Request\r\nConnection: close\r\nContent-Length: 0\r\n\r\n");
    }
  });
}
