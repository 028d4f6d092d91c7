import type { WhyTold } from "@rouse/core/diagnose/why";
import type { Why } from "./use-why.ts";
import { percent, times } from "./words.ts";

type Moves = WhyTold["answers"][number]["raised"];
const inWords = (moves: Moves): string => moves.map(({ part, bits }) => `${part} ${times(bits)}`).join("; ");

/** Everything that was found, the last first, each with what it moved; each can be taken back. */
export function History({ told, why }: { told: WhyTold; why: Why }) {
  const { answers, left } = told;
  return (
    <section className="panel" aria-labelledby="history-title">
      <h2 id="history-title">What was found</h2>
      {answers.length === 0 && <p className="quiet">Nothing yet. It is kept in the job's log, for a later day too.</p>}
      <ol className="why-history" data-testid="why-history">
        {[...answers].reverse().map(({ id, title, found, likely, surprising, raised, lowered }) => (
          <li key={id}>
            <div>
              <p>
                <strong>{title}</strong>: {found}
              </p>
              {surprising && (
                <p className="why-surprise">A surprise: it was thought {percent(likely)} likely. Is it sure?</p>
              )}
              {raised.length > 0 && <p className="quiet">Likelier: {inWords(raised)}</p>}
              {lowered.length > 0 && <p className="quiet">Less likely: {inWords(lowered)}</p>}
            </div>
            <button
              type="button"
              className="button is-quiet"
              aria-label={`Take back: ${title}`}
              disabled={why.busy}
              onClick={() => void why.act("undo", { id })}
            >
              Take back
            </button>
          </li>
        ))}
      </ol>
      {left.length > 0 && (
        <p className="quiet">
          Not counted, as this bench has no such test any more: {left.map(({ test }) => test).join(", ")}.
        </p>
      )}
      {answers.length > 0 && (
        <button type="button" className="button is-quiet" disabled={why.busy} onClick={() => void why.act("fresh", {})}>
          Begin anew
        </button>
      )}
    </section>
  );
}
