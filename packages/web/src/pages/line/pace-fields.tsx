import type { PaceWish } from "./pace.ts";
import type { BenchEnd, Settings } from "./types.ts";

const ENDS: readonly (readonly [PaceWish["end"], string])[] = [
  ["cr", "CR, as a keyboard sends"],
  ["lf", "LF"],
  ["crlf", "CR LF"],
  ["keep", "as it is"],
];

/** How fast text goes out: the line's own speed where nothing is said. */
export function PaceFields({
  pace,
  onPace,
  ends,
  settings,
}: {
  pace: PaceWish;
  onPace: (pace: PaceWish) => void;
  ends: readonly BenchEnd[];
  settings: Settings | undefined;
}) {
  const known = ends.filter((each) => each.pace !== null && each.rate === settings?.rate);
  const set = (change: Partial<PaceWish>): void => onPace({ ...pace, ...change });
  return (
    <>
      <div className="fields">
        <label className="field">
          <span>From character to character, ms</span>
          <input
            value={pace.character}
            onChange={(event) => set({ character: event.target.value })}
            inputMode="decimal"
            placeholder="as the line carries"
          />
        </label>
        <label className="field">
          <span>After each line, ms</span>
          <input
            value={pace.line}
            onChange={(event) => set({ line: event.target.value })}
            inputMode="decimal"
            placeholder="0"
          />
        </label>
        <label className="field">
          <span>Each line ends with</span>
          <select value={pace.end} onChange={(event) => set({ end: event.target.value as PaceWish["end"] })}>
            {ENDS.map(([value, words]) => (
              <option key={value} value={value}>
                {words}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          <span>Then wait for this character</span>
          <input
            value={pace.prompt}
            onChange={(event) => set({ prompt: event.target.value })}
            maxLength={1}
            placeholder="none"
          />
        </label>
      </div>
      {known.map(({ name, pace: safe }) => (
        <p key={name} className="quiet">
          {name} is away for so long that it loses nothing only at {safe!.character} ms a character.{" "}
          <button
            type="button"
            className="button is-quiet"
            onClick={() => set({ character: String(safe!.character), line: String(safe!.line) })}
          >
            Take that pace
          </button>
        </p>
      ))}
    </>
  );
}
