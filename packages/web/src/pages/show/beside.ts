import type { Answer, Asked, Work } from "./types.ts";

/** Work on a session in a worker of its own. Calls throw an `Error` with one sentence for the person. */
export interface Beside {
  ask<Kind extends keyof Work>(
    kind: Kind,
    asked: Work[Kind]["asked"],
    moved?: Transferable[],
  ): Promise<Work[Kind]["told"]>;
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
  return {
    async ask<Kind extends keyof Work>(kind: Kind, asked: Work[Kind]["asked"], moved: Transferable[] = []) {
      count += 1;
      const id = count;
      const answer = await new Promise<Answer>((told, failed) => {
        waiting.set(id, { told, failed });
        worker.postMessage({ id, kind, asked } as Asked, moved);
      });
      return (answer as { told: Work[Kind]["told"] }).told;
    },
    end: () => worker.terminate(),
  };
}
