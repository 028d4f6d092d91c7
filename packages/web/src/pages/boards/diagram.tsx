import { formatValue } from "@rouse/core/quantity";
import { useId, useRef } from "react";
import { roundPlaces } from "../../parts/canvas.ts";
import { useWidth } from "../../parts/use-width.ts";
import { marginOf, outline, piecesOf } from "./diagram-model.ts";
import type { TimedRead } from "./types.ts";

const TRACE = 20;
const NARROW = 620;
const HEAD = 26;

const time = (seconds: number): string => `${seconds < 0 ? "−" : ""}${formatValue(Math.abs(seconds), "time", 3)}`;

/** A read as a timing diagram: the signals above, every delay with its part below, the margin across both. */
export function Diagram({ read }: { read: TimedRead }) {
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const hatch = useId();
  const isNarrow = width < NARROW;
  const left = isNarrow ? 4 : Math.min(290, width * 0.32);
  const words = isNarrow ? 16 : 0;
  const { traces, spans, window, margin, strobe } = read;
  const end = Math.max(window, ...spans.map(({ to }) => to)) * 1.03;
  const x = (seconds: number): number => left + (seconds / end) * (width - left - 8);
  const row = TRACE + words + 14;
  const spanRow = isNarrow ? 34 : 22;
  const tracesEnd = HEAD + traces.length * row + 8;
  const height = tracesEnd + spans.length * spanRow + 30;
  const { there, needed } = marginOf(spans);
  const [early, late] = margin < 0 ? [needed, there] : [there, needed];
  const about = `${read.name}, ${time(window)} a read. ${spans
    .map((each) => `${each.what}${each.added ? " (added)" : ""} from ${time(each.from)} to ${time(each.to)}`)
    .join("; ")}. ${margin < 0 ? `${time(-margin)} too late` : `${time(margin)} left`}.`;
  const marginX = (x(early) + x(late)) / 2;

  return (
    <div ref={place} className="b-drawing">
      <svg width={width} height={height} role="img" aria-label={about}>
        <defs>
          <pattern id={hatch} width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
            <path className="b-hatch" d="M0 0V6" />
          </pattern>
        </defs>
        <rect
          className={`b-margin${margin < 0 ? " is-late" : ""}`}
          x={x(early)}
          y={HEAD - 6}
          width={Math.max(1, x(late) - x(early))}
          height={height - HEAD - 18}
        />
        <text className="b-margin-words" x={Math.min(marginX, width - 44)} y={HEAD - 11} textAnchor="middle">
          {margin < 0 ? `${time(-margin)} too late` : `${time(margin)} left`}
        </text>
        {traces.map((trace, index) => {
          const top = HEAD + index * row + words;
          return (
            <g key={trace.signal} className="b-trace">
              <text x={isNarrow ? left : 0} y={isNarrow ? top - 4 : top + TRACE - 5}>
                {trace.signal}
              </text>
              {piecesOf(trace, end).map((piece) => (
                <path
                  key={piece.from}
                  className={`b-piece is-${piece.state}`}
                  d={outline(piece, x, top, top + TRACE)}
                  fill={piece.state === "changing" ? `url(#${hatch})` : "none"}
                />
              ))}
            </g>
          );
        })}
        {strobe && x(strobe.at) < width && (
          <g className={`b-strobe${strobe.margin < 0 ? " is-late" : ""}`}>
            <path d={`M${x(strobe.at)} ${HEAD - 4}V${height - 24}`} />
            <text x={x(strobe.at) - 4} y={tracesEnd - 2} textAnchor="end">
              row strobe
            </text>
          </g>
        )}
        <path className="b-take" d={`M${x(window)} ${HEAD - 4}V${height - 24}`} />
        {spans.map((span, index) => {
          const top = tracesEnd + index * spanRow + (isNarrow ? 15 : 3);
          const label = `${span.what}${span.added ? " (added)" : ""}`;
          const wide = Math.max(1.5, x(span.to) - x(span.from));
          const number = time(span.to - span.from);
          const isRight = x(span.to) + 58 < width;
          return (
            <g key={`${span.what} ${span.from}`} className={`b-span is-${span.kind}${span.added ? " is-added" : ""}`}>
              <title>
                {label}: {number}
                {span.source ? `, ${span.source.title}` : ""}
                {span.note ? `; ${span.note}` : ""}
              </title>
              <text x={isNarrow ? left : 0} y={isNarrow ? top - 3 : top + 12}>
                {cut(label, isNarrow ? width - 70 : left - 8)}
              </text>
              <rect x={x(span.from)} y={top} width={wide} height={15} rx={2} />
              <text
                className="b-number"
                x={isRight ? x(span.to) + 5 : x(span.from) - 5}
                y={top + 12}
                textAnchor={isRight ? "start" : "end"}
              >
                {number}
              </text>
            </g>
          );
        })}
        <g className="b-axis">
          <path className="b-axis-line" d={`M${left} ${height - 24}H${width - 8}`} />
          {roundPlaces(0, end * 1e9, isNarrow ? 4 : 8).map((place) => (
            <g key={place}>
              <path className="b-axis-line" d={`M${x(place * 1e-9)} ${height - 24}v5`} />
              <text x={x(place * 1e-9)} y={height - 7} textAnchor={place === 0 ? "start" : "middle"}>
                {place} ns
              </text>
            </g>
          ))}
        </g>
      </svg>
    </div>
  );
}

/** Text cut to a width, at about 6.2 px a character. */
function cut(text: string, width: number): string {
  const most = Math.floor(width / 6.2);
  return text.length <= most ? text : `${text.slice(0, Math.max(1, most - 1))}…`;
}
