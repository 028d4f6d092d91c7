import { formatDuration } from "@rouse/core/quantity";
import type { Evidence, Step, StepState } from "@rouse/core/runbook/state";
import { Fragment, type ReactNode } from "react";
import type { Kept } from "./types.ts";

const STATES = { done: "runs", open: "unknown", "no longer holds": "tight" } as const;

/** State of a step by shape, word and colour. */
export function StateMark({ state, wordless = false }: { state: StepState["state"]; wordless?: boolean }) {
  return (
    <span className={`verdict is-${STATES[state]} step-state`}>
      <svg className={`shape is-${STATES[state]}`} viewBox="0 0 16 16" aria-hidden="true">
        {state === "done" && <path className="hook" d="M2 8.5 6.2 13 14 3.500" />}
        {state === "open" && <circle className="whole-ring" cx="8" cy="8" r="5.6" />}
        {state === "no longer holds" && <path d="M8 1.2 15.4 14.4H.6z" />}
      </svg>
      {wordless ? <span className="sr-only">{state}</span> : state}
    </span>
  );
}

/** Text in which commands stand between backticks. */
function Worded({ text }: { text: string }) {
  return text.split("`").map((part, index) =>
    // biome-ignore lint/suspicious/noArrayIndexKey: the parts of one text never move
    index % 2 === 1 ? <code key={index}>{part}</code> : <Fragment key={index}>{part}</Fragment>,
  );
}

export function timeOfStep({ time: { seconds, from } }: Step): string {
  const text =
    from === "usual" && seconds % 60 === 0 && seconds < 120 ? `${seconds / 60} min` : formatDuration(seconds);
  return `${from === "at least" ? "at least " : from === "usual" ? "about " : ""}${text}`;
}

/** Why, how, what is expected, and what to do when it is not so. */
export function StepAbout({ step, children }: { step: Step; children?: ReactNode }) {
  return (
    <div className="step-about">
      {step.warnings.map((each) => (
        <p key={each} className="step-warning">
          <strong>The chain says:</strong> {each}
        </p>
      ))}
      <p className="step-why">{step.why}</p>
      <ol className="step-how">
        {step.how.map((each) => (
          <li key={each}>
            <Worded text={each} />
          </li>
        ))}
      </ol>
      <dl className="step-facts">
        <div>
          <dt>Expected</dt>
          <dd>
            <Worded text={step.expected} />
          </dd>
        </div>
        {step.reading && (
          <div>
            <dt>Reading</dt>
            <dd>
              {step.reading.what}: {step.reading.text}
            </dd>
          </div>
        )}
        {step.tools.length > 0 && (
          <div>
            <dt>Tools</dt>
            <dd>{step.tools.join(", ")}</dd>
          </div>
        )}
        <div>
          <dt>Time</dt>
          <dd>
            {timeOfStep(step)}
            {step.time.from === "simulated" && ", simulated"}
          </dd>
        </div>
        {step.missing.length > 0 && (
          <div>
            <dt>Missing in the bench file</dt>
            <dd>
              {step.missing.map((each) => (
                <code key={each}>{each} </code>
              ))}
            </dd>
          </div>
        )}
        <div>
          <dt>If not</dt>
          <dd>
            <Worded text={step.fails.say} /> {children}
          </dd>
        </div>
      </dl>
    </div>
  );
}

const WORDS: Readonly<Record<Evidence["what"], string>> = {
  tick: "ticked",
  reading: "reading out of tolerance",
  note: "note",
  file: "file",
  reopen: "taken back",
  certificate: "certificate of the write",
};

/** "6 Jun, 10:42" by the clock of whoever looks. */
export const timeText = (iso: string): string =>
  new Date(iso).toLocaleString("en-GB", { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });

/** What was done at a step, in order; `picture` gives a photograph's address where it can be shown. */
export function EvidenceList({
  evidence,
  picture,
}: {
  evidence: readonly Evidence[];
  picture?: (path: string) => string | undefined;
}) {
  if (evidence.length === 0) return null;
  return (
    <ul className="evidence" aria-label="What was done">
      {evidence.map(({ at, what, reading, note, file }, index) => {
        const address = file && picture?.(file.path);
        return (
          // biome-ignore lint/suspicious/noArrayIndexKey: only added to, and entries have no name here
          <li key={`${at} ${index}`}>
            <time dateTime={at}>{timeText(at)}</time>{" "}
            {what === "file" && !file ? "photograph, not sent yet" : WORDS[what]}
            {reading && (
              <>
                : <strong>{reading.text}</strong>
                {!reading.within && what !== "reading" && " (out of tolerance)"}
              </>
            )}
            {note && <span className="evidence-note">{note}</span>}
            {file && <span className="evidence-file">{file.path}</span>}
            {address && (
              <a href={address} target="_blank" rel="noreferrer">
                <img src={address} alt={`Photograph kept as ${file.path}`} loading="lazy" />
              </a>
            )}
          </li>
        );
      })}
    </ul>
  );
}

/** Entries of a step that the server refused, each with its reason. */
export function Refused({ kept, onForget }: { kept: readonly Kept[]; onForget: (id: string) => void }) {
  return kept.map(({ id, refused, entry }) => (
    <div key={id} className="step-refused" role="alert">
      <p>
        This was not taken: {refused} ({entry.what === "file" ? "photograph or file" : entry.what}
        {entry.reading ? `, ${entry.reading}` : ""}
        {entry.note ? `, “${entry.note}”` : ""})
      </p>
      <button type="button" className="button is-quiet" onClick={() => onForget(id)}>
        Put it away
      </button>
    </div>
  ));
}
