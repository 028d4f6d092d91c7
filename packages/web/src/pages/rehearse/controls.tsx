import { inSeconds } from "../../parts/seconds.ts";
import { machine } from "./machine.ts";
import type { Frame, Pause } from "./types.ts";

const WHY: Readonly<Record<Pause, string>> = {
  pause: "Paused",
  breakpoint: "Stopped before a breakpoint",
  stopped: "The CPU met an opcode without a meaning",
};

/** Speed of the machine in words: 0.98 ×, 37 ×. */
const paceInWords = (speed: number): string =>
  `${speed < 9.95 ? speed.toFixed(speed < 2 ? 2 : 1) : Math.round(speed).toLocaleString("en-GB")} ×`;

/** The machine's clock and the buttons that hold it, let it go and bring it back to a moment. */
export function Controls({
  frame,
  fast,
  onAnew,
  onOff,
}: {
  frame: Frame;
  fast: boolean;
  onAnew: () => void;
  onOff: () => void;
}) {
  const { pause, speed, state, moments } = frame;
  return (
    <section className="panel rehearse-controls" aria-label="The clock">
      <div className="rehearse-clock">
        <p>
          <span className="over">since power-on</span>
          <output data-testid="clock">{state.seconds.toFixed(2)} s</output>
        </p>
        <p>
          <span className="over">speed</span>
          <output data-testid="speed">
            {pause === null ? (speed === null ? (fast ? "measuring" : "1 ×") : paceInWords(speed)) : "—"}
          </output>
        </p>
        <p className="rehearse-why" role="status">
          {pause === null ? (fast ? "Runs as fast as it goes" : "Runs at true speed") : WHY[pause]}
          {state.condition === "waits" && pause === null ? "; the CPU waits" : ""}
        </p>
      </div>
      <div className="buttons">
        {pause === null ? (
          <button type="button" className="button" onClick={() => machine.ask({ kind: "pause" })}>
            Pause
          </button>
        ) : (
          <button
            type="button"
            className="button"
            disabled={pause === "stopped"}
            onClick={() => machine.ask({ kind: "go" })}
          >
            Go on
          </button>
        )}
        <button
          type="button"
          className="button is-quiet"
          disabled={pause === "stopped"}
          onClick={() => machine.ask({ kind: "step" })}
        >
          Step
        </button>
        <fieldset className="pace">
          <legend className="sr-only">Speed</legend>
          {([false, true] as const).map((each) => (
            <label key={String(each)}>
              <input
                type="radio"
                name="pace"
                checked={fast === each}
                onChange={() => machine.ask({ kind: "pace", fast: each })}
              />
              {each ? "As fast as it goes" : "True speed"}
            </label>
          ))}
        </fieldset>
        <button type="button" className="button is-quiet" onClick={() => machine.ask({ kind: "keep" })}>
          Keep this moment
        </button>
        <button type="button" className="button is-quiet" onClick={onAnew}>
          Off and on again
        </button>
        <button type="button" className="button is-quiet" onClick={onOff}>
          Switch off
        </button>
      </div>
      {moments.length > 0 && (
        <ul className="chips-list" aria-label="Moments that are kept">
          {moments.map(({ id, seconds }) => (
            <li key={id}>
              <button
                type="button"
                className="button is-quiet"
                onClick={() => machine.ask({ kind: "back", moment: id })}
              >
                Back to {inSeconds(Math.round(seconds * 100) / 100)}
              </button>
              <button
                type="button"
                className="button is-quiet is-square"
                aria-label={`Drop the moment at ${seconds.toFixed(2)} s`}
                onClick={() => machine.ask({ kind: "drop", moment: id })}
              >
                ×
              </button>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
