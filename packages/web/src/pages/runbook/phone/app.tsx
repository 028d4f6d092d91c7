import { formatDuration } from "@rouse/core/quantity";
import { useEffect, useRef, useState } from "react";
import { Loading, Problem } from "../../../parts/states.tsx";
import Prompter from "../../prompter/prompter.tsx";
import { MoreEvidence, Tick } from "../step-actions.tsx";
import { EvidenceList, Refused, StateMark, StepAbout } from "../step-parts.tsx";
import { addDeed, forget, useRunBook } from "../use-run-book.ts";
import { Waiting } from "../waiting.tsx";
import { Pair } from "./pair.tsx";

const STEP = "rouse-phone-step";

/** The run book in one hand: a step at a time, its tick under the thumb; and the prompter. */
export function PhoneApp() {
  const view = useRunBook();
  const { told, steps, next, progress, kept, unpaired, problem, connection } = view;
  const [chosen, setChosen] = useState<string | undefined>(() => sessionStorage.getItem(STEP) ?? undefined);
  const [place, setPlace] = useState<"step" | "list" | "prompter">("step");
  const [said, setSaid] = useState("");
  const title = useRef<HTMLHeadingElement>(null);
  // Closing the page would be the end of it while the computer is away.
  useEffect(() => {
    if (connection !== "lost") return;
    const hold = (event: BeforeUnloadEvent): void => event.preventDefault();
    window.addEventListener("beforeunload", hold);
    return () => window.removeEventListener("beforeunload", hold);
  }, [connection]);

  if (unpaired) return <Pair />;
  if (!told)
    return (
      <main className="phone-page">
        {problem ? <Problem sentence={problem} /> : <Loading what="Asking the computer…" />}
        <Waiting state={{ ...view, problem: null }} phone />
      </main>
    );
  const found = steps.findIndex(({ step }) => step.id === chosen);
  const index =
    found >= 0
      ? found
      : Math.max(
          0,
          steps.findIndex(({ step }) => step.id === next),
        );
  const current = steps[index];
  const go = (id: string | undefined): void => {
    if (id === undefined) return;
    sessionStorage.setItem(STEP, id);
    setChosen(id);
    setPlace("step");
    requestAnimationFrame(() => {
      window.scrollTo(0, 0);
      title.current?.focus({ preventScroll: true });
    });
  };
  const after = [...steps.slice(index + 1), ...steps.slice(0, index)].find(({ state }) => state !== "done")?.step.id;
  const tab = (name: typeof place, label: string) => (
    <button type="button" className="phone-tab" aria-pressed={place === name} onClick={() => setPlace(name)}>
      {label}
    </button>
  );
  return (
    <>
      <header className="phone-top">
        <nav aria-label="Parts">
          {tab("step", "Step")}
          {tab("list", "All steps")}
          {tab("prompter", "Prompter")}
        </nav>
        {place !== "prompter" && (
          <p data-testid="progress">
            {progress.done} of {progress.steps} done
            {progress.seconds > 0 &&
              `, ${progress.atLeast ? "at least" : "about"} ${formatDuration(progress.seconds)} left`}
          </p>
        )}
        <progress value={progress.done} max={Math.max(1, progress.steps)} aria-label="Steps done" />
      </header>
      <Waiting state={view} phone />
      {place === "prompter" && (
        <main className="phone-prompter">
          <h1 className="sr-only">Prompter</h1>
          <Prompter />
        </main>
      )}
      {place === "list" && (
        <main className="phone-page">
          <h1>{told.book.bench}</h1>
          <ol className="phone-steps">
            {steps.map(({ step, state }, at) => (
              <li key={step.id}>
                {steps[at - 1]?.step.stage !== step.stage && <h2>{step.stage}</h2>}
                <button
                  type="button"
                  className="phone-row"
                  aria-current={at === index ? "step" : undefined}
                  onClick={() => go(step.id)}
                >
                  <StateMark state={state} wordless />
                  <span>{step.title}</span>
                </button>
              </li>
            ))}
          </ol>
        </main>
      )}
      {place === "step" && current && (
        <>
          <main className="phone-page">
            <p className="phone-stage">
              {current.step.stage}, step {index + 1} of {steps.length} <StateMark state={current.state} />
            </p>
            <h1 ref={title} tabIndex={-1}>
              {current.step.title}
            </h1>
            {current.remark && <p className="step-remark">{current.remark}</p>}
            <p role="status" className="quiet phone-said">
              {said}
            </p>
            <StepAbout step={current.step} />
            <Refused
              kept={kept.filter(({ refused, entry }) => refused !== undefined && entry.step === current.step.id)}
              onForget={(id) => void forget(id)}
            />
            <EvidenceList evidence={current.evidence} />
            <MoreEvidence key={current.step.id} act={(deed) => addDeed(current.step, deed)} />
          </main>
          <footer className="phone-bar">
            <button
              type="button"
              className="button is-quiet is-step"
              aria-label="Step before"
              disabled={index === 0}
              onClick={() => go(steps[index - 1]?.step.id)}
            >
              ‹
            </button>
            <Tick
              key={`${current.step.id} ${current.state}`}
              step={current.step}
              state={current.state}
              act={(deed) => addDeed(current.step, deed)}
              onTicked={(what) => {
                setSaid(
                  what === "tick"
                    ? `“${current.step.title}” is ticked.`
                    : what === "reading"
                      ? "The reading is kept. It is out of tolerance, so nothing is ticked."
                      : "The tick is taken back.",
                );
                if (what === "tick") go(after ?? current.step.id);
              }}
            />
            <button
              type="button"
              className="button is-quiet is-step"
              aria-label="Next step"
              disabled={index === steps.length - 1}
              onClick={() => go(steps[index + 1]?.step.id)}
            >
              ›
            </button>
          </footer>
        </>
      )}
    </>
  );
}
