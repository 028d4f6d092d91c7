import { formatDuration } from "@rouse/core/quantity";
import { Loading, Problem } from "../../parts/states.tsx";
import { counted, hexOf } from "../../parts/words.ts";
import { useBeside } from "./beside.ts";
import { TypeIn } from "./type-in.tsx";
import type { MadeProgram, Wish } from "./types.ts";

/** Saves octets or a text to this computer. */
function save(name: string, content: string | Uint8Array): void {
  const address = URL.createObjectURL(new Blob([content as string | Uint8Array<ArrayBuffer>]));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  // The browser has begun to read it by then.
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

/** The programs that were made, in every form. */
export function Programs({ programs, text, wish }: { programs: readonly MadeProgram[]; text: string; wish: Wish }) {
  return (
    <>
      {programs.length > 1 && (
        <p>
          All these tests have no room in one program: there are {programs.length}, to be run one after another. Each
          report names its own.
        </p>
      )}
      {programs.map((program, index) => (
        <Program key={program.id} program={program} text={text} wish={wish} index={index} />
      ))}
    </>
  );
}

function Program({ program, text, wish, index }: { program: MadeProgram; text: string; wish: Wish; index: number }) {
  const run = useBeside<"run">();
  const { id, tests, notes, place, origin, entry, bytes, cpu, port, files, typeIns } = program;
  return (
    <section className="panel" aria-label={`Program ${id}`} data-testid="program">
      <h2>Program {id}</h2>
      <p>
        For the {cpu}, {counted(bytes, "byte")} from {hexOf(origin)}.{" "}
        {place === "eprom" ? "The reset starts it." : `Load it and start it at ${hexOf(entry)}.`} It speaks through{" "}
        {port}.
      </p>
      <ul className="d-tests">
        {tests.map(({ letter, title, bytes: tested, left }) => (
          <li key={letter}>
            <strong>{letter}</strong>
            <div>
              <p>
                {title}
                {tested !== undefined && <span className="quiet"> {counted(tested, "byte")}</span>}
              </p>
              {left.map(({ from, to, view, why }) => (
                <p key={`${from} ${view}`} className="quiet">
                  not {hexOf(from)}–{hexOf(to)}
                  {view !== undefined && ` of ${view}`}: {why}
                </p>
              ))}
            </div>
          </li>
        ))}
      </ul>
      {notes.map((note) => (
        <p key={note} className="quiet">
          {note}
        </p>
      ))}
      <div className="buttons">
        {files.map(({ name, content, about }) => (
          <button
            key={name}
            type="button"
            className="button is-quiet d-save"
            title={name}
            onClick={() => save(name, content)}
          >
            Save {about}
          </button>
        ))}
      </div>
      {place === "eprom" && (
        <p className="quiet">
          Switch off, pull the plug and mind static before the monitor is taken out; note where its notch points, and
          put it back when all is tested.
        </p>
      )}
      <div className="buttons">
        <button
          type="button"
          className="button is-quiet"
          disabled={run.isBusy}
          onClick={() => run.start(text, { kind: "run", wish, index })}
        >
          How long it takes
        </button>
        {run.isBusy && (
          <button type="button" className="button is-quiet" onClick={run.stop}>
            Stop
          </button>
        )}
      </div>
      {run.isBusy && <Loading what="Running it on the simulated bench…" />}
      {run.problem && <Problem sentence={run.problem} />}
      {run.answer && (
        <div data-testid="ran">
          <p>
            {run.answer.ended ? (
              <>
                <strong>{formatDuration(run.answer.seconds)}</strong> of the machine's time where nothing is wrong (
                {run.answer.cycles.toLocaleString("en-GB")} cycles).
              </>
            ) : (
              <>It does not come to an end within {formatDuration(run.answer.seconds)}.</>
            )}
          </p>
          <details>
            <summary>What it prints then</summary>
            <pre className="d-report">{run.answer.text}</pre>
          </details>
        </div>
      )}
      <details>
        <summary>Read the source</summary>
        <section
          className="d-source"
          // biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, by keys too
          tabIndex={0}
          aria-label={`Source of program ${id}`}
        >
          <pre>{program.source}</pre>
        </section>
      </details>
      <details>
        <summary>Type it in</summary>
        <TypeIn id={id} forms={typeIns} />
      </details>
    </section>
  );
}
