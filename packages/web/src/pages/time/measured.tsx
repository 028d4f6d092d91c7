import { InputError } from "@rouse/core/errors";
import { readMeasurement } from "@rouse/core/timing";
import { type FormEvent, useState } from "react";
import { inSeconds } from "../../parts/seconds.ts";
import { Problem } from "../../parts/states.tsx";
import { VerdictShape } from "../../parts/verdict.tsx";
import type { TimeTold } from "./types.ts";

const HOW_WELL = {
  well: { verdict: "runs", words: "well known" },
  roughly: { verdict: "tight", words: "roughly known" },
  not: { verdict: "unknown", words: "not known by this" },
} as const;

/** Times taken with a watch, and what they say of the numbers that nobody gave. */
export function Measured({
  measured,
  fitted,
  onMeasured,
}: {
  measured: readonly string[];
  fitted: TimeTold["fitted"];
  onMeasured: (measured: readonly string[]) => void;
}) {
  const [text, setText] = useState("");
  const [problem, setProblem] = useState<string | null>(null);
  const line = text.trim();
  const add = (event: FormEvent): void => {
    event.preventDefault();
    if (line === "" || measured.includes(line)) return;
    try {
      readMeasurement(line);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      setProblem(error.message);
      return;
    }
    setProblem(null);
    onMeasured([...measured, line]);
    setText("");
  };
  return (
    <section className="panel" aria-labelledby="measured-title">
      <h2 id="measured-title">What you measured</h2>
      <p className="quiet">
        Take a time with a watch and write it as <code>boot 41 s</code> or <code>load NAME 3.5 s ± 0.2 s</code>. Numbers
        that the bench file lacks are fitted to it, and later answers carry the range that this leaves.
      </p>
      <form className="measured-form" onSubmit={add}>
        <label className="field">
          <span>A measurement</span>
          <input value={text} onChange={(event) => setText(event.target.value)} maxLength={200} spellCheck={false} />
        </label>
        <button type="submit" className="button" disabled={line === ""}>
          Take it in
        </button>
      </form>
      {problem && <Problem sentence={problem} />}
      <ul className="measured-list">
        {measured.map((each) => {
          const met = fitted?.measurements.find((other) => other.text === each);
          return (
            <li key={each}>
              <strong>{each}</strong>
              {met && <span className="quiet">the model gives {inSeconds(met.fitted)}</span>}
              <button
                type="button"
                className="button is-quiet"
                aria-label={`Drop ${each}`}
                onClick={() => onMeasured(measured.filter((other) => other !== each))}
              >
                Drop
              </button>
            </li>
          );
        })}
      </ul>
      {fitted && <Fit fitted={fitted} />}
    </section>
  );
}

function Fit({ fitted }: { fitted: NonNullable<TimeTold["fitted"]> }) {
  return (
    <div data-testid="fitted" className="measured-fit">
      <p>{fitted.sentence}</p>
      <dl className="shown-facts">
        {fitted.values.map(({ id, label, text, howWell, key }) => (
          <div key={id}>
            <dt>{label}</dt>
            <dd>
              <strong>{text}</strong>{" "}
              <span className={`verdict is-${HOW_WELL[howWell].verdict}`}>
                <VerdictShape verdict={HOW_WELL[howWell].verdict} />
                {HOW_WELL[howWell].words}
              </span>{" "}
              <span className="quiet">{key}</span>
            </dd>
          </div>
        ))}
      </dl>
    </div>
  );
}
