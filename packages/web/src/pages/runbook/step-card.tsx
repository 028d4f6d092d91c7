import type { StepState } from "@rouse/core/runbook/state";
import { routeTo } from "../../app/route.ts";
import { type Act, MoreEvidence, Tick } from "./step-actions.tsx";
import { EvidenceList, Refused, StateMark, StepAbout, timeOfStep } from "./step-parts.tsx";
import type { Kept } from "./types.ts";

/** A step: a line that opens to everything that is to be known and done. On paper it is always open. */
export function StepCard({
  of: { step, state, evidence, remark },
  isOpen,
  onToggle,
  act,
  onTicked,
  files,
  picture,
  refused,
  onForget,
}: {
  of: StepState;
  isOpen: boolean;
  onToggle: () => void;
  act: Act;
  onTicked: Parameters<typeof Tick>[0]["onTicked"];
  files: readonly string[];
  picture: (path: string) => string | undefined;
  refused: readonly Kept[];
  onForget: (id: string) => void;
}) {
  return (
    <li className={`step is-${state.replaceAll(" ", "-")}${isOpen ? "" : " is-closed"}`} data-step={step.id}>
      <h3>
        <button type="button" className="step-head" aria-expanded={isOpen} onClick={onToggle}>
          <StateMark state={state} wordless />
          <span className="step-title">{step.title}</span>
          <span className="step-time">{timeOfStep(step)}</span>
        </button>
      </h3>
      {(state === "no longer holds" || remark) && (
        <p className="step-remark">
          {state === "no longer holds" ? "Ticked, but it no longer holds: " : "Open: "}
          {remark}.
        </p>
      )}
      <Refused kept={refused} onForget={onForget} />
      <div className="step-body">
        <StepAbout step={step}>
          <a className="no-print" href={routeTo(["why"], { symptom: step.id })}>
            Ask why
          </a>
        </StepAbout>
        <div className="step-done">
          <Tick step={step} state={state} act={act} onTicked={onTicked} />
          <MoreEvidence act={act} files={files} />
          <EvidenceList evidence={evidence} picture={picture} />
          {step.image !== undefined && (
            <p className="quiet no-print">
              A certificate of exactly this image, from the <a href={routeTo(["write"])}>Write page</a> or{" "}
              <code>rouse write</code>, ticks this by itself.
            </p>
          )}
          <p className="print-only by-hand">
            {step.reading ? `${step.reading.what} (${step.reading.text}): ________` : ""} Time: ________ By: ________
          </p>
        </div>
      </div>
    </li>
  );
}
