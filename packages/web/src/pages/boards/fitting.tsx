import type { Fitting } from "@rouse/core/board";
import type { Caution } from "@rouse/core/fit";
import { useId, useState } from "react";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { counted } from "../../parts/words.ts";

/** What goes into the machine, the order of work, and the way back; the usual cautions stand before it. */
export function Fittings({ fittings, cautions }: { fittings: readonly Fitting[]; cautions: readonly Caution[] }) {
  return (
    <section className="panel" aria-labelledby="fitting-title">
      <h2 id="fitting-title">Fitting and taking out again</h2>
      {fittings.length === 0 && (
        <p className="quiet">No board of this bench is marked as added (computer.boards.NAME.added).</p>
      )}
      {fittings.length > 0 && (
        <div className="b-cautions">
          {cautions.map(({ code, title, sentence }) => (
            <p key={code}>
              <strong>{title}.</strong> {sentence}
            </p>
          ))}
        </div>
      )}
      {fittings.map((each) => (
        <OneFitting key={each.board} fitting={each} />
      ))}
    </section>
  );
}

const keyOf = (board: string): string => `rouse-fitting-${board}`;

function OneFitting({ fitting: { board, bill, steps, undo, missing } }: { fitting: Fitting }) {
  // A page that is closed in the middle of the work must not forget where it was.
  const [done, setDone] = useState<readonly string[]>(() => {
    try {
      const kept: unknown = JSON.parse(localStorage.getItem(keyOf(board)) ?? "[]");
      return Array.isArray(kept) ? kept.map(String) : [];
    } catch {
      return [];
    }
  });
  const mark = (to: readonly string[]): void => {
    setDone(to);
    localStorage.setItem(keyOf(board), JSON.stringify(to));
  };
  const id = useId();
  const list = (title: string, items: readonly { key: string; text: string }[], part: string) => (
    <div>
      <h4 id={`${id}-${part}`}>{title}</h4>
      <ol className="b-steps" aria-labelledby={`${id}-${part}`}>
        {items.map(({ key, text }) => (
          <li key={key}>
            <label className="tick">
              <input
                type="checkbox"
                checked={done.includes(key)}
                onChange={(event) => mark(event.target.checked ? [...done, key] : done.filter((each) => each !== key))}
              />
              <span>{text}</span>
            </label>
          </li>
        ))}
      </ol>
    </div>
  );
  const told = steps.map(({ text }, index) => ({ key: `fit ${index} ${text}`, text }));
  const back = undo.map((text, index) => ({ key: `undo ${index} ${text}`, text }));
  const ticked = [...told, ...back].filter(({ key }) => done.includes(key)).length;
  return (
    <section className="b-fitting" aria-label={board}>
      <h3>{board}</h3>
      <ScrollX name={`Parts of ${board}`}>
        <table className="rows">
          <thead>
            <tr>
              <th scope="col" className="is-number">
                Count
              </th>
              <th scope="col">Part</th>
              <th scope="col">What it is</th>
              <th scope="col">Place</th>
            </tr>
          </thead>
          <tbody>
            {bill.map(({ part, title, count, places, sockets }) => (
              <tr key={part}>
                <td className="is-number">{count}</td>
                <th scope="row">{part}</th>
                <td>{title ?? "not in the catalogue"}</td>
                <td>
                  {places.join(", ")}
                  {sockets > 0 && ` (${sockets} in sockets)`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </ScrollX>
      {missing.length > 0 && <p className="quiet">Not described yet: {missing.join(", ")}.</p>}
      <div className="b-halves">
        {list("The order of work", told, "fit")}
        {list("To make the machine what it was", back, "undo")}
      </div>
      <p className="quiet">
        <span role="status">{counted(ticked, "step")} ticked.</span> Ticks stay on this computer; the run book keeps
        what was done as a record.
      </p>
      <button type="button" className="button is-quiet" disabled={done.length === 0} onClick={() => mark([])}>
        Untick all
      </button>
    </section>
  );
}
