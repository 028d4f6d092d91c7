import { STAGES } from "@rouse/core/runbook/state";
import { useEffect, useRef, useState } from "react";
import { ask } from "../../job/api.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { counted } from "../../parts/words.ts";
import { Phones } from "./phones.tsx";
import { StepCard } from "./step-card.tsx";
import { EvidenceList, timeText } from "./step-parts.tsx";
import { Summary } from "./summary.tsx";
import { addDeed, forget, useRunBook } from "./use-run-book.ts";
import { Waiting } from "./waiting.tsx";
import "../../parts/forms.css";
import "./runbook.css";
import "./print.css";

const picture = (path: string): string | undefined =>
  /\.(jpe?g|png|webp)$/i.test(path) ? `/api/runbook/picture?${new URLSearchParams({ path })}` : undefined;

export default function RunBookPage() {
  const view = useRunBook();
  const { told, steps, left, next, kept, problem } = view;
  const [open, setOpen] = useState<ReadonlySet<string>>(new Set());
  const [undo, setUndo] = useState<{ id: string; said: string; canUndo: boolean } | null>(null);
  const [files, setFiles] = useState<readonly string[]>([]);
  const list = useRef<HTMLDivElement>(null);

  useEffect(() => {
    ask<readonly string[]>("runbook/files").then(setFiles, () => {});
  }, []);
  // The first step that is not done opens by itself, once.
  const begun = useRef(false);
  useEffect(() => {
    if (!begun.current && next !== undefined) {
      begun.current = true;
      setOpen(new Set([next]));
    }
  }, [next]);

  const toggle = (id: string): void =>
    setOpen((now) => {
      const then = new Set(now);
      if (!then.delete(id)) then.add(id);
      return then;
    });
  /** Opens a step and goes to it. */
  const goTo = (id: string | undefined): void => {
    if (id === undefined) return;
    setOpen((now) => new Set([...now, id]));
    requestAnimationFrame(() => {
      const head = list.current?.querySelector<HTMLElement>(`[data-step="${CSS.escape(id)}"] .step-head`);
      head?.scrollIntoView({ block: "start" });
      head?.focus({ preventScroll: true });
    });
  };
  const after = (id: string): string | undefined => {
    const from = steps.findIndex(({ step }) => step.id === id);
    const rest = [...steps.slice(from + 1), ...steps.slice(0, from)];
    return rest.find(({ state }) => state !== "done")?.step.id;
  };

  if (!told)
    return (
      <div className="page-stack">
        <h1>Run book</h1>
        {problem ? <Problem sentence={problem} /> : <Loading what="Working the steps out…" />}
      </div>
    );
  return (
    <div className="page-stack run-book">
      <h1>
        Run book <span className="print-only">: {told.book.bench}</span>
      </h1>
      <p className="lead">
        The steps that this bench needs, in order. Tick a step only when what is expected was seen. What is done is
        added to the job's log with its time and never taken out of it. Local codes and licensed practice go before
        anything said here.
      </p>
      <Summary
        view={view}
        onNext={() => goTo(next)}
        allOpen={open.size >= steps.length}
        onAll={(all) => setOpen(new Set(all ? steps.map(({ step }) => step.id) : []))}
      />
      <Waiting state={view} />
      <Phones />
      <div ref={list} className="stages">
        {STAGES.map((stage) => {
          const own = steps.filter(({ step }) => step.stage === stage);
          if (own.length === 0) return null;
          const done = own.filter(({ state }) => state === "done").length;
          return (
            <section key={stage} className={`stage${stage === "cautions" ? " is-cautions" : ""}`} aria-label={stage}>
              <h2>
                {stage.charAt(0).toUpperCase() + stage.slice(1)}{" "}
                <span className="quiet">
                  {done} of {own.length}
                </span>
              </h2>
              <ol>
                {own.map((each) => {
                  const { id, title } = each.step;
                  return (
                    <StepCard
                      key={id}
                      of={each}
                      isOpen={open.has(id)}
                      onToggle={() => toggle(id)}
                      files={files}
                      picture={picture}
                      refused={kept.filter(({ refused, entry }) => refused !== undefined && entry.step === id)}
                      onForget={(name) => void forget(name)}
                      act={(deed) => addDeed(each.step, deed)}
                      onTicked={(what) => {
                        const said =
                          what === "tick"
                            ? `“${title}” is ticked.`
                            : what === "reading"
                              ? `The reading of “${title}” is kept; it is out of tolerance, so nothing is ticked.`
                              : `The tick of “${title}” is taken back.`;
                        setUndo({ id, said, canUndo: what === "tick" });
                        if (what !== "tick") return;
                        toggle(id);
                        goTo(after(id));
                      }}
                    />
                  );
                })}
              </ol>
            </section>
          );
        })}
      </div>
      {left.length > 0 && (
        <section className="panel">
          <h2>Done at steps that this bench no longer has</h2>
          {left.map(({ step, evidence }) => (
            <div key={step}>
              <h3>{step}</h3>
              <EvidenceList evidence={evidence} picture={picture} />
            </div>
          ))}
        </section>
      )}
      {told.unread.length > 0 && (
        <section className="panel">
          <h2>{counted(told.unread.length, "line")} of the log could not be read</h2>
          <ul>
            {told.unread.map((each) => (
              <li key={each}>{each}</li>
            ))}
          </ul>
        </section>
      )}
      <div className="undo" role="status" data-testid="undo">
        {undo && (
          <>
            <span>{undo.said}</span>
            {undo.canUndo && (
              <button
                type="button"
                className="button is-quiet"
                onClick={() => {
                  const found = steps.find(({ step }) => step.id === undo.id);
                  if (!found) return;
                  void addDeed(found.step, { what: "reopen" });
                  setUndo({ id: undo.id, said: `The tick of “${found.step.title}” is taken back.`, canUndo: false });
                  goTo(undo.id);
                }}
              >
                Undo
              </button>
            )}
          </>
        )}
      </div>
      <p className="print-only">Printed {timeText(new Date().toISOString())}</p>
    </div>
  );
}
