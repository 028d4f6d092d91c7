import type { Answer, Asked, ExportWish, Session } from "./types.ts";

/** Work on a session in a worker of its own. Calls throw an `Error` with one sentence for the person. */
export interface Beside {
  open(bytes: ArrayBuffer, terminal: string, script: string): Promise<Session>;
  make(wish: ExportWish): Promise<string>;
  end(): void;
}

export function workBeside(): Beside {
  const worker = new Worker(new URL("./session-worker.ts", import.meta.url), { type: "module" });
  const waiting = new Map<number, { told(answer: Answer): void; failed(error: Error): void }>();
  let count = 0;
  const fail = (sentence: string): void => {
    for (const { failed } of waiting.values()) failed(new Error(sentence));
    waiting.clear();
  };
  worker.onmessage = ({ data }: MessageEvent<Answer>) => {
    const found = waiting.get(data.id);
    waiting.delete(data.id);
    if ("problem" in data) found?.failed(new Error(data.problem));
    else found?.told(data);
  };
  worker.onerror = () => fail("The session could not be worked on; load the page anew.");
  const askWorker = (asked: Asked, moved: Transferable[] = []): Promise<Answer> =>
    new Promise((told, failed) => {
      waiting.set(asked.id, { told, failed });
      worker.postMessage(asked, moved);
    });
  return {
    async open(bytes, terminal, script) {
      count += 1;
      const answer = await askWorker({ id: count, open: { bytes, terminal, script } }, [bytes]);
      return (answer as Extract<Answer, { session: Session }>).session;
    },
    async make(make) {
      count += 1;
      return ((await askWorker({ id: count, make })) as Extract<Answer, { made: string }>).made;
    },
    end: () => worker.terminate(),
  };
}
