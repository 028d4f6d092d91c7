import type { WhyTold } from "@rouse/core/diagnose/why";
import { type FormEvent, useState } from "react";
import type { Why } from "./use-why.ts";

type Sight = WhyTold["sights"][number];

/** Sights that are shown before the person asks for more. */
const FIRST = 24;

/** What was seen unasked, as buttons that stay pressed, and a line for what was measured. */
export function Seen({ told, why }: { told: WhyTold; why: Why }) {
  const [more, setMore] = useState(false);
  const [text, setText] = useState("");
  const answers = told.session.answers;
  const answerOf = ({ test, outcomes }: Sight) =>
    answers.find((each) => each.test === test && each.outcomes.join("\n") === outcomes.join("\n"));
  const shown = told.sights.filter((sight, index) => more || index < FIRST || answerOf(sight));
  const press = (sight: Sight): void => {
    const known = answerOf(sight);
    void (known ? why.act("undo", { id: known.id }) : why.act("tell", { text: sight.sight }));
  };
  const add = async (event: FormEvent): Promise<void> => {
    event.preventDefault();
    if (text.trim() !== "" && (await why.act("tell", { text: text.trim() }))) setText("");
  };
  return (
    <section className="panel" aria-labelledby="seen-title">
      <h2 id="seen-title">What you see</h2>
      <div className="why-sights">
        {shown.map((sight) => (
          <button
            key={sight.sight}
            type="button"
            className="why-sight"
            aria-pressed={answerOf(sight) !== undefined}
            disabled={why.busy}
            onClick={() => press(sight)}
          >
            {sight.sight}
          </button>
        ))}
        {told.sights.length > FIRST && (
          <button type="button" className="button is-quiet" aria-expanded={more} onClick={() => setMore(!more)}>
            {more ? "Fewer" : "More"}
          </button>
        )}
      </div>
      <form className="why-measured" onSubmit={(event) => void add(event)}>
        <label className="field">
          <span>Something you measured, as “5 V rail = 4.2 V” or “reset = held”</span>
          <input value={text} onChange={(event) => setText(event.target.value)} maxLength={200} spellCheck={false} />
        </label>
        <button type="submit" className="button" disabled={why.busy || text.trim() === ""}>
          Take it in
        </button>
      </form>
    </section>
  );
}
