/**
 * `/api/live`: tells open pages what changed in the job folder. A page that comes (back) gets `hello` with the number
 * of the last change, so it sees whether it missed any; a new `run` means that the server was started anew.
 */
import { upgradeWebSocket } from "@hono/node-server";
import type { MiddlewareHandler } from "hono";
import type { JobPart } from "./watch.ts";

export type LiveMessage =
  | { kind: "hello"; run: string; change: number }
  | { kind: "changed"; run: string; change: number; what: readonly JobPart[] };

interface Page {
  send(text: string): void;
}

export interface Live {
  /** Greets a page and tells it every change until it leaves. */
  join(page: Page): void;
  leave(page: Page): void;
  /** Tells all pages; gives the number of the change. */
  tell(what: readonly JobPart[]): number;
}

/** `run`: any text that differs from one start of the server to the next. */
export function createLive(run: string): Live {
  const pages = new Set<Page>();
  let change = 0;
  const send = (page: Page, message: LiveMessage): void => {
    try {
      page.send(JSON.stringify(message));
    } catch {
      // The connection is gone; the page will ask again.
      pages.delete(page);
    }
  };
  return {
    join(page) {
      pages.add(page);
      send(page, { kind: "hello", run, change });
    },
    leave(page) {
      pages.delete(page);
    },
    tell(what) {
      change += 1;
      for (const page of pages) send(page, { kind: "changed", run, change, what });
      return change;
    },
  };
}

/** The route's handler; what a page sends is not read. */
export const liveRoute = (live: Live): MiddlewareHandler =>
  upgradeWebSocket(() => {
    let page: Page | undefined;
    const leave = (): void => {
      if (page) live.leave(page);
    };
    return {
      onOpen(_event, socket) {
        page = { send: (text) => socket.send(text) };
        live.join(page);
      },
      onClose: leave,
      onError: leave,
    };
  });
