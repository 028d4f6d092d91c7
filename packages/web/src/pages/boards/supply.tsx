import type { LoadRow, RailState } from "@rouse/core/board";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import { useRef } from "react";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { useWidth } from "../../parts/use-width.ts";
import { Ripple } from "./ripple.tsx";
import { Told } from "./told.tsx";
import type { FindingTold } from "./types.ts";

const current = (value: number): string => formatValue(value, "current", 3);
const volts = (value: number): string => formatValue(value, "voltage", 3);

/** Current of each rail against its rating, the regulator's heat, the ripple and what is lost on the way. */
export function Supply({ rails, findings }: { rails: readonly RailState[]; findings: readonly FindingTold[] }) {
  if (rails.length === 0) return null;
  return (
    <section className="panel" aria-labelledby="supply-title">
      <h2 id="supply-title">Supply</h2>
      {rails.map((rail) => (
        <Rail key={rail.rail} state={rail} findings={findings} />
      ))}
      <ul className="b-legend">
        <li>
          <span className="b-swatch is-own" /> the machine
        </li>
        <li>
          <span className="b-swatch is-added" /> added boards
        </li>
        <li>
          <span className="b-swatch is-reserve" /> reserve to keep
        </li>
      </ul>
    </section>
  );
}

function Rail({ state, findings }: { state: RailState; findings: readonly FindingTold[] }) {
  const { rail, load, regulator, ripple, feeds, missing } = state;
  return (
    <section className="rail" aria-label={`Rail ${rail}`}>
      <h3>{rail}</h3>
      <Told findings={findings} id={`supply-current/${rail}`} />
      <Bars state={state} />
      <details>
        <summary>Part by part</summary>
        <ScrollX name={`Currents of ${rail}`}>
          <table className="rows">
            <thead>
              <tr>
                <th scope="col">Board</th>
                <th scope="col">Part</th>
                <th scope="col" className="is-number">
                  Typical
                </th>
                <th scope="col" className="is-number">
                  Greatest
                </th>
                <th scope="col">Who says so</th>
              </tr>
            </thead>
            <tbody>
              {load.rows.map((row, index) => (
                // biome-ignore lint/suspicious/noArrayIndexKey: the same part may stand on a board twice
                <tr key={index}>
                  <th scope="row">
                    {row.board}
                    {row.added && " (added)"}
                  </th>
                  <td>{row.part === undefined ? "as stated" : `${row.count} × ${row.part}`}</td>
                  <td className="is-number">{current(row.typical)}</td>
                  <td className="is-number">{current(row.max)}</td>
                  <td className="quiet">{sourceOf(row)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </ScrollX>
      </details>
      {missing.length > 0 && <p className="quiet">Not known without {missing.join(", ")}.</p>}
      {regulator && (
        <>
          <h4>Regulator {regulator.part}</h4>
          <Told findings={findings} id={`regulator-heat/${rail}`} />
          <Gauge
            about={`${formatNumber(regulator.heat.junction, 3)} °C at the junction, of ${regulator.limit} °C.`}
            value={regulator.heat.junction}
            limit={regulator.limit}
            words={`${formatNumber(regulator.heat.junction, 3)} °C at the junction: ${volts(regulator.heat.drop)} × ${current(load.max)} = ${formatValue(regulator.heat.power, "power", 3)}, over ${formatNumber(regulator.heat.resistance, 3)} °C/W`}
            limitWords={`${regulator.limit} °C`}
          />
        </>
      )}
      {ripple && (
        <>
          <h4>Ripple at low mains</h4>
          <Told findings={findings} id={`supply-ripple/${rail}`} />
          <Ripple ripple={ripple} />
        </>
      )}
      {feeds.map((feed) => (
        <div key={feed.board}>
          <h4>On the way to {feed.board}</h4>
          <Told findings={findings} id={`supply-drop/${feed.board}`} />
          <p className="quiet">
            {formatValue(feed.wires, "resistance", 3)} of wires there and back and{" "}
            {formatValue(feed.contacts, "resistance", 3)} of contacts at {current(feed.current)}: {volts(feed.drop)}{" "}
            lost.
          </p>
        </div>
      ))}
    </section>
  );
}

function sourceOf({ value, typicalOnly }: LoadRow): string {
  if (!("source" in value)) return "your bench file";
  return `${value.source.title}${typicalOnly ? "; typical alone" : ""}${value.note ? `; ${value.note}` : ""}`;
}

const ROW = 34;
const HEAD = 22;

/** Typical and greatest current as bars against the rail's limit. */
function Bars({ state: { load, limit, reserve, rail } }: { state: RailState }) {
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const left = 74;
  const most = Math.max(limit ?? 0, load.max, 1e-9) * 1.04;
  const x = (value: number): number => left + (value / most) * (width - left - 4);
  const rows = [
    { name: "typical", own: load.typical - load.addedTypical, added: load.addedTypical },
    { name: "greatest", own: load.max - load.added, added: load.added },
  ];
  const about = `${rail}: ${current(load.typical)} typical, ${current(load.max)} at the most${load.added > 0 ? `, of which added boards ${current(load.added)}` : ""}${limit === undefined ? "" : `; the limit is ${current(limit)}`}.`;
  const height = HEAD + rows.length * ROW;
  return (
    <div ref={place} className="b-drawing">
      <svg width={width} height={height} role="img" aria-label={about}>
        {limit !== undefined && reserve !== undefined && (
          <rect
            className="b-reserve"
            x={x(limit - reserve)}
            y={HEAD}
            width={x(limit) - x(limit - reserve)}
            height={height - HEAD}
          />
        )}
        {rows.map(({ name, own, added }, index) => {
          const y = HEAD + index * ROW + 5;
          const words = current(own + added);
          const end = x(own + added);
          const isInside = end + 60 > width || (limit !== undefined && end < x(limit) && end + 60 > x(limit));
          return (
            <g key={name}>
              <text x={0} y={y + 16}>
                {name}
              </text>
              <rect className="b-own" x={left} y={y} width={Math.max(0, x(own) - left)} height={ROW - 10} />
              <rect className="b-added" x={x(own)} y={y} width={Math.max(0, end - x(own))} height={ROW - 10} />
              <text
                className={isInside ? "b-inside" : "b-number"}
                x={isInside ? end - 6 : end + 6}
                y={y + 16}
                textAnchor={isInside ? "end" : "start"}
              >
                {words}
              </text>
            </g>
          );
        })}
        {limit !== undefined && (
          <g className="b-limit">
            <path d={`M${x(limit)} ${HEAD - 4}V${height}`} />
            <text x={x(limit)} y={HEAD - 8} textAnchor={x(limit) > width - 70 ? "end" : "middle"}>
              limit {current(limit)}
            </text>
          </g>
        )}
      </svg>
    </div>
  );
}

/** One value on a scale that ends beyond its limit. */
function Gauge({
  about,
  value,
  limit,
  words,
  limitWords,
}: {
  about: string;
  value: number;
  limit: number;
  words: string;
  limitWords: string;
}) {
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const most = Math.max(limit * 1.2, value * 1.04);
  const x = (each: number): number => (Math.max(0, each) / most) * (width - 2);
  return (
    <>
      <div ref={place} className="b-drawing">
        <svg width={width} height={44} role="img" aria-label={about}>
          <rect className="b-track" x={0.5} y={22} width={width - 1} height={16} />
          <rect className={value > limit ? "b-beyond" : "b-own"} x={0.5} y={22} width={x(value)} height={16} />
          <g className="b-limit">
            <path d={`M${x(limit)} 18V44`} />
            <text x={x(limit)} y={13} textAnchor="middle">
              limit {limitWords}
            </text>
          </g>
        </svg>
      </div>
      <p className="quiet">{words}</p>
    </>
  );
}
