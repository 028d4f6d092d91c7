import type { Finding, Measurement } from "@rouse/core/diagnose";
import type { PackedMemory } from "@rouse/core/memory";
import { type FormEvent, useEffect, useState } from "react";
import { ask, askBytes, sentenceOf } from "../../job/api.ts";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { Loading, Problem } from "../../parts/states.tsx";
import { VerdictMark } from "../../parts/verdict.tsx";
import { counted, hexOf } from "../../parts/words.ts";
import { useBeside } from "./beside.ts";
import { SuspectsDrawn } from "./board-drawn.tsx";
import type { ReadReport, Wish } from "./types.ts";
import { wishOf } from "./wishes.ts";

/** Beyond this nobody reads them one by one. */
const MOST_FINDINGS = 40;
/** Parts that fit less than this are not worth a line. */
const LEAST_FIT = 0.05;
const MOST_TEXT = 2 * 1024 * 1024;

interface Capture {
  name: string;
  size: number;
}

/** Octets as they came over the line, one character each. */
const textOf = (bytes: Uint8Array): string => {
  let text = "";
  for (let at = 0; at < Math.min(bytes.length, MOST_TEXT); at += 4096)
    text += String.fromCharCode(...bytes.subarray(at, Math.min(at + 4096, MOST_TEXT)));
  return text;
};

/** What the program printed, typed in or from a capture; then the parts that may be bad, and what to measure next. */
export function Results({ text, wish, memory }: { text: string; wish: Wish; memory: PackedMemory }) {
  const [typed, setTyped] = useState("");
  const [captures, setCaptures] = useState<readonly Capture[]>([]);
  const [problem, setProblem] = useState<string | null>(null);
  const read = useBeside<"read">();
  useEffect(() => {
    let left = false;
    ask<readonly Capture[]>("captures").then(
      (found) => !left && setCaptures(found),
      (error: unknown) => !left && setProblem(sentenceOf(error)),
    );
    return () => {
      left = true;
    };
  }, []);
  const begin = (report: string): void => {
    setProblem(null);
    // A report of a program that was made here before is read with that one.
    read.start(text, { kind: "read", wish: wishOf(report) ?? wish, text: report });
  };
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    if (typed.trim() !== "") begin(typed);
  };
  const take = async (bytes: Promise<Uint8Array>): Promise<void> => {
    try {
      const found = textOf(await bytes);
      setTyped(found);
      begin(found);
    } catch (error) {
      setProblem(sentenceOf(error));
    }
  };
  return (
    <section className="panel" aria-labelledby="results-title">
      <h2 id="results-title">What it printed</h2>
      <form className="d-entry" onSubmit={submit}>
        <label className="field">
          <span>Its report, as it stands on the terminal</span>
          <textarea
            rows={7}
            value={typed}
            spellCheck={false}
            autoComplete="off"
            maxLength={MOST_TEXT}
            placeholder={"BEGIN 1A2B\nA: MARCH C- OVER MAIN MEMORY\nA3 GF7 WFF A1234\nA3 X0001\nA BAD\nEND BAD"}
            onChange={(event) => setTyped(event.target.value)}
          />
        </label>
        <div className="fields">
          <label className="field">
            <span>Or from the job's captures/</span>
            <select
              value=""
              disabled={captures.length === 0}
              onChange={(event) =>
                event.target.value !== "" && void take(askBytes(`captures/${encodeURIComponent(event.target.value)}`))
              }
            >
              <option value="">{captures.length === 0 ? "none there" : "choose…"}</option>
              {captures.map(({ name }) => (
                <option key={name} value={name}>
                  {name}
                </option>
              ))}
            </select>
          </label>
          <label className="field">
            <span>Or from this computer</span>
            <input
              type="file"
              onChange={(event) => {
                const file = event.target.files?.[0];
                if (file) void take(file.arrayBuffer().then((octets) => new Uint8Array(octets)));
              }}
            />
          </label>
        </div>
        <div className="buttons">
          <button type="submit" className="button" disabled={typed.trim() === "" || read.isBusy}>
            Read it
          </button>
          {read.isBusy && (
            <button type="button" className="button is-quiet" onClick={read.stop}>
              Stop
            </button>
          )}
        </div>
      </form>
      {problem && <Problem sentence={problem} />}
      {read.problem && <Problem sentence={read.problem} />}
      {read.isBusy && <Loading what="Holding every part that may be bad against it…" />}
      {read.answer && !read.isBusy && <Told told={read.answer} memory={memory} />}
    </section>
  );
}

