import type { Stretch } from "@rouse/core/show";
import { useCallback, useEffect, useRef, useState } from "react";

export interface RehearsalAsked {
  /** Text of the bench file, and of the script. */
  bench: string;
  script: string;
}

export type RehearsalTold =
  | {
      /** By scene; null where nothing was measured. */
      waits: readonly (Stretch | null)[];
      /** The scene whose expected text never came: there it stopped. */
      lost?: { scene: string; expect: string };
    }
  | { problem: string };

/** The rehearsal of a script as it stands: gone as soon as script or bench is another. */
export function useRehearsed(bench: string, script: string) {
  const [found, setFound] = useState<{ asked: RehearsalAsked; told: RehearsalTold | null } | null>(null);
  const worker = useRef<Worker | null>(null);
  const holds = found !== null && found.asked.bench === bench && found.asked.script === script;
  const end = useCallback((): void => {
    worker.current?.terminate();
    worker.current = null;
  }, []);
  useEffect(() => end, [end]);
  useEffect(() => {
    if (!holds) end();
  }, [holds, end]);
  return {
    told: holds ? found.told : null,
    isRunning: holds && found.told === null,
    start(): void {
      end();
      const asked = { bench, script };
      const mine = new Worker(new URL("./rehearsed-worker.ts", import.meta.url), { type: "module" });
      worker.current = mine;
      setFound({ asked, told: null });
      const tell = (told: RehearsalTold): void => {
        if (worker.current !== mine) return;
        end();
        setFound({ asked, told });
      };
      mine.onmessage = ({ data }: MessageEvent<RehearsalTold>) => tell(data);
      mine.onerror = () => tell({ problem: "The machine could not be run in this browser; load the page anew." });
      mine.postMessage(asked satisfies RehearsalAsked);
    },
    stop(): void {
      end();
      setFound(null);
    },
  };
}
