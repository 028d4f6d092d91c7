import { printClock, printStretch } from "@rouse/core/show/clock";
import { useEffect, useRef, useState } from "react";
import { type Connection, followSocket } from "../../job/live.ts";
import { Loading } from "../../parts/states.tsx";
import { ATSTART, type Course, clockOf, followed, spareAt, stepped } from "./course.ts";
import type { PrompterTold } from "./types.ts";

const SIZE = "rouse-prompter-size";
/** Farther from the end than this, its time of day says nothing; s. */
const FAR = 3 * 3600;
const SIZES = [1, 1.25, 1.5, 1.9, 2.4, 3];
/** What a key, or a presenter's remote control, stands for. */
const KEYS: Readonly<Record<string, 1 | -1>> = {
  ArrowRight: 1,
  ArrowDown: 1,
  PageDown: 1,
  " ": 1,
  Enter: 1,
  ArrowLeft: -1,
  ArrowUp: -1,
  PageUp: -1,
  Backspace: -1,
};

function usePrompter(): { told: PrompterTold | null; connection: Connection; shift: number } {
  const [state, setState] = useState<{ told: PrompterTold | null; shift: number }>({ told: null, shift: 0 });
  const [connection, setConnection] = useState<Connection>("connecting");
  useEffect(
    () =>
      followSocket("show/live", {
        hear: (message) => {
          const told = message as PrompterTold;
          setState({ told, shift: Date.now() - told.now });
        },
        connection: setConnection,
      }),
    [],
  );
  return { ...state, connection };
}

