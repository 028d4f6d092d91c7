import { formatDuration } from "@rouse/core/quantity";
import { printStretch } from "@rouse/core/show/clock";
import { useCallback, useEffect, useRef, useState } from "react";
import { go, routeTo } from "../../app/route.ts";
import { ask, askBytes, sentenceOf } from "../../job/api.ts";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { Loading, Problem } from "../../parts/states.tsx";
import { bytesInWords, counted } from "../../parts/words.ts";
import { type Beside, workBeside } from "./beside.ts";
import { Exports } from "./exports.tsx";
import { type Pace, Player } from "./player.tsx";
import type { KeptScene, ListedCapture, PlanTold, Session } from "./types.ts";

/** Captured sessions: which there are, and one of them again. */
export function Sessions({ name, script, plan }: { name: string | undefined; script: string; plan: PlanTold | null }) {
  const [list, setList] = useState<readonly ListedCapture[] | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const look = useCallback((): void => {
    ask<readonly ListedCapture[]>("show/captures").then(
      (found) => {
        setList(found.filter(({ head }) => head !== null));
        setProblem(null);
      },
      (error: unknown) => setProblem(sentenceOf(error)),
    );
  }, []);
  useEffect(() => {
    look();
    window.addEventListener("focus", look);
    return () => window.removeEventListener("focus", look);
  }, [look]);
  const chosen = list?.find((each) => each.name === name);
  return (
    <section className="panel sessions" aria-labelledby="sessions-title">
      <h2 id="sessions-title">Captured sessions</h2>
      {problem && <Problem sentence={problem} />}
      {list?.length === 0 && (
        <p className="quiet">
          There is none in captures/ yet. The Line page keeps one, and so does{" "}
          <code>rouse talk PORT --capture captures/open-day.jsonl</code>.
        </p>
      )}
      {list && list.length > 0 && (
        <div className="sessions-choose">
          <label className="field">
            <span>Session</span>
            <select
              value={chosen?.name ?? ""}
              onChange={(event) => go(routeTo(["show", event.target.value]), "replace")}
            >
              {!chosen && <option value="">Choose one…</option>}
              {list.map(({ name: each, head, size }) => (
                <option key={each} value={each}>
                  {each}, {head?.started.slice(0, 10)}, {bytesInWords(size)}
                </option>
              ))}
            </select>
          </label>
          <button type="button" className="button is-quiet" onClick={look}>
            Look again
          </button>
        </div>
      )}
      {chosen && <Opened key={chosen.name} capture={chosen} script={script} plan={plan} />}
    </section>
  );
}

function Opened({ capture, script, plan }: { capture: ListedCapture; script: string; plan: PlanTold | null }) {
  const { name, stamp, head } = capture;
  const [session, setSession] = useState<Session | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const [terminal, setTerminal] = useState("");
  const [pace, setPace] = useState<Pace>({ speed: 1, longestWait: null });
  const [moment, setMoment] = useState(0);
  const [kept, setKept] = useState<readonly KeptScene[] | null>(null);
  const beside = useRef<Beside | null>(null);
  const askBeside = useCallback<Beside["ask"]>(async (...asked) => {
    if (!beside.current) throw new Error("The session is not open any more.");
    return beside.current.ask(...asked);
  }, []);
  const screenAt = useCallback((seconds: number) => askBeside("screen", seconds), [askBeside]);
  const tellProblem = useCallback(
    (error: unknown) => setProblem(error instanceof Error ? error.message : sentenceOf(error)),
    [],
  );

  useEffect(() => {
    const worker = workBeside();
    beside.current = worker;
    return () => {
      beside.current = null;
      worker.end();
    };
  }, []);
  // biome-ignore lint/correctness/useExhaustiveDependencies: opened anew when the file has grown, as its stamp says
  useEffect(() => {
    let isCurrent = true;
    const open = async (): Promise<void> => {
      try {
        const bytes = (await askBytes(`show/captures/${encodeURIComponent(name)}`)).buffer as ArrayBuffer;
        if (!isCurrent) return;
        const found = await askBeside("open", { bytes, terminal }, [bytes]);
        if (!isCurrent) return;
        setSession(found);
        setProblem(null);
      } catch (error) {
        if (isCurrent) tellProblem(error);
      }
    };
    void open();
    return () => {
      isCurrent = false;
    };
  }, [name, stamp, terminal, askBeside, tellProblem]);
  useEffect(() => {
    if (!session) return;
    let isCurrent = true;
    askBeside("follow", script).then(
      (found) => isCurrent && setKept(found),
      (error: unknown) => isCurrent && tellProblem(error),
    );
    return () => {
      isCurrent = false;
    };
  }, [session, script, askBeside, tellProblem]);

  if (problem) return <Problem sentence={problem} />;
  if (!session || !head) return <Loading what="Reading the session…" />;
  return (
    <div className="session">
      <p className="quiet">
        {head.about ? `${head.about}. ` : ""}Begun {new Date(head.started).toLocaleString("en-GB")},{" "}
        {head.rate.toLocaleString("en-GB")} bit/s, {head.frame}, {printStretch(session.times.at(-1) ?? 0)} long.
        {session.spoilt > 0 &&
          ` ${counted(session.spoilt, "line")} of the file ${session.spoilt === 1 ? "is" : "are"} no entries, and left out.`}
      </p>
      <label className="field session-terminal">
        <span>As shown by</span>
        <select value={terminal} onChange={(event) => setTerminal(event.target.value)}>
          <option value="">80 × 24, every function of ECMA-48</option>
          {session.terminals.map(([id, title]) => (
            <option key={id} value={id}>
              {title}
            </option>
          ))}
        </select>
      </label>
      <Player
        session={session}
        screenAt={screenAt}
        pace={pace}
        onPace={setPace}
        onMoment={setMoment}
        onProblem={tellProblem}
      />
      <Exports
        name={name}
        title={head.about ?? plan?.plan.title ?? name}
        pace={pace}
        moment={moment}
        make={(wish) => askBeside("make", wish)}
      />
      {kept?.some(({ expects }) => expects !== null) && (
        <div>
          <h3>How it kept to the script</h3>
          <ScrollX name="How it kept to the script">
            <table className="rows">
              <thead>
                <tr>
                  <th>At</th>
                  <th>Scene</th>
                  <th>Expected</th>
                  <th className="is-number">Waited</th>
                  <th className="is-number">Predicted</th>
                </tr>
              </thead>
              <tbody>
                {kept.map(({ name: scene, from, expects, seen, waited }, index) => (
                  // biome-ignore lint/suspicious/noArrayIndexKey: scenes are their places
                  <tr key={index}>
                    <td>{printStretch(from)}</td>
                    <th scope="row">{scene}</th>
                    <td>{expects === null ? "" : seen ? <code>{expects}</code> : `■ “${expects}” never came`}</td>
                    <td className="is-number">{waited === null ? "" : formatDuration(waited)}</td>
                    <td className="is-number">
                      {expects === null || !plan?.plan.scenes[index]
                        ? ""
                        : formatDuration(plan.plan.scenes[index].wait.usual)}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </ScrollX>
        </div>
      )}
    </div>
  );
}
