import { type CSSProperties, Fragment, type KeyboardEvent, type ReactNode } from "react";
import type { Link, WorkbenchReport } from "../../job/types.ts";
import { useWide } from "../../parts/use-wide.ts";
import { VerdictMark } from "../../parts/verdict.tsx";
import { upperFirst } from "../../parts/words.ts";
import { TABLE } from "./drawings/paper.tsx";
import { HEIGHT, STATIONS, type Station } from "./stations.ts";

/** Arrow keys go from one thing on the table to the next. */
function step(event: KeyboardEvent<HTMLElement>): void {
  const way = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
  const all = [...event.currentTarget.querySelectorAll<HTMLElement>("a.station-link")];
  const at = all.indexOf(document.activeElement as HTMLElement);
  const next =
    event.key === "Home" ? all[0] : event.key === "End" ? all.at(-1) : way && at >= 0 ? all[at + way] : undefined;
  if (at < 0 || !next) return;
  event.preventDefault();
  next.focus();
}

/** The chain as the real things on a table. Each is a link that opens its findings. */
export function Scene({
  report,
  selected,
  addressOf,
  below,
}: {
  report: WorkbenchReport;
  selected: Link | undefined;
  addressOf: (link: Link) => string;
  /** Shown under the selected thing, where the chain runs downwards. */
  below?: ReactNode;
}) {
  const { drawing } = report;
  const wide = useWide();
  if (!drawing) return null;
  return (
    <ol className="scene" onKeyDown={step} aria-label="The chain, from the image to the audience">
      {STATIONS.map((station) => {
        const found = report.links.find(({ link }) => link === station.link);
        if (!found) return null;
        const isOpen = station.link === selected;
        const thing = station.thing(drawing);
        return (
          <li key={station.link} className={isOpen ? "station is-open" : "station"} style={{ flexGrow: station.width }}>
            <a className="station-link" href={addressOf(station.link)} aria-expanded={isOpen} data-link={station.link}>
              <StationDrawing station={station} report={report} cropped={!wide} />
              <span className="station-label">
                <span className="station-name">{upperFirst(station.link)}</span>
                <VerdictMark verdict={found.verdict} />
                {thing && <span className="station-thing">{thing}</span>}
              </span>
            </a>
            {isOpen && below && <Fragment>{below}</Fragment>}
          </li>
        );
      })}
    </ol>
  );
}

function StationDrawing({
  station: { width, top, Draw },
  report,
  cropped = false,
}: {
  station: Station;
  report: WorkbenchReport;
  cropped?: boolean;
}) {
  const from = cropped ? top : 0;
  if (!report.drawing) return null;
  return (
    <svg
      className="station-drawing"
      viewBox={`0 ${from} ${width} ${HEIGHT - from}`}
      aria-hidden="true"
      style={{ "--width": width } as CSSProperties}
    >
      <rect className="d-table" x="-2" y={TABLE} width={width + 4} height="12" />
      <path className="d-line" d={`M-2 ${TABLE}H${width + 2}`} />
      <Draw drawing={report.drawing} report={report} />
    </svg>
  );
}

/** The whole table small, without words: what changed is seen at a glance. */
export function SceneInSmall({ report }: { report: WorkbenchReport }) {
  return (
    <div className="scene-small" aria-hidden="true">
      {STATIONS.map((station) => {
        const verdict = report.links.find(({ link }) => link === station.link)?.verdict ?? "unknown";
        return (
          <div key={station.link} className={`is-${verdict}`} style={{ flexGrow: station.width }}>
            <StationDrawing station={station} report={report} />
          </div>
        );
      })}
    </div>
  );
}
