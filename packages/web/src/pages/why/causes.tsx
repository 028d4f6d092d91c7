import type { ToldCause, WhyTold } from "@rouse/core/diagnose/why";
import { type CSSProperties, useState } from "react";
import { VerdictMark } from "../../parts/verdict.tsx";
import { counted, listed } from "../../parts/words.ts";
import { CautionList } from "./cautions.tsx";
import { percent, times } from "./words.ts";

const FIRST = 8;
/** An answer that moved a cause by less is not worth a line; bits. */
const NOTICED = 0.15;

/** The causes, likeliest first, each with what moved it there. */
export function Causes({ told, link }: { told: WhyTold; link: string | null }) {
  const [all, setAll] = useState(false);
  const causes = told.causes.filter((each) => link === null || each.link === link);
  const shown = all ? causes : causes.slice(0, FIRST);
  const partOf = (id: string): string => told.causes.find((each) => each.id === id)?.part ?? id;
  return (
    <section className="panel" aria-labelledby="causes-title">
      <h2 id="causes-title">Causes{link && ` in the ${link}`}</h2>
      {told.alike.map((some) => (
        <p key={some.join()} className="why-alike">
          No test left tells these apart, short of changing soldered parts: {listed(some.map(partOf))}.
        </p>
      ))}
      <ol className="why-causes" data-testid="why-causes">
        {shown.map((cause) => (
          <li key={cause.id}>
            <details>
              <summary>
                <span className="why-cause-head">
                  <span className="why-cause-part">{cause.part}</span>
                  <span className="tag">{cause.link}</span>
                  <span className="why-share">{percent(cause.chance)}</span>
                </span>
                <span className="why-bar" aria-hidden="true">
                  <span style={{ "--share": cause.chance } as CSSProperties} />
                </span>
              </summary>
              <Reasons cause={cause} />
            </details>
          </li>
        ))}
      </ol>
      {causes.length > FIRST && (
        <button type="button" className="button is-quiet" aria-expanded={all} onClick={() => setAll(!all)}>
          {all ? "Only the likeliest" : `All ${counted(causes.length, "cause")}`}
        </button>
      )}
    </section>
  );
}

function Reasons({ cause }: { cause: ToldCause }) {
  const moved = cause.moved.filter(({ bits }) => Math.abs(bits) >= NOTICED);
  return (
    <div className="why-reasons">
      <p>
        Before anything was seen {percent(cause.prior)}: {cause.because}.{" "}
        <span className="quiet">{cause.source.title}</span>
      </p>
      {cause.raisedBy.map(({ id, verdict, sentence }) => (
        <p key={id}>
          <VerdictMark verdict={verdict} /> {sentence}
        </p>
      ))}
      {moved.length > 0 && (
        <ul>
          {moved.map(({ id, title, found, bits }) => (
            <li key={id}>
              <strong className={bits > 0 ? "why-up" : "why-down"}>{times(bits)}</strong> {title}: {found}
            </li>
          ))}
        </ul>
      )}
      <CautionList cautions={cause.cautions} />
      <p>{cause.remedy}</p>
      {cause.at && <p className="quiet">In the bench file: {cause.at}</p>}
    </div>
  );
}

/** What is as good as found, and what to do. */
export function Found({ told }: { told: WhyTold }) {
  const { found } = told;
  if (!found) return null;
  return (
    <section className="panel why-found" aria-labelledby="found-title" data-testid="why-found">
      <h2 id="found-title">
        {found.listed ? "As good as found" : "Nothing that is listed fits what was found"}, {percent(found.chance)}
      </h2>
      {found.causes.map((id) => {
        const cause = told.causes.find((each) => each.id === id);
        return (
          cause && (
            <div key={id} className="why-remedy">
              <h3>{cause.part}</h3>
              <CautionList cautions={cause.cautions} />
              <p>{cause.remedy}</p>
            </div>
          )
        );
      })}
    </section>
  );
}
