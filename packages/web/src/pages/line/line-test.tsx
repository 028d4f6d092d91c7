import { type FormEvent, useState } from "react";
import { sentenceOf } from "../../job/api.ts";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { Problem } from "../../parts/states.tsx";
import { act } from "./act.ts";
import { FrameField, RateField, readRate } from "./choose.tsx";
import type { RateResult, Work } from "./types.ts";

const share = (value: number): string => (value === 0 ? "0" : value.toExponential(1).replace("-", "−"));
const whole = (value: number): string => Math.round(value).toLocaleString("en-GB");

/** Bit errors at each rate, by a loopback plug or a far end that echoes. */
export function LineTest({
  port,
  rates,
  frame,
  isReady,
  isOpen,
  work,
  onProblem,
}: {
  port: string;
  rates: readonly number[];
  frame: string;
  isReady: boolean;
  isOpen: boolean;
  work: Work | null;
  onProblem: (sentence: string | null) => void;
}) {
  const [echoes, setEchoes] = useState(false);
  const [rate, setRate] = useState("");
  const [own, setOwn] = useState<string | null>(null);
  const [seconds, setSeconds] = useState("2");
  const test = work?.kind === "test" ? work.test : undefined;
  const highest = readRate(rate) || 115_200;
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    onProblem(null);
    act("test", {
      port,
      frame: own ?? frame,
      seconds: Number(seconds) || 2,
      ...(echoes ? { rates: [highest], controls: false } : { highest }),
    }).catch((error: unknown) => onProblem(sentenceOf(error)));
  };
  return (
    <form className="line-tool" onSubmit={submit}>
      <p>
        Sends a pseudo-random sequence (ITU-T O.150) and compares what comes back. A loopback plug joins transmit to
        receive, RTS to CTS, and DTR to DSR and DCD: on DE-9 2–3, 7–8, 4–6–1; on DB-25 2–3, 4–5, 20–6–8 (from memory).
        {isOpen && " The session is closed for it, and opened again when it is over."}
      </p>
      <fieldset className="line-ports">
        <legend>What sends it back</legend>
        <label className="tick">
          <input type="radio" name="back" checked={!echoes} onChange={() => setEchoes(false)} />
          <span>a loopback plug: every standard rate up to the highest, and the control lines</span>
        </label>
        <label className="tick">
          <input type="radio" name="back" checked={echoes} onChange={() => setEchoes(true)} />
          <span>a far end that echoes, at its one rate</span>
        </label>
      </fieldset>
      <div className="fields">
        <RateField
          label={echoes ? "Its rate, bit/s" : "Highest rate, bit/s"}
          value={rate || "115200"}
          rates={rates}
          onChange={setRate}
        />
        <FrameField value={own ?? frame} onChange={setOwn} />
        <label className="field">
          <span>At each rate, s</span>
          <input value={seconds} onChange={(event) => setSeconds(event.target.value)} inputMode="decimal" />
        </label>
      </div>
      <button type="submit" className="button" disabled={!isReady}>
        Test the line
      </button>
      {test && test.results.length > 0 && <Results results={test.results} />}
      {test?.verdict && work?.state !== "running" && (
        <div role="status" className="line-best" data-testid="verdict">
          <p>
            <strong>{test.verdict}</strong>
          </p>
          {test.controls?.map((each) => (
            <p key={each}>{each}</p>
          ))}
          {test.controls === null && !echoes && <p>Control lines: this port does not show any.</p>}
          <p className="quiet">
            Figures in brackets are the 95 % interval, as if errors struck independently; bursts make it wider.
          </p>
        </div>
      )}
      {work?.kind === "test" && work.problem && <Problem sentence={work.problem} />}
    </form>
  );
}

function Results({ results }: { results: readonly RateResult[] }) {
  return (
    <ScrollX name="Results by rate">
      <table className="rows" aria-label="What came back at each rate">
        <thead>
          <tr>
            <th scope="col">Rate</th>
            <th scope="col">Verdict</th>
            <th scope="col">Characters</th>
            <th scope="col">Wrong bits</th>
            <th scope="col">Bit error rate</th>
            <th scope="col">Lost, too many</th>
            <th scope="col">Characters a second</th>
          </tr>
        </thead>
        <tbody>
          {results.map((each) => (
            <tr key={each.rate}>
              <th scope="row">{each.rate.toLocaleString("en-GB")} bit/s</th>
              <td className={each.verdict === "good" ? "line-good" : "line-bad"}>
                <span aria-hidden="true">{each.verdict === "good" ? "●" : each.verdict === "errors" ? "■" : "○"}</span>{" "}
                {each.verdict}
              </td>
              {each.received === 0 ? (
                <td colSpan={5} />
              ) : (
                <>
                  <td>{whole(each.characters)}</td>
                  <td>{whole(each.wrongBits)}</td>
                  <td>
                    {share(each.bitErrors.rate)} ({share(each.bitErrors.low)} to {share(each.bitErrors.high)})
                  </td>
                  <td>
                    {whole(each.lost)}, {whole(each.extra)}
                  </td>
                  <td>{whole(each.speed)}</td>
                </>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </ScrollX>
  );
}
