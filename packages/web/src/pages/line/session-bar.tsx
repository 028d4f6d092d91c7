import { useState } from "react";
import { Switch } from "react-aria-components";
import { sentenceOf } from "../../job/api.ts";
import { counted } from "../../parts/words.ts";
import { act } from "./act.ts";
import type { Habits } from "./habits.ts";
import type { Seat } from "./types.ts";

const STATES: Readonly<Record<Seat["state"], string>> = {
  open: "open",
  lost: "not plugged in; it is opened again when it is back",
  closed: "closed",
};

const INCOMING = [
  ["cts", "CTS", "clear to send"],
  ["dsr", "DSR", "data set ready"],
  ["dcd", "DCD", "carrier detected"],
] as const;
const OUTGOING = [
  ["dtr", "DTR", "data terminal ready"],
  ["rts", "RTS", "request to send"],
] as const;

/** How long a break lasts, ms. More than a frame at 110 bit/s is the least that any receiver knows as one. */
const BREAKS = [150, 250, 500, 1000] as const;

const VIEWS: readonly (readonly [Habits["view"], string])[] = [
  ["text", "Text"],
  ["hex", "Hex"],
  ["both", "Both"],
];

/** The state of the session, and what is done to the line itself. */
export function SessionBar({
  seat,
  habits,
  onHabits,
  onProblem,
  missed,
}: {
  seat: Seat;
  habits: Habits;
  onHabits: (change: Partial<Habits>) => void;
  onProblem: (sentence: string | null) => void;
  /** Bytes that this page could not be told any more. */
  missed: number;
}) {
  const [length, setLength] = useState<number>(250);
  const { port, state, settings } = seat;
  const isOpen = state === "open";
  const told = (what: string, body: object): void => {
    onProblem(null);
    act(what, { port, ...body }).catch((error: unknown) => onProblem(sentenceOf(error)));
  };
  return (
    <section className="panel line-bar" aria-label="The session">
      <div className="line-bar-head">
        <h2>{port}</h2>
        <p className={`line-state is-${state}`} role="status">
          {STATES[state]}
        </p>
        <p>
          {settings && `${settings.rate.toLocaleString("en-GB")} bit/s, ${settings.frame}`}
          {settings && settings.flow !== "none" && `, flow control by ${settings.flow}`}
        </p>
        <button type="button" className="button is-quiet" onClick={() => told("close", {})}>
          Close the port
        </button>
      </div>
      <div className="line-bar-row">
        {INCOMING.map(([name, short, long]) => (
          <span key={name} className={`line-lamp ${seat.in?.[name] ? "is-on" : ""}`} title={long}>
            <span aria-hidden="true">{seat.in?.[name] ? "●" : "○"}</span> {short}{" "}
            <span className="quiet">{seat.in === null ? "not shown" : seat.in[name] ? "on" : "off"}</span>
          </span>
        ))}
        {OUTGOING.map(([name, short, long]) => (
          <Switch
            key={name}
            className="switch"
            isSelected={seat.out[name]}
            isDisabled={!isOpen}
            onChange={(on) => told("lines", { [name]: on })}
            aria-label={`${short}, ${long}`}
          >
            <span className="switch-track" />
            {short}
          </Switch>
        ))}
        <span className="line-break">
          <button
            type="button"
            className="button is-quiet"
            disabled={!isOpen}
            onClick={() => told("break", { ms: length })}
          >
            Send break
          </button>
          <label>
            <span className="sr-only">How long the break lasts</span>
            <select value={length} onChange={(event) => setLength(Number(event.target.value))}>
              {BREAKS.map((each) => (
                <option key={each} value={each}>
                  {each} ms
                </option>
              ))}
            </select>
          </label>
        </span>
      </div>
      <div className="line-bar-row">
        <fieldset className="line-views">
          <legend className="sr-only">What is shown</legend>
          {VIEWS.map(([view, words]) => (
            <label key={view}>
              <input type="radio" name="line-view" checked={habits.view === view} onChange={() => onHabits({ view })} />
              <span>{words}</span>
            </label>
          ))}
        </fieldset>
        <label className="tick">
          <input type="checkbox" checked={habits.echo} onChange={(event) => onHabits({ echo: event.target.checked })} />
          <span>Local echo</span>
        </label>
        <p className="quiet" data-testid="counts">
          {counted(seat.received, "byte")} in, {counted(seat.sent, "byte")} out
          {seat.windows > 1 && `; ${seat.windows} windows look at it`}
        </p>
        <p className="quiet line-capture">
          {seat.capture ? (
            seat.capture.problem ? (
              <strong>
                {seat.capture.name}: {seat.capture.problem}
              </strong>
            ) : (
              `Kept in ${seat.capture.name}`
            )
          ) : (
            "No capture is kept."
          )}
        </p>
      </div>
      {missed > 0 && (
        <p className="quiet">
          {counted(missed, "byte")} passed while this page was away, for longer than the workbench keeps them; the
          capture has them.
        </p>
      )}
    </section>
  );
}
