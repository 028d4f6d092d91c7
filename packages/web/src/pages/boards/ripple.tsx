import type { RailState } from "@rouse/core/board";
import { formatValue } from "@rouse/core/quantity";
import { useRef } from "react";
import { useWidth } from "../../parts/use-width.ts";

const HEIGHT = 150;
const TOP = 12;
const BASE = HEIGHT - 26;
const PERIODS = 3;

const volts = (value: number): string => formatValue(value, "voltage", 3);

/** The filter capacitor's voltage over three periods: from peak to peak it feeds the regulator alone. */
export function Ripple({ ripple: { peak, valley, period, needed } }: { ripple: NonNullable<RailState["ripple"]> }) {
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const left = 62;
  const low = Math.min(valley, needed ?? valley);
  const bottom = Math.max(0, low - (peak - low) * 0.5 - 0.3);
  const x = (seconds: number): number => left + (seconds / (period * PERIODS)) * (width - left - 8);
  const y = (value: number): number =>
    BASE - ((Math.max(bottom, value) - bottom) / (peak * 1.02 - bottom || 1)) * (BASE - TOP);
  // The rectified mains, where it is within the drawing, and the capacitor that falls from each peak to the next.
  const steps = 240;
  let isDrawn = false;
  const waves = Array.from({ length: steps + 1 }, (_, k) => {
    const seconds = (k / steps) * period * PERIODS;
    const value = peak * Math.abs(Math.cos((Math.PI * seconds) / period));
    const wasDrawn = isDrawn;
    isDrawn = value >= bottom;
    return isDrawn ? `${wasDrawn ? "L" : "M"}${x(seconds).toFixed(1)} ${y(value).toFixed(1)}` : "";
  }).join("");
  const saw = Array.from(
    { length: PERIODS },
    (_, k) => `${k === 0 ? `M${x(0)} ${y(peak)}` : ""}L${x((k + 1) * period)} ${y(valley)}V${y(peak)}`,
  ).join("");
  const about = `The voltage falls from ${volts(peak)} to ${volts(valley)} in ${formatValue(period, "time", 3)}${needed === undefined ? "" : `; the regulator needs ${volts(needed)}`}.`;
  const labels = [
    { at: peak, words: volts(peak) },
    { at: valley, words: volts(valley) },
  ];
  return (
    <div ref={place} className="b-drawing">
      <svg width={width} height={HEIGHT} role="img" aria-label={about}>
        <path className="b-wave" d={waves} />
        <path className="b-saw" d={saw} />
        {labels.map(({ at, words }) => (
          <g key={words}>
            <path className="b-grid" d={`M${left} ${y(at)}H${width - 8}`} />
            <text x={left - 6} y={y(at) + 4} textAnchor="end">
              {words}
            </text>
          </g>
        ))}
        {needed !== undefined && (
          <g className="b-limit">
            <path d={`M${left} ${y(needed)}H${width - 8}`} />
            <text x={width - 10} y={y(needed) + 14} textAnchor="end">
              needed {volts(needed)}
            </text>
          </g>
        )}
        <text x={left} y={HEIGHT - 6}>
          {formatValue(period, "time", 3)} from peak to peak
        </text>
      </svg>
    </div>
  );
}
