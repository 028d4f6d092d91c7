import { formatNumber, formatValue } from "@rouse/core/quantity";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { VerdictMark } from "../../parts/verdict.tsx";
import { counted } from "../../parts/words.ts";
import { Told } from "./told.tsx";
import type { FindingTold, LineTold } from "./types.ts";

const current = (value: number): string => formatValue(value, "current", 3);

/** A share of what the driver gives, as a bar under its words. */
function Use({ load, can }: { load: number; can: number | undefined }) {
  if (can === undefined) return <>{current(load)} of ?</>;
  const share = load / can;
  return (
    <>
      {current(load)} of {current(can)}
      <svg className="b-use" viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true">
        <rect className="b-track" width="100" height="6" />
        <rect className={share > 1 ? "b-beyond" : "b-own"} width={Math.min(100, share * 100)} height="6" />
      </svg>
    </>
  );
}

/** What hangs on every bus line, against what its driver gives at both levels and at which load its delays hold. */
export function Lines({ lines, findings }: { lines: readonly LineTold[]; findings: readonly FindingTold[] }) {
  if (lines.length === 0) return null;
  const open = findings.filter(({ id, verdict }) => id.startsWith("fan-out/") && verdict !== "runs");
  return (
    <section className="panel" aria-labelledby="lines-title">
      <h2 id="lines-title">Load of the bus lines</h2>
      <p className="quiet">
        Unit loads are those of the LS family: 20 µA at the high level, 0.4 mA at the low level (SDLS025B).
      </p>
      {open.map(({ id }) => (
        <Told key={id} findings={findings} id={id} />
      ))}
      <ScrollX name="Every line with its driver">
        <table className="rows b-lines">
          <thead>
            <tr>
              <th scope="col">Lines</th>
              <th scope="col">Driver</th>
              <th scope="col">Low level</th>
              <th scope="col">High level</th>
              <th scope="col" className="is-number">
                Unit loads, low / high
              </th>
              <th scope="col">Capacitance</th>
              <th scope="col">What hangs on them</th>
            </tr>
          </thead>
          <tbody>
            {lines.map(({ title, driver, load, canHigh, canLow, rated, slowed, missing }) => {
              const verdict = findings.find(({ id }) => id === `fan-out/${title}`)?.verdict ?? "unknown";
              return (
                <tr key={title}>
                  <th scope="row">
                    {title}
                    <br />
                    <VerdictMark verdict={verdict} />
                  </th>
                  <td>{driver ?? "?"}</td>
                  <td>
                    <Use load={load.low} can={canLow?.value.value} />
                  </td>
                  <td>
                    <Use load={load.high} can={canHigh?.value.value} />
                  </td>
                  <td className="is-number">
                    {formatNumber(load.unitsLow, 3)} / {formatNumber(load.unitsHigh, 3)}
                  </td>
                  <td>
                    {formatValue(load.capacitance, "capacitance", 3)}
                    {rated !== undefined && ` of ${formatValue(rated, "capacitance", 3)} rated`}
                    {slowed !== undefined && slowed > 0 && `, ${formatValue(slowed, "time", 3)} late`}
                  </td>
                  <td className="quiet b-hanging">
                    {load.rows.map(({ board, added, part, count, kind }) => (
                      <div key={`${board} ${part} ${kind}`}>
                        {board}
                        {added && " (added)"}: {counted(count, kind)} of {part}
                      </div>
                    ))}
                    {missing.length > 0 && <div>Not known without {missing.join(", ")}</div>}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </ScrollX>
    </section>
  );
}
