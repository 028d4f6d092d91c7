import { roundPlaces } from "./canvas.ts";

const WIDTH = 480;
const HEIGHT = 172;
const LEFT = 8;
const BASE = 132;
const TOP = 22;

/** A row of bars over an axis. */
export function Bars({
  title,
  about,
  values,
  from,
  to,
  unit,
  marks = [],
}: {
  title: string;
  /** What it shows, in one sentence, for those who don't see it. */
  about: string;
  values: readonly number[];
  /** Ends of the axis: the left edge of the first bar and the right edge of the last. */
  from: number;
  to: number;
  unit: string;
  /** Places on the axis that are marked by a line, with a word. */
  marks?: readonly { at: number; name: string }[];
}) {
  const most = Math.max(1, ...values);
  const x = (value: number): number => LEFT + ((value - from) / (to - from)) * (WIDTH - 2 * LEFT);
  const wide = (WIDTH - 2 * LEFT) / values.length;
  const bar = (value: number, index: number): string =>
    value > 0
      ? `M${(LEFT + index * wide).toFixed(2)} ${BASE}v${-Math.max(0.8, (value / most) * (BASE - TOP)).toFixed(2)}h${Math.max(0.6, wide - 0.8).toFixed(2)}V${BASE}z`
      : "";
  return (
    <figure className="plot">
      <figcaption>{title}</figcaption>
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={about}>
        {marks.map(({ at, name }) => (
          <g key={name} className="plot-mark">
            <path d={`M${x(at)} ${TOP - 4}V${BASE}`} />
            <text x={x(at)} y={TOP - 9} textAnchor="middle">
              {name}
            </text>
          </g>
        ))}
        <path className="plot-bars" d={values.map(bar).join("")} />
        <path className="plot-axis" d={`M${LEFT} ${BASE}H${WIDTH - LEFT}`} />
        {roundPlaces(from, to, 8).map((place) => (
          <g key={place}>
            <path className="plot-axis" d={`M${x(place)} ${BASE}v5`} />
            <text x={x(place)} y={BASE + 19} textAnchor="middle">
              {Number(place.toPrecision(6))}
            </text>
          </g>
        ))}
        <text x={WIDTH - LEFT} y={HEIGHT - 3} textAnchor="end">
          {unit}
        </text>
      </svg>
    </figure>
  );
}