function Told({ told, memory }: { told: ReadReport; memory: PackedMemory }) {
  const { report, program, isOwn, next } = told;
  const ranked = told.ranked.filter(({ fit }, index) => index === 0 || fit >= LEAST_FIT);
  const isEmpty = report.verdicts.length + report.findings.length + report.unread.length === 0 && !report.end;
  return (
    <div className="d-told" data-testid="told">
      {isEmpty ? (
        <p>There is no line of a report in this.</p>
      ) : (
        <>
          {!isOwn && (
            <p>
              <VerdictMark verdict="unknown" />{" "}
              {report.id === undefined
                ? `The report does not name its program; it is read as that of program ${program.id}.`
                : `The report is of program ${report.id}, and the tests chosen here make ${program.id}. Choose above what was chosen for it.`}
            </p>
          )}
          <Verdicts told={told} />
          {report.unread.length > 0 && (
            <p className="quiet">
              Not to be read: {report.unread.slice(0, 5).join(" · ")}
              {report.unread.length > 5 && ` and ${report.unread.length - 5} more`}
            </p>
          )}
          {ranked.length > 0 && (
            <>
              <h3>What may be bad</h3>
              <ol className="d-ranked" data-testid="ranked">
                {ranked.map(({ suspect, how, fit }, index) => (
                  <li key={suspect.id}>
                    <span className="d-rank">{index + 1}</span>
                    <div>
                      <p>
                        <strong>{suspect.title}</strong>
                        {suspect.board !== undefined && ` on ${suspect.board}`}
                      </p>
                      <p className="quiet">{how}</p>
                    </div>
                    <div className="d-fit">
                      <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
                        <rect className="d-fit-all" width="100" height="8" />
                        <rect className="d-fit-own" width={fit * 100} height="8" />
                      </svg>
                      <span>fits {Math.round(fit * 100)} %</span>
                    </div>
                  </li>
                ))}
              </ol>
              <SuspectsDrawn memory={memory} ranked={ranked} />
            </>
          )}
          {next && <Next next={next} />}
        </>
      )}
    </div>
  );
}

function Verdicts({ told: { report, program } }: { told: ReadReport }) {
  const titleOf = (letter: string): string => program.tests.find((each) => each.letter === letter)?.title ?? "";
  const found = (letter: string): readonly Finding[] => report.findings.filter(({ test }) => test === letter);
  // Of each element only the first findings are told, and then their number.
  const all = report.counts.reduce((sum, { count }) => sum + count, 0);
  const letters = [
    ...new Set([...report.verdicts.map(({ test }) => test), ...report.findings.map(({ test }) => test)]),
  ];
  return (
    <>
      <p>
        {report.end === undefined
          ? "The report has no end: the machine stopped on the way, or the rest was not typed."
          : report.end === "good"
            ? "The program found nothing wrong."
            : `${counted(report.findings.length, "finding")} told${all > report.findings.length ? `, ${all.toLocaleString("en-GB")} counted` : ""}.`}
      </p>
      <ScrollX name="Tests of the report">
        <table className="rows">
          <thead>
            <tr>
              <th scope="col">Test</th>
              <th scope="col">What it is</th>
              <th scope="col">Verdict</th>
              <th scope="col">Findings</th>
            </tr>
          </thead>
          <tbody>
            {letters.map((letter) => {
              const good = report.verdicts.find(({ test }) => test === letter)?.good;
              const own = found(letter);
              return (
                <tr key={letter}>
                  <th scope="row">{letter}</th>
                  <td>{titleOf(letter)}</td>
                  <td>{good === undefined ? "not told" : good ? "good" : <strong>bad</strong>}</td>
                  <td>
                    {own.length > 0 && (
                      <details>
                        <summary>{counted(own.length, "finding")}</summary>
                        <ul>
                          {own.slice(0, MOST_FINDINGS).map((each, index) => (
                            // biome-ignore lint/suspicious/noArrayIndexKey: the same finding may come twice
                            <li key={index}>{findingWords(each)}</li>
                          ))}
                          {own.length > MOST_FINDINGS && <li>and {own.length - MOST_FINDINGS} more</li>}
                        </ul>
                      </details>
                    )}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </ScrollX>
    </>
  );
}

/** "element 3, $1234 of 2: wanted $55, got $5D, bit 3 wrong" */
export function findingWords({ element, address, view, wanted, got }: Finding): string {
  const place = [
    `element ${element}`,
    ...(address === undefined ? [] : [`${hexOf(address)}${view === undefined ? "" : ` of ${view}`}`]),
  ].join(", ");
  if (wanted === undefined || got === undefined) return place;
  const bits = Array.from({ length: 8 }, (_, bit) => 7 - bit).filter((bit) => ((wanted ^ got) >> bit) & 1);
  const wrong = bits.length === 0 ? "" : `, bit${bits.length > 1 ? "s" : ""} ${bits.join(", ")} wrong`;
  return `${place}: wanted ${hexOf(wanted, 2)}, got ${hexOf(got, 2)}${wrong}`;
}

function Next({ next: { title, results, cautions } }: { next: Measurement }) {
  return (
    <div className="d-next" data-testid="next">
      <h3>What to measure next</h3>
      <div className="d-cautions">
        {cautions.map((each) => (
          <p key={each}>{each}</p>
        ))}
      </div>
      <p>{title}</p>
      <ScrollX name="What each result says">
        <table className="rows">
          <thead>
            <tr>
              <th scope="col">If you see</th>
              <th scope="col">it means</th>
            </tr>
          </thead>
          <tbody>
            {results.map(({ seen, means }) => (
              <tr key={seen}>
                <th scope="row">{seen}</th>
                <td>{means}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </ScrollX>
    </div>
  );
}
