import { sentenceOf } from "../../job/api.ts";
import { Problem } from "../../parts/states.tsx";
import { act } from "./act.ts";
import type { Work } from "./types.ts";

/** Which rate and frame is the other end talking at? */
export function RateFinder({
  port,
  isReady,
  work,
  isOpen,
  onProblem,
}: {
  port: string;
  isReady: boolean;
  work: Work | null;
  isOpen: boolean;
  onProblem: (sentence: string | null) => void;
}) {
  const heard = work?.kind === "listen" ? work.heard : undefined;
  const best = heard?.best;
  const start = (): void => {
    onProblem(null);
    act("listen", { port }).catch((error: unknown) => onProblem(sentenceOf(error)));
  };
  return (
    <div className="line-tool">
      <p>
        Reads at a high rate, rebuilds the waveform from the bytes and their faults, and settles rate and frame, while
        the other end prints something: a directory, a help text, or a key that is held down at a login.
        {isOpen && " The session is closed for it, and opened again when it is over."}
      </p>
      <button type="button" className="button" onClick={start} disabled={!isReady}>
        Listen
      </button>
      {heard && heard.heard.length > 0 && (
        <table className="rows" aria-label="What was heard">
          <thead>
            <tr>
              <th scope="col">Rate</th>
              <th scope="col">Bytes</th>
              <th scope="col">Makes sense</th>
            </tr>
          </thead>
          <tbody>
            {heard.heard.map(({ rate, bytes, sense, answer }) => (
              <tr key={rate}>
                <th scope="row">{rate.toLocaleString("en-GB")} bit/s</th>
                <td>{bytes === 0 ? "silence" : bytes.toLocaleString("en-GB")}</td>
                <td>
                  {bytes === 0
                    ? ""
                    : `${answer ? `${Math.round(sense * 100)} % as ${answer.frame}` : "of another rate"}`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {work?.kind === "listen" && work.problem && <Problem sentence={work.problem} />}
      {best?.answer && (
        <div role="status" className="line-best">
          <p>
            <strong>
              {best.rate.toLocaleString("en-GB")} bit/s, {best.answer.frame}
            </strong>
          </p>
          {best.ranked && (
            <ul className="line-list" aria-label="What it may be">
              {best.ranked.map(({ rate, frame, inverted, probability }) => (
                <li key={`${rate} ${frame} ${inverted}`}>
                  {probability < 0.001 ? "under 0.1" : (probability * 100).toFixed(1)} %: {rate.toLocaleString("en-GB")}{" "}
                  bit/s, {frame}
                  {inverted && ", inverted"}
                </li>
              ))}
            </ul>
          )}
          <pre>{best.answer.text}</pre>
          <button
            type="button"
            className="button"
            disabled={!isReady}
            onClick={() => {
              const settings = { rate: best.rate, frame: best.answer!.frame, flow: "none" };
              act("open", { port, ...settings }).catch((error: unknown) => onProblem(sentenceOf(error)));
            }}
          >
            Talk at these settings
          </button>
        </div>
      )}
    </div>
  );
}
