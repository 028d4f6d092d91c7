export type JobPart = "bench" | "images" | "catalogue";
export type Connection = "connecting" | "open" | "lost";

/** What the server tells over `/api/live`. */
type LiveMessage =
  | { kind: "hello"; run: string; change: number }
  | { kind: "changed"; run: string; change: number; what: readonly JobPart[] };

const FIRST_WAIT = 400;
const LONGEST_WAIT = 10_000;

/**
 * Hears a WebSocket below `/api/`. After a break it connects again, each time waiting longer, by a path asked for anew.
 * Calling it off ends it.
 */
export function followSocket(
  path: string | (() => string),
  told: {
    hear(message: unknown): void;
    /** Octets, where the server sends any. */
    bytes?(octets: Uint8Array): void;
    connection(state: Connection): void;
  },
): () => void {
  let socket: WebSocket | undefined;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let wait = FIRST_WAIT;
  let stopped = false;

  const connect = (): void => {
    const asked = typeof path === "string" ? path : path();
    socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/api/${asked}`);
    socket.binaryType = "arraybuffer";
    socket.onopen = () => {
      wait = FIRST_WAIT;
      told.connection("open");
    };
    socket.onmessage = ({ data }: { data: unknown }) => {
      if (data instanceof ArrayBuffer) told.bytes?.(new Uint8Array(data));
      else told.hear(JSON.parse(String(data)));
    };
    socket.onclose = () => {
      if (stopped) return;
      told.connection("lost");
      timer = setTimeout(connect, wait);
      wait = Math.min(LONGEST_WAIT, wait * 2);
    };
  };
  connect();
  return () => {
    stopped = true;
    clearTimeout(timer);
    const last = socket;
    // Closed while it connects, a browser complains.
    if (last?.readyState === 0) last.onopen = () => last.close();
    else last?.close();
  };
}

/** Follows the job folder; after a break it tells all parts if it missed any change. */
export function followJob(told: {
  changed(what: readonly JobPart[]): void;
  connection(state: Connection): void;
}): () => void {
  let seen: { run: string; change: number } | undefined;
  const hear = (message: LiveMessage): void => {
    if (message.kind === "changed") told.changed(message.what);
    else if (seen && (seen.run !== message.run || seen.change !== message.change))
      told.changed(["bench", "images", "catalogue"]);
    seen = { run: message.run, change: message.change };
  };
  return followSocket("live", { hear: (message) => hear(message as LiveMessage), connection: told.connection });
}
