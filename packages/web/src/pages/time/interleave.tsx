import type { InterleaveAnswer } from "@rouse/core/timing";
import { Curve } from "../../parts/curve.tsx";
import { listed } from "../../parts/words.ts";

const rate = (bytes: number): string => `${Math.round(bytes).toLocaleString("en-GB")} bytes a second`;

function sentenceOf({ now, interleave, skew, bytesPerSecond }: InterleaveAnswer): string {
  if (now.interleave === interleave && now.skew === skew)
    return `The bench's own interleave ${interleave} and skew ${skew} are the best there are: ${rate(bytesPerSecond)}.`;
  return `Interleave ${interleave} with skew ${skew} reads tracks in a row at ${rate(bytesPerSecond)}. The bench's own, ${now.interleave} and ${now.skew}, gives ${rate(now.bytesPerSecond)}.`;
}

/** How fast tracks in a row are read at every interleave and skew. */
export function Interleave({
  answer,
  now,
  onTry,
}: {
  answer: InterleaveAnswer;
  /** What is tried or on the bench now. */
  now: { interleave: number; skew: number };
  onTry: (interleave: number, skew: number) => void;
}) {
  const { interleave, skew } = answer;
  const points = (curve: InterleaveAnswer["interleaves"]) =>
    curve.map(({ step, bytesPerSecond }) => ({ x: step, y: bytesPerSecond }));
  return (
    <section className="panel" aria-labelledby="interleave-title">
      <h2 id="interleave-title">The best interleave</h2>
      <p data-testid="best-interleave">
        {sentenceOf(answer)}
        {!answer.known &&
          ` That is as far as it can be told without ${listed(answer.missing.map(({ label }) => label))}.`}
      </p>
      <div className="plots">
        <Curve
          title="Over the interleave, without skew"
          about={`Bytes a second at each interleave from 1 to ${answer.interleaves.length}; most at ${interleave}.`}
          points={points(answer.interleaves)}
          xUnit="interleave"
          yUnit="bytes a second"
          yFrom={0}
          marks={[{ x: interleave, name: `best: ${interleave}` }]}
          dots
        />
        <Curve
          title={`Over the skew, at interleave ${interleave}`}
          about={`Bytes a second at each skew from 0 to ${answer.skews.length - 1}; most at ${skew}.`}
          points={points(answer.skews)}
          xUnit="skew"
          yUnit="bytes a second"
          yFrom={0}
          marks={[{ x: skew, name: `best: ${skew}` }]}
          dots
        />
      </div>
      <button
        type="button"
        className="button is-quiet"
        disabled={now.interleave === interleave && now.skew === skew}
        onClick={() => onTry(interleave, skew)}
      >
        Try these
      </button>
    </section>
  );
}
