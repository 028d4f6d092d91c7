import { formatValue } from "@rouse/core/quantity";
import { useEffect, useRef, useState } from "react";
import { ask, sending, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { Fittings } from "./fitting.tsx";
import { Lines } from "./lines.tsx";
import { Reads } from "./reads.tsx";
import { Supply } from "./supply.tsx";
import type { BoardsTold } from "./types.ts";
import "../../parts/forms.css";
import "./boards.css";

interface Tried {
  clock?: number;
  ambient?: number;
}

/** What the server says to the values that are tried; asked anew when they, the bench file or an image change. */
function useBoards(tried: Tried): { told: BoardsTold | null; problem: string | null } {
  const { saved, imagesChange } = useJob();
  const [told, setTold] = useState<BoardsTold | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const running = useRef<AbortController | null>(null);
  const asked = JSON.stringify(tried);
  const hash = saved?.hash;
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file or an image changed
  useEffect(() => {
    running.current?.abort();
    const mine = new AbortController();
    running.current = mine;
    ask<BoardsTold>("boards", sending("POST", JSON.parse(asked), mine.signal)).then(
      (found) => {
        if (running.current !== mine) return;
        setTold(found);
        setProblem(null);
      },
      (error: unknown) => {
        if (running.current === mine && !mine.signal.aborted) setProblem(sentenceOf(error));
      },
    );
    return () => mine.abort();
  }, [asked, hash, imagesChange]);
  return { told, problem };
}

export default function BoardsPage() {
  const [tried, setTried] = useState<Tried>({});
  const { told, problem } = useBoards(tried);
  return (
    <div className="page-stack">
      <h1>Boards</h1>
      {problem && <Problem sentence={problem} />}
      {!told && !problem && <Loading what="Looking at the bench…" />}
      {told && !problem && (
        <>
          <WhatIf told={told} tried={tried} onTry={setTried} />
          <Supply rails={told.rails} findings={told.findings} />
          <Reads reads={told.reads} findings={told.findings} />
          <Lines lines={told.lines} findings={told.findings} />
          <Fittings fittings={told.fittings} cautions={told.cautions} />
        </>
      )}
    </div>
  );
}

/** Sliders over half to twice the bench's clock, and over the air inside the case. */
function WhatIf({
  told: { clock, ambient },
  tried,
  onTry,
}: {
  told: BoardsTold;
  tried: Tried;
  onTry: (tried: Tried) => void;
}) {
  if (clock === undefined && ambient === undefined) return null;
  const clockNow = tried.clock ?? clock;
  const ambientNow = tried.ambient ?? ambient;
  const clockWords = clockNow === undefined ? "" : formatValue(clockNow, "frequency", 4);
  return (
    <section className="panel" aria-labelledby="what-if-title">
      <h2 id="what-if-title">What if</h2>
      <div className="fields">
        {clock !== undefined && clockNow !== undefined && (
          <label className="field">
            <span>Clock</span>
            <strong>{clockWords}</strong>
            <input
              type="range"
              min={50}
              max={200}
              step={1}
              value={Math.round((clockNow / clock) * 100)}
              aria-valuetext={clockWords}
              onChange={(event) => onTry({ ...tried, clock: (clock * Number(event.target.value)) / 100 })}
            />
          </label>
        )}
        {ambient !== undefined && ambientNow !== undefined && (
          <label className="field">
            <span>Air inside the case</span>
            <strong>{ambientNow} °C</strong>
            <input
              type="range"
              min={10}
              max={70}
              step={1}
              value={ambientNow}
              aria-valuetext={`${ambientNow} °C`}
              onChange={(event) => onTry({ ...tried, ambient: Number(event.target.value) })}
            />
          </label>
        )}
      </div>
      <button
        type="button"
        className="button is-quiet"
        disabled={Object.keys(tried).length === 0}
        onClick={() => onTry({})}
      >
        Back to the bench
      </button>
    </section>
  );
}
