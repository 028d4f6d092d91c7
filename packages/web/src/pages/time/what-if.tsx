import type { TimingAnswer } from "@rouse/core/timing";
import type { Tried } from "./types.ts";

/** Usual rates of lines, in bits a second: common practice, no source. */
const RATES = [110, 150, 300, 600, 1200, 1800, 2400, 4800, 9600, 19_200];

const nearestRate = (rate: number): number =>
  RATES.reduce((best, each, index) => (Math.abs(each - rate) < Math.abs(RATES[best]! - rate) ? index : best), 0);

/** Sliders for what a person could change; the time is worked out anew at every move. */
export function WhatIf({
  parameters,
  tried,
  mostInterleave,
  onTry,
}: {
  parameters: TimingAnswer["parameters"];
  tried: Tried;
  mostInterleave: number;
  onTry: (tried: Tried) => void;
}) {
  const now = (id: keyof Tried): number | undefined => tried[id] ?? parameters.find((each) => each.id === id)?.value;
  const slider = (
    id: keyof Tried,
    name: string,
    text: (value: number) => string,
    scale: { from: number; to: number; step: number; show(value: number): number; take(shown: number): number },
    otherwise: number,
  ) => {
    const value = now(id);
    const words = value === undefined ? "not known" : text(value);
    return (
      <label key={id} className="field">
        <span>{name}</span>
        <strong>{words}</strong>
        <input
          type="range"
          min={scale.from}
          max={scale.to}
          step={scale.step}
          value={scale.show(value ?? otherwise)}
          aria-valuetext={words}
          onChange={(event) => onTry({ ...tried, [id]: scale.take(Number(event.target.value)) })}
        />
      </label>
    );
  };
  const same = { step: 1, show: (value: number) => value, take: (value: number) => value };
  const turns = {
    from: 280,
    to: 380,
    step: 0.5,
    show: (value: number) => value * 60,
    take: (value: number) => value / 60,
  };
  const rates = { from: 0, to: RATES.length - 1, step: 1, show: nearestRate, take: (value: number) => RATES[value]! };
  return (
    <section className="panel" aria-labelledby="what-if-title">
      <h2 id="what-if-title">What if</h2>
      <div className="fields">
        {slider("interleave", "Interleave", String, { ...same, from: 1, to: mostInterleave }, 1)}
        {slider("skew", "Skew from track to track", String, { ...same, from: 0, to: mostInterleave }, 0)}
        {slider("rotation", "Speed of the disk", (value) => `${(value * 60).toFixed(1)} turns a minute`, turns, 5)}
        {slider(
          "lineRate",
          "Rate of the line",
          (value) => `${Math.round(value).toLocaleString("en-GB")} bit/s`,
          rates,
          2400,
        )}
      </div>
      <button
        type="button"
        className="button is-quiet"
        disabled={Object.keys(tried).length === 0}
        onClick={() => onTry({})}
      >
        Back to the bench
      </button>
    </section>
  );
}
