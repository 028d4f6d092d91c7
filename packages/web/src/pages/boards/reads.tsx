import { formatValue } from "@rouse/core/quantity";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { Diagram } from "./diagram.tsx";
import { Told } from "./told.tsx";
import type { FindingTold, ReadTold, TimedRead } from "./types.ts";

const clockOf = (hertz: number): string => formatValue(hertz, "frequency", 4);
const time = (seconds: number): string => formatValue(seconds, "time", 3);

/** Every read that the bench describes, as a timing diagram with its margin, the fastest clock, and what would be faster. */
export function Reads({ reads, findings }: { reads: readonly ReadTold[]; findings: readonly FindingTold[] }) {
  return (
    <section className="panel" aria-labelledby="reads-title">
      <h2 id="reads-title">Time of a read</h2>
      {reads.length === 0 && (
        <p className="quiet">The ways of a read are not described; describe them under computer.paths.</p>
      )}
      {reads.map((read) => (
        <section key={read.name} className="b-read" aria-label={`Read of ${read.name}`}>
          <h3>{read.name}</h3>
          <Told findings={findings} id={`bus-timing/${read.name}`} />
          {"missing" in read ? (
            <p className="quiet">Not known without {read.missing.join(", ")}.</p>
          ) : (
            <>
              <Diagram read={read} />
              <Facts read={read} />
              <Faster read={read} />
            </>
          )}
        </section>
      ))}
    </section>
  );
}

function Facts({ read: { clock, cycle, window, waits, fastest, rated, strobe, added } }: { read: TimedRead }) {
  return (
    <dl className="shown-facts">
      <div>
        <dt>Clock</dt>
        <dd>
          {clockOf(clock)}: {time(window)} for the {cycle.which}
          {waits > 0 && `, ${waits} wait states counted in`}
        </dd>
      </div>
      <div>
        <dt>Holds up to</dt>
        <dd>
          <strong data-testid="fastest">{clockOf(fastest)}</strong>
          {rated !== undefined && `; the CPU is rated for ${clockOf(rated)}`}
        </dd>
      </div>
      {strobe && (
        <div>
          <dt>Row strobe</dt>
          <dd>
            at {time(strobe.at)}; the address is there at {time(strobe.reached)},{" "}
            {strobe.margin < 0 ? `${time(-strobe.margin)} too late` : `${time(strobe.margin)} before it`}
          </dd>
        </div>
      )}
      {added > 0 && (
        <div>
          <dt>Added boards take</dt>
          <dd>{time(added)} of it</dd>
        </div>
      )}
    </dl>
  );
}

function Faster({ read: { changes, strobe, name } }: { read: TimedRead }) {
  if (changes.length === 0) return null;
  return (
    <>
      <h4>What faster parts would buy</h4>
      <ScrollX name={`What faster parts would buy, ${name}`}>
        <table className="rows">
          <thead>
            <tr>
              <th scope="col">Change</th>
              {strobe && (
                <th scope="col" className="is-number">
                  Sooner at the strobe
                </th>
              )}
              <th scope="col" className="is-number">
                Data sooner
              </th>
              <th scope="col" className="is-number">
                Holds up to
              </th>
              <th scope="col">Who says so</th>
            </tr>
          </thead>
          <tbody>
            {changes.map(({ what, gained, early, fastest, source }) => (
              <tr key={what}>
                <th scope="row">{what}</th>
                {strobe && <td className="is-number">{time(early)}</td>}
                <td className="is-number">{time(gained)}</td>
                <td className="is-number">{clockOf(fastest)}</td>
                <td className="quiet">{source?.title}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </ScrollX>
    </>
  );
}
