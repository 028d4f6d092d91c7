import type { Verdict } from "../../job/types.ts";
import { Bars } from "../../parts/bars.tsx";
import { Curve } from "../../parts/curve.tsx";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { VerdictShape } from "../../parts/verdict.tsx";
import { counted } from "../../parts/words.ts";
import type { RecoveredTold } from "./types.ts";

type Sector = RecoveredTold["sectors"][number];

const BASES: Readonly<Record<Sector["basis"], { verdict: Verdict; words: string }>> = {
  check: { verdict: "runs", words: "its check" },
  vote: { verdict: "tight", words: "a vote over turns" },
  unproved: { verdict: "stops", words: "no check" },
  nothing: { verdict: "stops", words: "nothing was read" },
};

const percent = (share: number, digits = 1): string => `${(share * 100).toFixed(digits).replace("-", "−")} %`;

/** What was recovered of a track, with its pictures. */
export function RecoveredView({ told, name }: { told: RecoveredTold; name: string }) {
  const { intervals, speed, margin, sectors } = told;
  const good = sectors.filter(({ basis }) => basis === "check" || basis === "vote").length;
  const cell = told.cellMicroseconds;
  const marks = [1, 2, 3, 4]
    .map((cells) => ({ at: cells * cell, name: `${cells}` }))
    .filter(({ at }) => at < intervals.to);
  return (
    <>
      <h3 className="recovered-head" data-testid="recovered">
        <VerdictShape verdict={good === sectors.length ? "runs" : "stops"} /> {good} of {sectors.length} sectors
        recovered
      </h3>
      <Facts told={told} name={name} />
      <div className="plots">
        <Bars
          title="Intervals between transitions"
          about={`Histogram of intervals from 0 to ${intervals.to.toFixed(1)} µs. They gather at whole numbers of cells of ${cell.toFixed(2)} µs.`}
          values={intervals.counts}
          from={0}
          to={intervals.to}
          unit={`µs; lines at whole cells; ${intervals.longer.toLocaleString("en-GB")} are longer`}
          marks={marks}
        />
        <Curve
          title="Speed along the capture"
          about={`Departure of the speed from nominal along the capture, from ${percent(speed.least, 2)} to ${percent(speed.most, 2)}.`}
          points={speed.points}
          xUnit="ms"
          yUnit="% off nominal"
          yFrom={speed.mean * 100 - 0.5}
          yTo={speed.mean * 100 + 0.5}
        />
        <Bars
          title="Where transitions lie in their window"
          about={`Transitions lie ${percent(margin.rms)} of a cell from its middle (rms); all but one in a thousand keep ${percent(margin.margin)} of a cell to the edge.`}
          values={margin.counts}
          from={-50}
          to={50}
          unit={`% of a cell from its middle; ${percent(margin.rms)} rms, margin ${percent(margin.margin)}`}
        />
      </div>
      <ScrollX name="Sectors">
        <table className="rows sectors" aria-label="Sectors recovered">
          <thead>
            <tr>
              <th scope="col">Sector</th>
              <th scope="col">Rests on</th>
              <th scope="col">Turns good</th>
              <th scope="col">What that means</th>
            </tr>
          </thead>
          <tbody>
            {sectors.map((each) => (
              <tr key={each.sector}>
                <th scope="row">{each.sector}</th>
                <td>
                  <span className={`verdict is-${BASES[each.basis].verdict}`}>
                    <VerdictShape verdict={BASES[each.basis].verdict} />
                    {BASES[each.basis].words}
                  </span>
                </td>
                <td>
                  {each.turnsGood} of {each.turnsRead}
                </td>
                <td>{meaningOf(each)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </ScrollX>
      {told.unnamed + told.strays > 0 && (
        <p className="quiet">
          {counted(told.unnamed, "sector")} without a number; {counted(told.strays, "ID")} that name another track.
        </p>
      )}
    </>
  );
}

const meaningOf = ({ rests, idBasis, basis, weakBytes, deleted }: Sector): string =>
  [
    rests,
    idBasis && idBasis !== "check" ? `its number rests on ${idBasis === "vote" ? "a vote" : `its ${idBasis}`}` : "",
    basis === "unproved" ? `${counted(weakBytes, "byte")} in doubt` : "",
    deleted ? "marked as deleted" : "",
  ]
    .filter(Boolean)
    .join("; ");

function Facts({ told, name }: { told: RecoveredTold; name: string }) {
  const { found, turns, speed } = told;
  const facts: readonly (readonly [string, string])[] = [
    ["Capture", `${name}: ${told.transitions.toLocaleString("en-GB")} transitions; ${told.notes.join("; ")}`],
    [
      "Recording",
      `${found.title}, track ${found.track}, side ${found.side}: ${found.why}${found.others.length > 0 ? `; laid out alike: ${found.others.join(", ")}` : ""}`,
    ],
    ["Turns", `${counted(turns.count, "turn")} of ${(turns.seconds * 1000).toFixed(2)} ms, told apart by ${turns.by}`],
    [
      "Speed",
      `${percent(speed.mean, 2)} off nominal in the mean, ${percent(speed.least, 2)} to ${percent(speed.most, 2)}; a cell takes ${told.cellMicroseconds.toFixed(3)} µs`,
    ],
    ["Recovery", `took ${(told.took * 1000).toFixed(0)} ms for ${(told.lasts * 1000).toFixed(0)} ms of signal`],
  ];
  return (
    <dl className="shown-facts">
      {facts.map(([title, text]) => (
        <div key={title}>
          <dt>{title}</dt>
          <dd>{text}</dd>
        </div>
      ))}
    </dl>
  );
}
