import type { RecoverAsked, RecoveredTold } from "./types.ts";

export type RecoverAnswer = { told: RecoveredTold } | { problem: string };

/** Recovers a capture in a worker of its own. Calling it off ends the work. */
export function recoverBeside(asked: RecoverAsked, told: (answer: RecoverAnswer) => void): () => void {
  const worker = new Worker(new URL("./recover-worker.ts", import.meta.url), { type: "module" });
  worker.onmessage = ({ data }: MessageEvent<RecoverAnswer>) => {
    worker.terminate();
    told(data);
  };
  worker.onerror = () => told({ problem: "The capture could not be worked on; load the page anew." });
  worker.postMessage(asked);
  return () => worker.terminate();
}
