import type { TimingAnswer } from "@rouse/core/timing";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { inSeconds } from "../../parts/seconds.ts";

/** Where the time goes, lane by lane. */
export function Totals({ answer }: { answer: TimingAnswer }) {
  const most = Math.max(1e-9, ...answer.totals.map(({ seconds }) => seconds));
  return (
    <section className="panel" aria-labelledby="totals-title">
      <h2 id="totals-title">Where the time goes</h2>
      <p className="quiet">Lanes overlap, so these may add up to more than the whole.</p>
      <ScrollX name="Times by lane">
        <table className="rows totals">
          <thead>
            <tr>
              <th scope="col">Who</th>
              <th scope="col">What</th>
              <th scope="col" className="is-number">
                Times
              </th>
              <th scope="col" className="is-number">
                Together
              </th>
              <th scope="col">
                <span className="sr-only">As a bar</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {answer.totals.map(({ lane, name, seconds, times }) => (
              <tr key={`${lane} ${name}`}>
                <th scope="row">{lane}</th>
                <td>{name}</td>
                <td className="is-number">{times.toLocaleString("en-GB")}</td>
                <td className="is-number">{inSeconds(seconds)}</td>
                <td className="total-bar">
                  <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
                    <rect className={`lane-${lane}`} width={Math.max(0.8, (seconds / most) * 100)} height="10" />
                  </svg>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </ScrollX>
    </section>
  );
}

/** Every number that the time rests on, with who says so. */
export function Rests({ answer }: { answer: TimingAnswer }) {
  return (
    <section className="panel" aria-labelledby="rests-title">
      <h2 id="rests-title">What it rests on</h2>
      <dl className="shown-facts">
        {answer.parameters
          .filter(({ rests }) => rests)
          .map(({ id, label, text, key, source, note }) => (
            <div key={id}>
              <dt>{label}</dt>
              <dd>
                <strong>{text}</strong>{" "}
                <span className="quiet">
                  {source ? source.title : `give ${key} in the bench file`}
                  {note && `; ${note}`}
                </span>
              </dd>
            </div>
          ))}
      </dl>
      {answer.notes.map((note) => (
        <p key={note} className="quiet">
          {note}
        </p>
      ))}
    </section>
  );
}
