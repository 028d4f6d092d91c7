import type { InterleaveAnswer, JobKind } from "@rouse/core/timing";
import { useEffect, useRef, useState } from "react";
import { ask, sending, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { inSeconds } from "../../parts/seconds.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { listed, upperFirst } from "../../parts/words.ts";
import { Interleave } from "./interleave.tsx";
import { Measured } from "./measured.tsx";
import { Rests, Totals } from "./totals.tsx";
import type { TimeAsked, TimeChoices, TimeTold, Tried } from "./types.ts";
import { Waterfall } from "./waterfall.tsx";
import { WhatIf } from "./what-if.tsx";
import "../../parts/forms.css";
import "./time.css";

const JOBS: readonly (readonly [JobKind, string])[] = [
  ["boot", "boot"],
  ["login", "boot and log in"],
  ["load", "load a program"],
  ["format", "format the disk"],
  ["write", "write the whole image"],
  ["verify", "read the whole image back"],
];

export default function TimePage() {
  const { saved, imagesChange } = useJob();
  const [choices, setChoices] = useState<TimeChoices | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const hash = saved?.hash;
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file or an image changed
  useEffect(() => {
    let left = false;
    ask<TimeChoices>("time").then(
      (found) => {
        if (left) return;
        setChoices(found);
        setProblem(null);
      },
      (error: unknown) => !left && setProblem(sentenceOf(error)),
    );
    return () => {
      left = true;
    };
  }, [hash, imagesChange]);
  return (
    <div className="page-stack">
      <h1>Time</h1>
      {problem && <Problem sentence={problem} />}
      {!choices && !problem && <Loading what="Looking at the bench…" />}
      {choices && <Timed choices={choices} change={`${hash} ${imagesChange}`} />}
    </div>
  );
}

/** The last answer to a question that is asked anew whenever it changes; null leaves the last one standing. */
function useAnswer<Answer>(path: string, asked: object | null, change: string) {
  const [answer, setAnswer] = useState<Answer | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const running = useRef<AbortController | null>(null);
  const text = asked && JSON.stringify(asked);
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file or an image changed
  useEffect(() => {
    if (text === null) return;
    running.current?.abort();
    const mine = new AbortController();
    running.current = mine;
    const began = performance.now();
    ask<Answer>(path, sending("POST", JSON.parse(text), mine.signal)).then(
      (found) => {
        if (running.current !== mine) return;
        setAnswer(found);
        setProblem(null);
        performance.measure(`rouse ${path}`, { start: began });
      },
      (error: unknown) => {
        if (running.current === mine && !mine.signal.aborted) setProblem(sentenceOf(error));
      },
    );
    return () => mine.abort();
  }, [path, text, change]);
  return { answer, problem };
}

function Timed({ choices, change }: { choices: TimeChoices; change: string }) {
  const [image, setImage] = useState(choices.image);
  const [what, setWhat] = useState<JobKind>(choices.what);
  const [name, setName] = useState("");
  const [tried, setTried] = useState<Tried>({});
  const [measured, setMeasured] = useState<readonly string[]>([]);
  const files = choices.images.find((each) => each.name === image)?.files ?? [];
  const isReady = what !== "load" || files.includes(name);
  const asked: TimeAsked = { image, what, tried, measured, ...(what === "load" ? { name } : {}) };
  const { answer: told, problem } = useAnswer<TimeTold>("time", isReady ? asked : null, change);
  // The curve is the same wherever interleave, skew and line stand.
  const turned = tried.rotation === undefined ? {} : { rotation: tried.rotation };
  const { answer: curve } = useAnswer<InterleaveAnswer>("time/interleave", { image, tried: turned, measured }, change);
  const shown = isReady ? told : null;

  return (
    <>
      <div className="panel">
        <div className="fields">
          <label className="field">
            <span>How long it takes to</span>
            <select value={what} onChange={(event) => setWhat(event.target.value as JobKind)}>
              {JOBS.map(([job, words]) => (
                <option key={job} value={job}>
                  {words}
                </option>
              ))}
            </select>
          </label>
          {what === "load" && (
            <label className="field">
              <span>Program</span>
              <select value={name} onChange={(event) => setName(event.target.value)}>
                <option value="">choose…</option>
                {files.map((each) => (
                  <option key={each} value={each}>
                    {each}
                  </option>
                ))}
              </select>
            </label>
          )}
          <label className="field">
            <span>Image</span>
            <select value={image} onChange={(event) => setImage(event.target.value)}>
              {choices.images.map(({ name: each, problem: why }) => (
                <option key={each} value={each} disabled={why !== undefined}>
                  {each}
                </option>
              ))}
            </select>
          </label>
        </div>
        {problem && <Problem sentence={problem} />}
        {!isReady && <p className="quiet">Choose the program that is loaded.</p>}
        {isReady && !told && !problem && <Loading what="Running it through…" />}
        {shown && <Headline told={shown} />}
        {shown && shown.answer.parts.length > 0 && <Waterfall told={shown} />}
      </div>
      {told && (
        <div className="time-columns">
          <WhatIf
            parameters={told.answer.parameters}
            tried={tried}
            mostInterleave={Math.max(2, curve?.interleaves.at(-1)?.step ?? 20)}
            onTry={setTried}
          />
          <Measured measured={measured} fitted={told.fitted} onMeasured={setMeasured} />
        </div>
      )}
      {curve && (
        <Interleave
          answer={curve}
          now={{
            interleave: tried.interleave ?? curve.now.interleave,
            skew: tried.skew ?? curve.now.skew,
          }}
          onTry={(interleave, skew) => setTried({ ...tried, interleave, skew })}
        />
      )}
      {shown && shown.answer.totals.length > 0 && (
        <div className="time-columns">
          <Totals answer={shown.answer} />
          <Rests answer={shown.answer} />
        </div>
      )}
    </>
  );
}

function Headline({ told: { answer } }: { told: TimeTold }) {
  const words = JOBS.find(([job]) => job === answer.what)?.[1] ?? answer.what;
  const missing = listed(answer.missing.map(({ key, label }) => `${label} (${key})`));
  return (
    <div className="time-head" aria-live="polite">
      <p className="time-seconds" data-testid="seconds">
        {answer.known ? inSeconds(answer.seconds) : `at least ${inSeconds(answer.low)}`}
      </p>
      <p>
        {upperFirst(words)}
        {answer.name && ` (${answer.name})`}
        {answer.known
          ? `: between ${inSeconds(answer.low)} and ${inSeconds(answer.high)}, as the index stands at the start and the tolerances allow.`
          : `: how long is not known without ${missing}.`}
      </p>
    </div>
  );
}
