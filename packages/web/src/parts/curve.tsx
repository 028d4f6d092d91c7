import { roundPlaces } from "./canvas.ts";

const WIDTH = 480;
const HEIGHT = 192;
const LEFT = 50;
const RIGHT = 12;
const TOP = 12;
const BASE = 150;

/** A line through points over two axes. */
export function Curve({
  title,
  about,
  points,
  xUnit,
  yUnit,
  yFrom = Number.POSITIVE_INFINITY,
  yTo = Number.NEGATIVE_INFINITY,
  marks = [],
  dots = false,
}: {
  title: string;
  /** What it shows, in one sentence, for those who don't see it. */
  about: string;
  points: readonly { x: number; y: number }[];
  xUnit: string;
  yUnit: string;
  /** A range of y that is shown in any case. */
  yFrom?: number;
  yTo?: number;
  marks?: readonly { x: number; name: string }[];
  dots?: boolean;
}) {
  const xs = points.map(({ x }) => x);
  const ys = points.map(({ y }) => y);
  const [left, right] = [Math.min(...xs), Math.max(...xs)];
  const [low, high] = [Math.min(...ys, yFrom), Math.max(...ys, yTo)];
  const px = (x: number): number => LEFT + ((x - left) / (right - left || 1)) * (WIDTH - LEFT - RIGHT);
  const py = (y: number): number => BASE - ((y - low) / (high - low || 1)) * (BASE - TOP);
  return (
    <figure className="plot">
      <figcaption>{title}</figcaption>
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={about}>
        {roundPlaces(low, high, 5).map((y) => (
          <g key={y}>
            <path className="plot-grid" d={`M${LEFT} ${py(y)}H${WIDTH - RIGHT}`} />
            <text x={LEFT - 6} y={py(y) + 4} textAnchor="end">
              {Number(y.toPrecision(6)).toLocaleString("en-GB").replace("-", "−")}
            </text>
          </g>
        ))}
        {marks.map(({ x, name }) => (
          <g key={name} className="plot-mark">
            <path d={`M${px(x)} ${TOP}V${BASE}`} />
            <text
              x={px(x) + (px(x) > WIDTH / 2 ? -6 : 6)}
              y={BASE - 8}
              textAnchor={px(x) > WIDTH / 2 ? "end" : "start"}
            >
              {name}
            </text>
          </g>
        ))}
        <path
          className="plot-line"
          d={points.map(({ x, y }, k) => `${k === 0 ? "M" : "L"}${px(x).toFixed(1)} ${py(y).toFixed(1)}`).join("")}
        />
        {dots && points.map(({ x, y }) => <circle key={x} className="plot-dot" cx={px(x)} cy={py(y)} r="3" />)}
        <path className="plot-axis" d={`M${LEFT} ${BASE}H${WIDTH - RIGHT}`} />
        {roundPlaces(left, right, 8).map((x) => (
          <text key={x} x={px(x)} y={BASE + 17} textAnchor="middle">
            {Number(x.toPrecision(6))}
          </text>
        ))}
        <text x={WIDTH - RIGHT} y={HEIGHT - 5} textAnchor="end">
          {xUnit}
        </text>
        <text x={2} y={HEIGHT - 5}>
          {yUnit}
        </text>
      </svg>
    </figure>
  );
}
