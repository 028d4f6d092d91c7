import type { Sent, Translator } from "@rouse/core/terminal";
import type { LineSession } from "./session.ts";

/**
 * Runs a translator between the computer's line and the terminal's until stopped. What goes to an end whose adapter is
 * out is dropped; the rest goes on.
 */
export async function runBridge(
  host: LineSession,
  terminal: LineSession,
  translator: Translator,
  { now, signal }: { now: () => number; signal: AbortSignal },
): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const put = (to: LineSession, bytes: Uint8Array) => {
    if (bytes.length > 0) to.write(bytes).catch(() => undefined);
  };
  const follow = (sent: Sent) => {
    clearTimeout(timer);
    put(terminal, sent.toTerminal);
    put(host, sent.toHost);
    if (sent.wake !== undefined)
      timer = setTimeout(() => follow(translator.tick(now())), Math.max(0, sent.wake - now()));
  };
  const ends = [
    host.listen((bytes) => follow(translator.fromHost(bytes, now()))),
    terminal.listen((bytes) => follow(translator.fromTerminal(bytes, now()))),
  ];
  follow(translator.start(now()));
  await new Promise<void>((resolve) => {
    if (signal.aborted) resolve();
    else signal.addEventListener("abort", () => resolve());
  });
  clearTimeout(timer);
  for (const end of ends) end();
}