/** Big text for whoever presents: what to do, type and say now, what the machine is waiting for, and the time. */
export default function Prompter() {
  const { told, connection, shift } = usePrompter();
  const [course, setCourse] = useState<Course>(ATSTART);
  const [now, setNow] = useState(() => Date.now());
  const [size, setSize] = useState(() => Number(localStorage.getItem(SIZE) ?? 2));
  const stage = useRef<HTMLElement>(null);
  const plan = told?.plan?.plan;
  const count = plan?.scenes.length ?? 0;

  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), 250);
    return () => clearInterval(timer);
  }, []);
  useEffect(() => {
    if (told) setCourse((before) => followed(before, told.session, shift));
  }, [told, shift]);
  const step = (by: 1 | -1): void => setCourse((before) => stepped(before, by, count, Date.now()));
  useEffect(() => {
    const hear = (event: KeyboardEvent): void => {
      const by = KEYS[event.key];
      if (by === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
      const { target } = event;
      const presses = event.key === " " || event.key === "Enter";
      if (
        target instanceof HTMLElement &&
        target.closest(`[role=dialog],input,select,textarea${presses ? ",button,a" : ""}`)
      )
        return;
      event.preventDefault();
      setCourse((before) => stepped(before, by, count, Date.now()));
    };
    window.addEventListener("keydown", hear);
    return () => window.removeEventListener("keydown", hear);
  }, [count]);
  const resize = (by: 1 | -1): void => {
    const next = Math.min(SIZES.length - 1, Math.max(0, size + by));
    setSize(next);
    localStorage.setItem(SIZE, String(next));
  };

  if (!told) return <Loading what="Asking for the script…" />;
  if (!plan)
    return (
      <section className="prompter" aria-label="Prompter">
        <p className="prompter-problem">{told.problem}</p>
      </section>
    );
  const clock = clockOf(plan, course, now);
  const current = plan.scenes[course.scene];
  const next = plan.scenes[course.scene + 1];
  const ends = told.plan?.ends ?? null;
  return (
    <section
      ref={stage}
      className="prompter"
      aria-label="Prompter"
      style={{ "--size": SIZES[size] ?? 1.5 } as React.CSSProperties}
    >
      <div className="prompter-times">
        <p>
          <span className="prompter-label">Since the start</span>
          <span data-testid="elapsed">{printStretch(clock.elapsed)}</span>
        </p>
        <p className={clock.late > 20 ? "is-late" : ""}>
          <span className="prompter-label">Against the plan</span>
          <span data-testid="late">
            {Math.abs(clock.late) < 5
              ? "on time"
              : `${printStretch(Math.abs(clock.late))} ${clock.late > 0 ? "behind" : "ahead"}`}
          </span>
        </p>
        <p>
          <span className="prompter-label">Left, as planned</span>
          <span data-testid="left">
            {plan.known ? "" : "at least "}
            {printStretch(clock.left)}
          </span>
        </p>
        {ends !== null && <Spare ends={ends} left={clock.left} now={now} />}
      </div>
      <div className="prompter-scene" aria-live="polite">
        <p className="prompter-count">
          {course.scene < count ? `Scene ${course.scene + 1} of ${count}` : "It is over"}
          {course.begun === null && ", not begun"}
        </p>
        <h2>{current ? current.scene.name : plan.title}</h2>
        {current?.scene.do && <p className="prompter-do">{current.scene.do}</p>}
        {current?.scene.type !== undefined && (
          <p className="prompter-type">
            <span className="prompter-label">Type</span>
            <code>{current.scene.type}</code> <span className="prompter-return">then Return</span>
          </p>
        )}
        {current?.scene.say && <p className="prompter-say">{current.scene.say.trim()}</p>}
        {current && current.silence >= 1 && (
          <p className="prompter-silence">
            Up to {printStretch(current.silence)} of the wait are yours to fill; the script has no words for them.
          </p>
        )}
      </div>
      {current && clock.wait && (
        <div className="prompter-wait">
          <p>
            {current.scene.expect !== undefined && (
              <>
                Waiting for <code>{current.scene.expect.trim()}</code>,{" "}
              </>
            )}
            <span data-testid="wait">
              {waitText(clock.wait, course.begun !== null && clock.inScene >= current.hands)}
            </span>
          </p>
          <progress
            value={Math.min(clock.wait.over, clock.wait.usual)}
            max={Math.max(1, clock.wait.usual)}
            aria-label="The wait"
          />
        </div>
      )}
      <p className="prompter-next">{next ? `Next: ${next.scene.name}` : current ? "This is the last scene." : ""}</p>
      <div className="prompter-keys">
        <button type="button" className="button is-quiet" onClick={() => step(-1)} disabled={course.scene === 0}>
          Back
        </button>
        <button type="button" className="button is-next" onClick={() => step(1)} disabled={course.scene >= count}>
          {course.begun === null ? "Begin" : "Next"}
        </button>
      </div>
      <div className="prompter-more">
        <button type="button" className="button is-quiet" aria-label="Smaller text" onClick={() => resize(-1)}>
          A−
        </button>
        <button type="button" className="button is-quiet" aria-label="Larger text" onClick={() => resize(1)}>
          A+
        </button>
        {document.fullscreenEnabled && (
          <button
            type="button"
            className="button is-quiet"
            onClick={() =>
              void (document.fullscreenElement ? document.exitFullscreen() : stage.current?.requestFullscreen())
            }
          >
            Whole screen
          </button>
        )}
        <button
          type="button"
          className="button is-quiet"
          onClick={() => setCourse({ ...ATSTART, followed: told.session?.place.scene ?? 0 })}
          disabled={course.begun === null}
        >
          From the start
        </button>
        <p className="prompter-follows" data-testid="follows">
          {connection === "lost"
            ? "The workbench does not answer; go on by hand."
            : told.session
              ? `Follows ${told.session.name}; the keys go before it until it moves on.`
              : "No session is being captured; goes on by keys alone."}
        </p>
      </div>
    </section>
  );
}

function Spare({ ends, left, now }: { ends: number; left: number; now: number }) {
  const spare = spareAt(ends, left, new Date(now));
  // A rehearsal at another time of day.
  if (Math.abs(spare) > FAR) return null;
  return (
    <p className={spare < 0 ? "is-late" : ""}>
      <span className="prompter-label">Must be over at {printClock(ends).clock.replace(/:00$/, "")}</span>
      <span data-testid="spare">
        {printStretch(Math.abs(spare))} {spare < 0 ? "too late" : "to spare"}
      </span>
    </p>
  );
}

function waitText(
  { over, usual, high, known }: NonNullable<ReturnType<typeof clockOf>["wait"]>,
  runs: boolean,
): string {
  if (!runs) return `${known ? "about" : "at least"} ${printStretch(usual)}`;
  if (over < usual) return `${known ? "about" : "at least"} ${printStretch(usual - over)} more`;
  return over <= high ? "any moment now" : `${printStretch(over - high)} longer than it should take`;
}
