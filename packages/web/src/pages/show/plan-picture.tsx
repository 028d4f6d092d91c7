import { formatDuration } from "@rouse/core/quantity";
import { printClock, printStretch } from "@rouse/core/show/clock";
import { useRef } from "react";
import { useWidth } from "../../parts/use-width.ts";
import type { PlanTold } from "./types.ts";

const [ROW, TOP] = [34, 22];

/** Seconds between marks: the shortest of these that leaves their names room. */
const STEPS = [5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600];

function marksOf(whole: number, wide: number): number[] {
  const step = STEPS.find((each) => whole / each <= wide / 90) ?? 7200;
  return Array.from({ length: Math.floor(whole / step) + 1 }, (_, index) => index * step);
}

/** The show on one line of time: hands, wait, words, and the waits that no words fill. */
export function PlanPicture({ plan: { scenes, length } }: { plan: PlanTold["plan"] }) {
  const whole = Math.max(1, length.usual);
  const place = useRef<HTMLDivElement>(null);
  const wide = useWidth(place);
  const x = (seconds: number): number => (seconds / whole) * wide;
  const height = TOP + scenes.length * ROW + 4;
  return (
    <div ref={place}>
      <svg
        className="plan-picture"
        viewBox={`0 0 ${wide} ${height}`}
        width={wide}
        height={height}
        role="img"
        aria-label={`${scenes.length} scenes in ${printStretch(whole)}`}
      >
        <defs>
          <pattern id="silent" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
            <rect width="8" height="8" className="plan-silent-ground" />
            <line x1="0" y1="0" x2="0" y2="8" className="plan-silent-line" />
          </pattern>
        </defs>
        {marksOf(whole, wide).map((each) => (
          <g key={each}>
            <line x1={x(each)} x2={x(each)} y1={TOP - 4} y2={height} className="plan-grid" />
            <text x={x(each) + 4} y={TOP - 8} className="plan-axis">
              {printStretch(each)}
            </text>
          </g>
        ))}
        {scenes.map(({ scene, start, hands, wait, speech, silence }, index) => {
          const y = TOP + index * ROW;
          const from = start + hands;
          const filled = Math.min(speech, wait.usual);
          // What is drawn as silent is the usual wait's; the longest may be more.
          const silent = silence >= 1 ? Math.max(0, wait.usual - filled) : 0;
          const label = `${scene.name}: at ${printStretch(start)}, hands ${formatDuration(hands)}, wait ${formatDuration(wait.usual)}, words ${formatDuration(speech)}`;
          const flip = x(start) > wide * 0.6;
          return (
            // biome-ignore lint/suspicious/noArrayIndexKey: scenes are their places
            <g key={index}>
              <title>{label}</title>
              <rect x={x(start)} y={y} width={Math.max(1, x(from) - x(start))} height={14} className="plan-hands" />
              <rect
                x={x(from)}
                y={y}
                width={Math.max(0, x(from + wait.usual) - x(from))}
                height={14}
                className="plan-wait"
              />
              <rect
                x={x(from + filled)}
                y={y}
                width={Math.max(0, x(from + filled + silent) - x(from + filled))}
                height={14}
                className="plan-silent"
              />
              <rect
                x={x(from)}
                y={y + 15}
                width={Math.max(0, x(from + speech) - x(from))}
                height={5}
                className="plan-words"
              />
              <text
                x={flip ? x(start) - 6 : x(start) + 4}
                y={y + 31}
                className="plan-name"
                textAnchor={flip ? "end" : "start"}
              >
                {scene.name}
              </text>
            </g>
          );
        })}
      </svg>
      <ul className="plan-key">
        <li className="is-hands">hands and keys</li>
        <li className="is-wait">wait, with words</li>
        <li className="is-silent">wait without words</li>
        <li className="is-words">words</li>
      </ul>
    </div>
  );
}

/** How long it lasts, and when to start. */
export function PlanTotals({ told: { plan, ends, spare } }: { told: PlanTold }) {
  const { length, known, missing, latest } = plan;
  const day =
    latest && latest.daysBefore > 0
      ? latest.daysBefore === 1
        ? " the day before"
        : ` ${latest.daysBefore} days before`
      : "";
  return (
    <div className="plan-totals">
      <p data-testid="length">
        It lasts {known ? "" : "at least "}
        <strong>{printStretch(length.usual)}</strong>
        {printStretch(length.low) !== printStretch(length.high) &&
          ` (${printStretch(length.low)} to ${printStretch(length.high)})`}
        .
      </p>
      {latest && ends !== null && (
        <p data-testid="latest">
          Start at <strong>{latest.clock}</strong>
          {day} at the latest, to end by {printClock(ends).clock}
          {spare > 0 && ` with ${formatDuration(spare)} to spare`}.
        </p>
      )}
      {!known && <p>○ That is without what is not known: {missing.join(", ")}.</p>}
    </div>
  );
}
