import { useEffect, useRef, useState } from "react";
import type { Answers, Job } from "./types.ts";

type Told<Kind extends Job["kind"]> = { answer: Answers[Kind] } | { problem: string };

/** Has a worker of its own do one job. Calling it off ends the work. */
function doBeside<Kind extends Job["kind"]>(
  text: string,
  job: Extract<Job, { kind: Kind }>,
  told: (answer: Told<Kind>) => void,
): () => void {
  const worker = new Worker(new URL("./diagnose-worker.ts", import.meta.url), { type: "module" });
  worker.onmessage = ({ data }: MessageEvent<Told<Kind>>) => {
    worker.terminate();
    told(data);
  };
  worker.onerror = () => told({ problem: "This could not be worked on; load the page anew." });
  worker.postMessage({ text, job });
  return () => worker.terminate();
}

/** A job that is done beside the page when it is asked for; the last one asked for counts. */
export function useBeside<Kind extends Job["kind"]>() {
  const [answer, setAnswer] = useState<Answers[Kind] | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const [isBusy, setBusy] = useState(false);
  const leave = useRef<(() => void) | null>(null);
  const stop = (): void => {
    leave.current?.();
    leave.current = null;
    setBusy(false);
  };
  useEffect(() => () => leave.current?.(), []);
  const start = (text: string, job: Extract<Job, { kind: Kind }>): void => {
    stop();
    setBusy(true);
    setProblem(null);
    leave.current = doBeside<Kind>(text, job, (told) => {
      leave.current = null;
      setBusy(false);
      if ("problem" in told) {
        setProblem(told.problem);
        setAnswer(null);
      } else setAnswer(told.answer);
    });
  };
  const forget = (): void => {
    stop();
    setAnswer(null);
    setProblem(null);
  };
  return { answer, problem, isBusy, start, stop, forget };
}
