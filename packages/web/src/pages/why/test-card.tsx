import type { ToldTest, WhyTold } from "@rouse/core/diagnose/why";
import { type FormEvent, useState } from "react";
import { CautionList } from "./cautions.tsx";
import type { Why } from "./use-why.ts";
import { inMinutes, percent, RISKS } from "./words.ts";

/** More outcomes than these are chosen from a list. */
const BUTTONS = 10;

/** The test to do next: cautions first, how, what it costs and tells, and a button for each outcome. */
export function TestCard({ test, told, why }: { test: ToldTest; told: WhyTold; why: Why }) {
  const answer = (found: string): void => void why.act("answer", { test: test.id, found });
  return (
    <section className="panel why-test" aria-labelledby="test-title">
      <p className="over">{told.asked ? "The test you chose" : "The next test"}</p>
      <h2 id="test-title" data-testid="test-title">
        {test.title}
      </h2>
      <CautionList cautions={test.cautions} />
      <ul className="why-how">
        {test.how.map((each) => (
          <li key={each}>{each}</li>
        ))}
      </ul>
      <dl className="shown-facts">
        <div>
          <dt>Takes</dt>
          <dd>
            about {inMinutes(test.minutes)}
            {test.opens && ", with opening the case"}
          </dd>
        </div>
        <div>
          <dt>Risk</dt>
          <dd>
            {test.risk}: {RISKS[test.risk]}
          </dd>
        </div>
        <div>
          <dt>Tells</dt>
          <dd>
            {test.bits.toFixed(2)} of {told.open.toFixed(1)} bits still open, in the mean; misleads one time in{" "}
            {Math.round(1 / test.misleads)}
          </dd>
        </div>
        {test.tools.length > 0 && (
          <div>
            <dt>Tools</dt>
            <dd>{test.tools.join(", ")}</dd>
          </div>
        )}
      </dl>
      {test.reading && <Reading wanted={test.reading.wanted} busy={why.busy} onTaken={answer} />}
      {test.outcomes.length > BUTTONS ? (
        <FromList test={test} busy={why.busy} onAnswer={answer} />
      ) : (
        <ul className="why-outcomes">
          {test.outcomes.map(({ id, words, chance, points }) => (
            <li key={id}>
              <button type="button" className="why-outcome" disabled={why.busy} onClick={() => answer(id)}>
                <span className="why-outcome-words">{words}</span>
                <span className="quiet">
                  {percent(chance)}; points to {points.part}, {percent(points.chance)}
                </span>
              </button>
            </li>
          ))}
        </ul>
      )}
      <div className="why-test-end">
        <button type="button" className="button is-quiet" disabled={why.busy} onClick={() => answer("?")}>
          Cannot be done here
        </button>
        <label className="field">
          <span>Another test</span>
          <select value="" onChange={(event) => why.choose(event.target.value || undefined)}>
            <option value="">{told.asked ? "the one proposed" : "choose…"}</option>
            {told.tests.map(({ id, title, bits, minutes }) => (
              <option key={id} value={id}>
                {title} ({bits.toFixed(2)} bits, {inMinutes(minutes)})
              </option>
            ))}
          </select>
        </label>
        {told.asked && (
          <button type="button" className="button is-quiet" onClick={() => why.choose(undefined)}>
            Back to the one proposed
          </button>
        )}
      </div>
    </section>
  );
}

function Reading({ wanted, busy, onTaken }: { wanted: string; busy: boolean; onTaken: (text: string) => void }) {
  const [text, setText] = useState("");
  const take = (event: FormEvent): void => {
    event.preventDefault();
    if (text.trim() !== "") onTaken(text.trim());
  };
  return (
    <form className="why-measured" onSubmit={take}>
      <label className="field">
        <span>The reading, with its unit (wanted: {wanted})</span>
        <input value={text} onChange={(event) => setText(event.target.value)} maxLength={60} spellCheck={false} />
      </label>
      <button type="submit" className="button" disabled={busy || text.trim() === ""}>
        Take the reading
      </button>
    </form>
  );
}

function FromList({ test, busy, onAnswer }: { test: ToldTest; busy: boolean; onAnswer: (found: string) => void }) {
  const [chosen, setChosen] = useState("");
  return (
    <div className="why-measured">
      <label className="field">
        <span>What came out</span>
        <select value={chosen} onChange={(event) => setChosen(event.target.value)}>
          <option value="">choose…</option>
          {test.outcomes.map(({ id, words, chance }) => (
            <option key={id} value={id}>
              {words} ({percent(chance)})
            </option>
          ))}
        </select>
      </label>
      <button type="button" className="button" disabled={busy || chosen === ""} onClick={() => onAnswer(chosen)}>
        Take it in
      </button>
    </div>
  );
}
