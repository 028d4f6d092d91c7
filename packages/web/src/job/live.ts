export type JobPart = "bench" | "images" | "catalogue";
export type Connection = "connecting" | "open" | "lost";

/** What the server tells over `/api/live`. */
type LiveMessage =
  | { kind: "hello"; run: string; change: number }
  | { kind: "changed"; run: string; change: number; what: readonly JobPart[] };

const FIRST_WAIT = 400;
const LONGEST_WAIT = 10_000;

/** Follows the job folder. After a break it connects again, each time waiting longer, and tells all parts if it missed any. */
export function followJob(told: {
  changed(what: readonly JobPart[]): void;
  connection(state: Connection): void;
}): () => void {
  let socket: WebSocket | undefined;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let wait = FIRST_WAIT;
  let seen: { run: string; change: number } | undefined;
  let stopped = false;

  const hear = (message: LiveMessage): void => {
    if (message.kind === "changed") told.changed(message.what);
    else if (seen && (seen.run !== message.run || seen.change !== message.change))
      told.changed(["bench", "images", "catalogue"]);
    seen = { run: message.run, change: message.change };
  };
  const connect = (): void => {
    socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/api/live`);
    socket.onopen = () => {
      wait = FIRST_WAIT;
      told.connection("open");
    };
    socket.onmessage = (event) => hear(JSON.parse(String(event.data)) as LiveMessage);
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
    socket?.close();
  };
}
