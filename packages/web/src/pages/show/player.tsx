import { countTo } from "@rouse/core/show";
import { printStretch } from "@rouse/core/show/clock";
import { type KeyboardEvent, useEffect, useMemo, useRef, useState } from "react";
import { onKeys } from "../../parts/on-keys.ts";
import { askNewest, pacingOf } from "./playing.ts";
import type { Session, Shown } from "./types.ts";

const SPEEDS = [1, 2, 4, 8, 16];
const WAITS = [1, 2, 5, 10];
/** Seconds that an arrow key goes. */
const STEP = 5;
/** Aspects of a rendition (ECMA-48, SGR), by bit. */
const ASPECTS = [1, 2, 4, 8, 32, 64, 128];

export interface Pace {
  speed: number;
  longestWait: number | null;
}

/** Plays a session: at true speed, faster, or with waits cut; goes anywhere in it. */
export function Player({
  session,
  screenAt,
  pace,
  onPace,
  onMoment,
  onProblem,
}: {
  session: Session;
  /** The screen of a moment of the session. */
  screenAt: (seconds: number) => Promise<Shown>;
  pace: Pace;
  onPace: (pace: Pace) => void;
  /** Told where it stands, in seconds of the capture, when it rests. */
  onMoment: (seconds: number) => void;
  onProblem: (error: unknown) => void;
}) {
  const { times, columns } = session;
  const pacing = useMemo(() => pacingOf(times, pace.longestWait), [times, pace.longestWait]);
  /** Seconds of the capture. */
  const [at, setAt] = useState(0);
  const [isPlaying, setPlaying] = useState(false);
  const moment = useRef(at);
  moment.current = at;

  useEffect(() => {
    if (!isPlaying) return;
    let begun = performance.now();
    let played = pacing.played(moment.current);
    let frame = requestAnimationFrame(function go(time: number) {
      played += (Math.max(0, time - begun) / 1000) * pace.speed;
      begun = time;
      setAt(pacing.captured(Math.min(played, pacing.length)));
      if (played >= pacing.length) setPlaying(false);
      else frame = requestAnimationFrame(go);
    });
    return () => cancelAnimationFrame(frame);
  }, [isPlaying, pacing, pace.speed]);
  useEffect(() => {
    if (!isPlaying) onMoment(moment.current);
  }, [isPlaying, onMoment]);

  const played = pacing.played(at);
  const goTo = (seconds: number): void => {
    const next = pacing.captured(Math.min(pacing.length, Math.max(0, seconds)));
    moment.current = next;
    setAt(next);
    onMoment(next);
    // While it plays it goes on from there.
    if (isPlaying) {
      setPlaying(false);
      requestAnimationFrame(() => setPlaying(true));
    }
  };
  const toggle = (): void => {
    if (!isPlaying && played >= pacing.length) goTo(0);
    setPlaying(!isPlaying);
  };
  const keys = (event: KeyboardEvent): void => {
    if (event.target instanceof HTMLElement && event.target.closest("select,input,button")) return;
    onKeys(event, [
      [" ", toggle],
      ["ArrowLeft", () => goTo(played - STEP)],
      ["ArrowRight", () => goTo(played + STEP)],
      ["Home", () => goTo(0)],
      ["End", () => goTo(pacing.length)],
    ]);
  };
  const [shown, setShown] = useState(session.first);
  const want = useMemo(() => askNewest(screenAt, setShown, onProblem), [screenAt, onProblem]);
  const came = countTo(times, at);
  useEffect(() => want(came === 0 ? -1 : times[came - 1]!), [want, times, came]);
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset would be read as a form
    <div className="player" role="group" aria-label="The session" onKeyDown={keys}>
      <ScreenText shown={shown} columns={columns} />
      <div className="player-keys">
        <button type="button" className="button is-play" onClick={toggle} disabled={pacing.length === 0}>
          {isPlaying ? "Pause" : "Play"}
        </button>
        <label className="player-place">
          <span className="sr-only">Place</span>
          <input
            type="range"
            min={0}
            max={Math.max(pacing.length, 0.001)}
            step="any"
            value={played}
            aria-valuetext={`${printStretch(played)} of ${printStretch(pacing.length)}`}
            onChange={(event) => goTo(Number(event.target.value))}
          />
        </label>
        <output data-testid="player-time">
          {printStretch(played)} of {printStretch(pacing.length)}
        </output>
        <label className="field">
          <span>Speed</span>
          <select value={pace.speed} onChange={(event) => onPace({ ...pace, speed: Number(event.target.value) })}>
            {SPEEDS.map((each) => (
              <option key={each} value={each}>
                {each === 1 ? "true" : `${each} times`}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          <span>Longest wait</span>
          <select
            value={pace.longestWait ?? ""}
            onChange={(event) =>
              onPace({ ...pace, longestWait: event.target.value === "" ? null : Number(event.target.value) })
            }
          >
            <option value="">as it was</option>
            {WAITS.map((each) => (
              <option key={each} value={each}>
                {each} s
              </option>
            ))}
          </select>
        </label>
      </div>
    </div>
  );
}

/** The screen as text that can be selected; a focusable picture for those who use keys. */
function ScreenText({ shown: { rows, cursor }, columns }: { shown: Shown; columns: number }) {
  return (
    <pre
      className="player-screen"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, and its keys play
      tabIndex={0}
      aria-label="The terminal's screen. Space plays, arrows go back and forth."
      role="img"
      data-testid="player-screen"
      style={{ minWidth: 0, "--columns": columns } as React.CSSProperties}
    >
      {rows.map((runs, row) => {
        const at = cursor[0] === row ? cursor[1] : -1;
        return (
          // biome-ignore lint/suspicious/noArrayIndexKey: rows of a screen are their places
          <div key={row} className="player-row">
            {runs.map(([text, rendition], index) => (
              <span
                // biome-ignore lint/suspicious/noArrayIndexKey: stretches of a row are their places
                key={index}
                className={ASPECTS.filter((each) => (rendition & each) !== 0)
                  .map((each) => `r${each}`)
                  .join(" ")}
              >
                {text}
              </span>
            ))}
            {at >= 0 && <span className="player-cursor" style={{ left: `${at}ch` }} />}
            {"\n"}
          </div>
        );
      })}
    </pre>
  );
}
