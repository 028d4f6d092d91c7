import { useEffect, useState } from "react";
import { ask } from "../../job/api.ts";
import { Loading } from "../../parts/states.tsx";
import { Choose } from "./choose.tsx";
import { PlanView } from "./plan-view.tsx";
import { Earlier, Result } from "./result.tsx";
import { Running } from "./running.tsx";
import type { Certificate, PlanAsked, WritePlan } from "./types.ts";
import { useWrite } from "./use-write.ts";
import "../../parts/forms.css";
import "./write.css";

export default function WritePage() {
  const { state, connection } = useWrite();
  const [plan, setPlan] = useState<WritePlan | null>(null);
  const [asked, setAsked] = useState<PlanAsked | undefined>();
  /** The ended write that the person has done with. */
  const [put, putAway] = useState<string | null>(null);
  const [certificates, setCertificates] = useState<readonly Certificate[]>([]);
  const [resumes, setResumes] = useState(false);
  const isRunning = state?.state === "running" || state?.state === "stopping";

  // biome-ignore lint/correctness/useExhaustiveDependencies: read again when a write ended
  useEffect(() => {
    ask<{ certificates: readonly Certificate[] }>("write").then(
      (found) => setCertificates(found.certificates),
      () => {},
    );
  }, [isRunning]);

  const choose = (): void => {
    setPlan(null);
    setResumes(false);
    if (state) putAway(state.id);
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
          onResume={() => {
            const { kind, path, word } = ended.plan.target;
            const target = kind === "block device" ? { device: path } : { file: word };
            setAsked({ image: ended.plan.image.name, ...target });
            choose();
            setResumes(true);
          }}
        />
      )}
      {state !== undefined && !isRunning && !ended && !plan && (
        <Choose
          first={asked}
          resumes={resumes}
          onPlan={(found, of) => {
            setPlan(found);
            setAsked(of);
          }}
        />
      )}
      {!isRunning && !ended && plan && (
        <PlanView key={plan.id} plan={plan} onBack={choose} onStarted={() => setPlan(null)} />
      )}
      {certificates.length > 0 && !isRunning && <Earlier certificates={certificates} />}
    </div>
  );
}
