import { upgradeWebSocket } from "@hono/node-server";
import type { MiddlewareHandler } from "hono";

/** A WebSocket that sends what a room tells, as JSON, until the page leaves; what a page sends is not read. */
export const followRoute = (follow: (told: (message?: unknown) => void) => () => void): MiddlewareHandler =>
  upgradeWebSocket(() => {
    let leave = (): void => {};
    return {
      onOpen(_event, socket) {
        leave = follow((message = {}) => {
          try {
            socket.send(JSON.stringify(message));
          } catch {
            // The page is gone; it comes back and asks anew.
            leave();
          }
        });
      },
      onClose: () => leave(),
      onError: () => leave(),
    };
  });
