import { useEffect, useState } from "react";
import { ask } from "../../job/api.ts";
import { Loading } from "../../parts/states.tsx";
import { Choose } from "./choose.tsx";
import { PlanView } from "./plan-view.tsx";
import { Earlier, Result, Unfinished } from "./result.tsx";
import { Running } from "./running.tsx";
import type { Certificate, Interrupted, PlanAsked, TargetAsked, WritePlan, WriteState } from "./types.ts";
import { useWrite } from "./use-write.ts";
import "../../parts/forms.css";
import "./write.css";

interface Known {
  certificates: readonly Certificate[];
  interrupted: readonly Interrupted[];
}

/** How the target of a write is asked for again. */
function targetOf({ plan: { target } }: WriteState): TargetAsked {
  if (target.kind === "adapter") return { writer: target.path };
  return target.kind === "block device" ? { device: target.path } : { file: target.word };
}

export default function WritePage() {
  const { state, connection } = useWrite();
  const [plan, setPlan] = useState<WritePlan | null>(null);
  const [asked, setAsked] = useState<PlanAsked | undefined>();
  /** The ended write that the person has done with. */
  const [put, putAway] = useState<string | null>(null);
  const [known, setKnown] = useState<Known>({ certificates: [], interrupted: [] });
  /** Counts the wishes to go on with an interrupted write; 0 where another is chosen. */
  const [resumes, setResumes] = useState(0);
  const isRunning = state?.state === "running" || state?.state === "stopping";

  // biome-ignore lint/correctness/useExhaustiveDependencies: read again when a write ended
  useEffect(() => {
    ask<Known>("write").then(setKnown, () => {});
  }, [isRunning]);

  const choose = (): void => {
    setPlan(null);
    setResumes(0);
    if (state) putAway(state.id);
  };
  const goOn = (of: PlanAsked): void => {
    setAsked(of);
    choose();
    setResumes(resumes + 1);
  };
  const ended = state && !isRunning && state.id !== put ? state : null;
  return (
    <div className="page-stack">
      <h1>Write</h1>
      <p className="lead">
        Puts an image onto a disk for real, then reads every block back and compares. Nothing is written before you have
        typed the word that the target shows and said yes once more.
      </p>
      {state === undefined && <Loading what="Asking what is under way…" />}
      {isRunning && <Running state={state} isLost={connection === "lost"} />}
      {ended && (
        <Result
          key={ended.id}
          state={ended}
          onAgain={choose}
          onResume={() => goOn({ image: ended.plan.image.name, ...targetOf(ended) })}
        />
      )}
      {state !== undefined && !isRunning && !ended && !plan && (
        <Choose
          key={resumes}
          first={asked}
          resumes={resumes > 0}
          onPlan={(found, of) => {
            setPlan(found);
            setAsked(of);
          }}
        />
      )}
      {!isRunning && !ended && plan && (
        <PlanView key={plan.id} plan={plan} onBack={choose} onStarted={() => setPlan(null)} />
      )}
      {!isRunning && !ended && !plan && known.interrupted.length > 0 && (
        <Unfinished interrupted={known.interrupted} onResume={goOn} />
      )}
      {known.certificates.length > 0 && !isRunning && <Earlier certificates={known.certificates} />}
    </div>
  );
}
