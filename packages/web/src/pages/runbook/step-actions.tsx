import { InputError } from "@rouse/core/errors";
import { readingText, type Step, type StepState } from "@rouse/core/runbook/state";
import { type ChangeEvent, type FormEvent, useId, useState } from "react";
import { photoToSend } from "./photo.ts";
import { judged } from "./reading.ts";
import type { Deed } from "./store.ts";

export type Act = (deed: Deed) => Promise<{ id: string; within?: boolean }>;

const SHAPES = { within: "●", outside: "■", unread: "○", none: "" } as const;

/** The tick of a step: with a reading, which is compared while it is typed, where the step asks for one. */
export function Tick({
  step,
  state,
  act,
  onTicked,
}: {
  step: Step;
  state: StepState["state"];
  act: Act;
  /** It is done now, or taken back. */
  onTicked: (what: "tick" | "reading" | "reopen") => void;
}) {
  const [text, setText] = useState("");
  const [problem, setProblem] = useState("");
  const field = useId();
  const { reading } = step;
  const told = reading ? judged(text, reading) : { is: "none" as const, sentence: "" };

  const perform = async (deed: Deed, what: Parameters<typeof onTicked>[0]): Promise<void> => {
    try {
      await act(deed);
      setText("");
      setProblem("");
      onTicked(what);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      setProblem(error.message);
    }
  };
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    if (!reading) void perform({ what: "tick" }, "tick");
    else if (told.is === "none") setProblem(`Type what the meter shows for ${reading.what}.`);
    else if (told.is !== "unread")
      void perform({ what: "tick", reading: readingText(text, reading) }, told.is === "within" ? "tick" : "reading");
  };
  if (state === "done")
    return (
      <button
        type="button"
        className="button is-quiet is-large"
        onClick={() => void perform({ what: "reopen" }, "reopen")}
      >
        Take the tick back
      </button>
    );
  const label = told.is === "outside" ? "Keep this reading" : state === "no longer holds" ? "Tick again" : "Tick";
  return (
    <form className={`tick-form${reading ? " has-reading" : ""}`} onSubmit={submit}>
      {reading && (
        <label className="field" htmlFor={field}>
          <span>
            {reading.what}, {reading.text}
          </span>
          <input
            id={field}
            value={text}
            // A keypad of digits has no minus on some phones.
            inputMode={reading.low < 0 ? "text" : "decimal"}
            autoComplete="off"
            spellCheck={false}
            aria-describedby={`${field}-told`}
            aria-invalid={told.is === "outside" || told.is === "unread"}
            onChange={(event) => {
              setText(event.target.value);
              setProblem("");
            }}
          />
        </label>
      )}
      <button type="submit" className={`button is-large${told.is === "outside" ? " is-warning" : ""}`}>
        {label}
      </button>
      {reading && (
        <p id={`${field}-told`} className={`reading-told is-${told.is}`} role="status">
          {told.sentence && `${SHAPES[told.is]} ${told.sentence}`}
          {told.is === "outside" && " It ticks nothing."}
        </p>
      )}
      {problem && (
        <p className="reading-told is-outside" role="alert">
          {problem}
        </p>
      )}
    </form>
  );
}

/** A note and a photograph, and on the computer a file of the job. */
export function MoreEvidence({ act, files }: { act: Act; files?: readonly string[] }) {
  const [note, setNote] = useState("");
  const [told, setTold] = useState("");
  const keepNote = async (event: FormEvent): Promise<void> => {
    event.preventDefault();
    if (note.trim() === "") return;
    await act({ what: "note", note: note.trim() });
    setNote("");
    setTold("The note is kept.");
  };
  const keepPhotos = async ({ target }: ChangeEvent<HTMLInputElement>): Promise<void> => {
    const chosen = [...(target.files ?? [])];
    target.value = "";
    let unread = 0;
    for (const each of chosen) {
      const photo = await photoToSend(each);
      if (photo) await act({ what: "file", photo });
      else unread += 1;
    }
    const kept = chosen.length - unread;
    setTold(
      [
        kept > 0 ? `${kept === 1 ? "The photograph is" : `${kept} photographs are`} kept.` : "",
        unread > 0 ? "This browser cannot read that picture; take it as JPEG." : "",
      ].join(" "),
    );
  };
  return (
    <div className="more-evidence">
      <form onSubmit={(event) => void keepNote(event)}>
        <label className="field">
          <span>Note</span>
          <textarea rows={2} value={note} onChange={(event) => setNote(event.target.value)} />
        </label>
        <div className="buttons">
          <button type="submit" className="button is-quiet is-large" disabled={note.trim() === ""}>
            Keep the note
          </button>
          <label className="button is-quiet is-large photo-button">
            Photograph
            <input
              type="file"
              accept="image/*"
              capture="environment"
              className="sr-only"
              onChange={(event) => void keepPhotos(event)}
            />
          </label>
        </div>
      </form>
      {files && files.length > 0 && (
        <label className="field">
          <span>A capture or another file of the job</span>
          <select
            value=""
            onChange={(event) => {
              const path = event.target.value;
              void act({ what: "file", path }).then(() => setTold(`${path} is kept.`));
            }}
          >
            <option value="">Choose one to keep here…</option>
            {files.map((each) => (
              <option key={each}>{each}</option>
            ))}
          </select>
        </label>
      )}
      <p className="quiet" role="status">
        {told}
      </p>
    </div>
  );
}
