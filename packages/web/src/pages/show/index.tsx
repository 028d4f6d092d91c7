import { draftOf, editScript, NEW_SCRIPT } from "@rouse/core/show/script";
import { type KeyboardEvent, useMemo, useRef, useState } from "react";
import { OutsideChange } from "../../app/outside.tsx";
import { routeTo, useRoute } from "../../app/route.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { PlanPicture, PlanTotals } from "./plan-picture.tsx";
import { Scenes } from "./scenes.tsx";
import { Sessions } from "./sessions.tsx";
import { useScript } from "./use-script.ts";
import "../../parts/forms.css";
import "./show.css";

export default function ShowPage() {
  const script = useScript();
  const { parts } = useRoute();
  const sessions = (
    <Sessions
      key="sessions"
      name={parts[1]}
      script={script.fault === null ? (script.saved?.text ?? "") : ""}
      plan={script.plan}
    />
  );
  // A session that is asked for stands first.
  return (
    <div className="page-stack">
      <h1>Show</h1>
      <p className="lead">
        What is done, typed and said, with the waits that the machine is predicted to need, so that you know where talk
        is needed. <a href={routeTo(["prompter"])}>The prompter</a> shows it in big text while it runs.
      </p>
      {script.problem && <Problem sentence={script.problem} />}
      {parts[1] !== undefined && sessions}
      {script.saved === null ? <Loading what="Reading the script…" /> : <Script script={script} />}
      {parts[1] === undefined && sessions}
    </div>
  );
}

function Script({ script }: { script: ReturnType<typeof useScript> }) {
  const { text, plan, fault, rehearsed, isUnsaved, outside, before, after, write } = script;
  const [as, setAs] = useState<"scenes" | "text">("scenes");
  const draft = useMemo(() => draftOf(text), [text]);
  const shown = draft ? as : "text";
  const keys = (event: KeyboardEvent): void => {
    if (!event.ctrlKey && !event.metaKey) return;
    const key = event.key.toLowerCase();
    const act =
      key === "s"
        ? () => void script.save()
        : key === "z" && !event.shiftKey
          ? script.undo
          : key === "y" || (key === "z" && event.shiftKey)
            ? script.redo
            : undefined;
    if (!act) return;
    event.preventDefault();
    act();
  };
  if (text === "" && !isUnsaved)
    return (
      <section className="panel">
        <p>This job has no script yet: a file show.yaml, which this page can begin.</p>
        <button type="button" className="button" onClick={() => write(NEW_SCRIPT)}>
          Begin a script
        </button>
      </section>
    );
  return (
    <section className="panel script" aria-labelledby="script-title" onKeyDown={keys}>
      <div className="script-head">
        <h2 id="script-title">Script {isUnsaved && <span className="tag">not saved</span>}</h2>
        <div className="buttons">
          <button type="button" className="button is-quiet" onClick={script.undo} disabled={before.length === 0}>
            Undo
          </button>
          <button type="button" className="button is-quiet" onClick={script.redo} disabled={after.length === 0}>
            Redo
          </button>
          <button type="button" className="button" onClick={() => void script.save()} disabled={!isUnsaved}>
            Save
          </button>
        </div>
      </div>
      {outside && <OutsideChange onTake={script.takeTheirs} onKeep={script.keepMine} />}
      {plan && <PlanTotals told={plan} />}
      <Rehearsed of={rehearsed} canStart={plan !== null && fault === null} text={text} onText={write} />
      {plan && <PlanPicture plan={plan.plan} />}
      <p className="script-fault" role="status">
        {fault && `■ ${fault}${plan ? " The plan is that of the last text that could be used." : ""}`}
      </p>
      <fieldset className="script-as">
        <legend className="sr-only">Edit it as</legend>
        {(["scenes", "text"] as const).map((each) => (
          <label key={each} className="tick">
            <input
              type="radio"
              name="script-as"
              checked={shown === each}
              disabled={each === "scenes" && !draft}
              onChange={() => setAs(each)}
            />
            <span>{each === "scenes" ? "Scenes" : "Text (show.yaml)"}</span>
          </label>
        ))}
      </fieldset>
      {shown === "scenes" && draft ? (
        <Scenes draft={draft} text={text} plan={plan} onText={write} />
      ) : (
        <label className="field">
          <span className="sr-only">Text of show.yaml</span>
          <textarea
            className="script-text"
            rows={Math.min(40, Math.max(12, text.split("\n").length + 1))}
            value={text}
            spellCheck={false}
            onChange={(event) => write(event.target.value, "text")}
          />
        </label>
      )}
    </section>
  );
}

/** The script played on the rehearsed machine: its waits stand in the plan then. */
function Rehearsed({
  of: { told, isRunning, start, stop },
  canStart,
  text,
  onText,
}: {
  of: ReturnType<typeof useScript>["rehearsed"];
  canStart: boolean;
  text: string;
  onText: (text: string) => void;
}) {
  const button = useRef<HTMLButtonElement>(null);
  const waits = told && "waits" in told ? told.waits : [];
  /** As they were measured, in place of a job of the machine and of what it prints. */
  const take = (): void => {
    // The button that was pressed goes with the rehearsal that no longer holds.
    button.current?.focus();
    onText(
      waits.reduce((written, wait, scene) => {
        if (wait === null) return written;
        const timed = editScript(written, { scene, key: "wait", value: `${wait.usual.toFixed(1)} s` });
        return editScript(timed, { scene, key: "prints", value: "" });
      }, text),
    );
  };
  return (
    <div className="script-rehearsed">
      <button
        ref={button}
        type="button"
        className="button is-quiet"
        disabled={!canStart && !isRunning}
        onClick={isRunning ? stop : start}
      >
        {isRunning ? "Stop the rehearsal" : "Rehearse it"}
      </button>
      <p role="status" data-testid="rehearsed">
        {isRunning
          ? "The script is played on the rehearsed machine…"
          : told === null
            ? "Waits are those of the timing model."
            : "problem" in told
              ? `■ ${told.problem}`
              : told.lost
                ? `■ In “${told.lost.scene}”, “${told.lost.expect}” never came. Waits before that are those of the rehearsal.`
                : "● All that is expected came. Waits are those of the rehearsal."}
      </p>
      {waits.some((each) => each !== null) && (
        <button type="button" className="button is-quiet" onClick={take}>
          Put these waits into the script
        </button>
      )}
    </div>
  );
}
