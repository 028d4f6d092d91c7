import { useEffect, useRef } from "react";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { VerdictShape } from "../../parts/verdict.tsx";
import { bytesInWords, counted } from "../../parts/words.ts";
import { Clocks } from "./running.tsx";
import type { Certificate, WriteState } from "./types.ts";
import { canResume, outcomeInWords } from "./words.ts";

/** Bad blocks are told one by one up to so many. */
const MOST_TOLD = 200;

/** What came of a write, in words, with its certificate. */
export function Result({ state, onAgain, onResume }: { state: WriteState; onAgain: () => void; onResume: () => void }) {
  const { certificate, problem, plan } = state;
  const title = useRef<HTMLHeadingElement>(null);
  useEffect(() => title.current?.focus(), []);
  const verdict = certificate?.verified ? "runs" : "stops";
  const headline = certificate?.verified
    ? `${plan.image.name} is on ${plan.target.path}`
    : certificate
      ? `${plan.target.path} is not to be trusted`
      : `${plan.image.name} is not yet on ${plan.target.path}`;
  return (
    <section className="panel" aria-labelledby="result-title">
      <h2 id="result-title" ref={title} tabIndex={-1} className={`result-title verdict is-${verdict}`}>
        <VerdictShape verdict={verdict} /> {headline}
      </h2>
      {certificate && <p data-testid="outcome">{outcomeInWords(certificate)}</p>}
      {problem && (
        <p data-testid="outcome">{problem.sentence.replace(/; `rouse write --resume` goes on from there\.$/, ".")}</p>
      )}
      {certificate && certificate.bad.length > 0 && <BadBlocks bad={certificate.bad} />}
      <Clocks state={state} />
      {certificate && <CertificateFacts certificate={certificate} />}
      <div className="buttons">
        {canResume(state) && (
          <button type="button" className="button" onClick={onResume}>
            Go on from there
          </button>
        )}
        <button type="button" className="button is-quiet" onClick={onAgain}>
          Another disk
        </button>
      </div>
    </section>
  );
}

function BadBlocks({ bad }: { bad: Certificate["bad"] }) {
  return (
    <ul className="bad-blocks" aria-label="Bad blocks">
      {bad.slice(0, MOST_TOLD).map(({ block, tries, why, holds }) => (
        <li key={block}>
          <strong>Block {block.toLocaleString("en-GB")}</strong>: {why}, after {counted(tries, "try", "tries")}. It
          holds {holds}.
        </li>
      ))}
      {bad.length > MOST_TOLD && <li>and {counted(bad.length - MOST_TOLD, "block")} more; the log has all.</li>}
    </ul>
  );
}

function CertificateFacts({ certificate }: { certificate: Certificate }) {
  const { image, target, sha256ReadBack, copyOfBefore, unreadBefore, started, ended, madeBy, resumedFrom } =
    certificate;
  const facts: readonly (readonly [string, string])[] = [
    ["Image", `${image.name}, ${bytesInWords(image.size)}`],
    ["SHA-256 of the image", image.sha256],
    ["SHA-256 read back", sha256ReadBack ?? "not taken, since blocks are bad"],
    ["Target", [target.path, target.kind, target.model].filter(Boolean).join(", ")],
    ["It held", target.held ?? "nothing that was recognised"],
    [
      "Copy of that",
      copyOfBefore === null
        ? "none"
        : `images/${copyOfBefore}${unreadBefore > 0 ? `, without ${counted(unreadBefore, "block")} that could not be read` : ""}`,
    ],
    ["Begun and ended", `${inWords(started)}; ${inWords(ended)}`],
    ["Gone on from", resumedFrom > 0 ? `block ${resumedFrom.toLocaleString("en-GB")}` : "the start"],
    ["Made by", madeBy],
  ];
  return (
    <div className="certificate">
      <h3>Certificate</h3>
      <p className="quiet">It is kept in the job's log.</p>
      <dl className="shown-facts">
        {facts.map(([name, text]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{text}</dd>
          </div>
        ))}
      </dl>
    </div>
  );
}

const inWords = (time: string): string => new Date(time).toLocaleString("en-GB");

/** What was written before, from the job's log. */
export function Earlier({ certificates }: { certificates: readonly Certificate[] }) {
  return (
    <section className="panel" aria-labelledby="earlier-title">
      <h2 id="earlier-title">Written before</h2>
      <ScrollX name="Earlier writes">
        <table className="rows">
          <thead>
            <tr>
              <th scope="col">When</th>
              <th scope="col">Image</th>
              <th scope="col">Target</th>
              <th scope="col">What came of it</th>
            </tr>
          </thead>
          <tbody>
            {certificates.map((each) => {
              const verdict = each.verified ? "runs" : "stops";
              return (
                <tr key={`${each.ended} ${each.target.path}`}>
                  <td>{inWords(each.ended)}</td>
                  <th scope="row">{each.image.name}</th>
                  <td className="earlier-target">{each.target.path}</td>
                  <td>
                    <span className={`verdict is-${verdict}`}>
                      <VerdictShape verdict={verdict} />
                      {each.verified ? "verified" : counted(each.bad.length, "bad block")}
                    </span>
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </ScrollX>
    </section>
  );
}
