import type { WhyTold } from "@rouse/core/diagnose/why";
import { useEffect, useState } from "react";
import { ask, sending, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";

export interface Why {
  told: WhyTold | null;
  problem: string | null;
  busy: boolean;
  /** Does one thing of the search; true where it was taken. */
  act(what: "tell" | "answer" | "undo" | "fresh", body: object): Promise<boolean>;
  /** Puts a test first, or leaves the choice to what is proposed. */
  choose(test: string | undefined): void;
}

/** The search of the job, read anew when its files change and when the window is come back to: the command may have gone on. */
export function useWhy(first: string | undefined): Why {
  const { saved, imagesChange } = useJob();
  const [told, setTold] = useState<WhyTold | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const [from, setFrom] = useState(first);
  const hash = saved?.hash;
  useEffect(() => setFrom(first), [first]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file or an image changed
  useEffect(() => {
    let left = false;
    const read = (): void => {
      ask<WhyTold>(`why${from === undefined ? "" : `?${new URLSearchParams({ from })}`}`).then(
        (found) => {
          if (left) return;
          setTold(found);
          setProblem(null);
        },
        (error: unknown) => !left && setProblem(sentenceOf(error)),
      );
    };
    read();
    window.addEventListener("focus", read);
    return () => {
      left = true;
      window.removeEventListener("focus", read);
    };
  }, [hash, imagesChange, from]);

  const act: Why["act"] = async (what, body) => {
    setBusy(true);
    try {
      setTold(await ask<WhyTold>(`why/${what}`, sending("POST", body)));
      setProblem(null);
      setFrom(undefined);
      return true;
    } catch (error) {
      setProblem(sentenceOf(error));
      return false;
    } finally {
      setBusy(false);
    }
  };
  return { told, problem, busy, act, choose: setFrom };
}
