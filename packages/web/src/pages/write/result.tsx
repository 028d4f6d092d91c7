import { useEffect, useRef } from "react";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { VerdictShape } from "../../parts/verdict.tsx";
import { bytesInWords, counted } from "../../parts/words.ts";
import { Clocks } from "./running.tsx";
import type { Certificate, Interrupted, PlanAsked, WriteState } from "./types.ts";
import { canResume, outcomeInWords, verdictOf } from "./words.ts";

/** Bad blocks are told one by one up to so many. */
const MOST_TOLD = 200;

/** What came of a write, in words, with its certificate. */
export function Result({ state, onAgain, onResume }: { state: WriteState; onAgain: () => void; onResume: () => void }) {
  const { certificate, problem, plan } = state;
  const title = useRef<HTMLHeadingElement>(null);
  useEffect(() => title.current?.focus(), []);
  const verdict = certificate ? verdictOf(certificate) : "stops";
  const headline = {
    runs: `${plan.image.name} is on ${plan.target.path}`,
    unknown: `${plan.image.name} went to ${plan.target.path}, unverified`,
    stops: certificate
      ? `${plan.target.path} is not to be trusted`
      : `${plan.image.name} is not yet on ${plan.target.path}`,
    tight: "",
  }[verdict];
  return (
    <section className="panel" aria-labelledby="result-title">
      <h2 id="result-title" ref={title} tabIndex={-1} className={`result-title verdict is-${verdict}`}>
        <VerdictShape verdict={verdict} /> {headline}
      </h2>
      {certificate && <p data-testid="outcome">{outcomeInWords(certificate)}</p>}
      {problem && (
        <p data-testid="outcome">{problem.sentence.replace(/[;,](?: and)? `rouse write --resume` [a-z ]+\.$/, ".")}</p>
      )}
      {certificate && certificate.bad.length > 0 && <BadBlocks bad={certificate.bad} />}
      <Clocks state={state} />
      {certificate && <CertificateFacts certificate={certificate} />}
      {certificate?.output && (
        <details>
          <summary>What the adapter's program printed</summary>
          <pre className="adapter-output">{certificate.output}</pre>
        </details>
      )}
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
  const { blocks, blocksVerified, compared } = certificate;
  const number = (value: number): string => value.toLocaleString("en-GB");
  const facts: readonly (readonly [string, string])[] = [
    ["Image", `${image.name}, ${bytesInWords(image.size)}`],
    ["SHA-256 of the image", image.sha256],
    [
      "SHA-256 read back",
      sha256ReadBack ?? (compared === false ? "nothing was read back" : "not taken, since blocks are bad"),
    ],
    ["Blocks verified", `${number(blocksVerified)} of ${number(blocks)}`],
    ["Target", [target.path, target.kind, target.model].filter(Boolean).join(", ")],
    ["It held", target.kind === "new file" ? "nothing yet" : (target.held ?? "nothing that was recognised")],
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

/** Writes that did not come to their end, to be gone on with. */
export function Unfinished({
  interrupted,
  onResume,
}: {
  interrupted: readonly Interrupted[];
  onResume: (asked: PlanAsked) => void;
}) {
  return (
    <section className="panel" aria-labelledby="unfinished-title">
      <h2 id="unfinished-title">Interrupted</h2>
      <ul className="unfinished">
        {interrupted.map(({ image, target, device, file, done, blocks, started }) => (
          <li key={target}>
            <p>
              <strong>{image}</strong> onto <strong>{target}</strong>, begun {inWords(started)}:{" "}
              {done < blocks
                ? `${done.toLocaleString("en-GB")} of ${counted(blocks, "block")} are safely written.`
                : "all blocks are written, and not yet compared."}
            </p>
            {device !== undefined || file !== undefined ? (
              <button
                type="button"
                className="button is-quiet"
                onClick={() => onResume({ image, ...(device === undefined ? { file: file ?? "" } : { device }) })}
              >
                Go on with it
              </button>
            ) : (
              <p className="quiet">
                It lies outside the job folder: <code>rouse write --resume</code> goes on with it.
              </p>
            )}
          </li>
        ))}
      </ul>
    </section>
  );
}

/** What was written before, from the job's log. */
export function Earlier({ certificates }: { certificates: readonly Certificate[] }) {
  return (
    <section className="panel" aria-labelledby="earlier-title">
      <h2 id="earlier-title">Written before</h2>
      <ScrollX name="Earlier writes">
        <table className="rows">
          <thead>
            <tr>
              <th scope="col">What came of it</th>
              <th scope="col">Image</th>
              <th scope="col">When</th>
              <th scope="col">Target</th>
            </tr>
          </thead>
          <tbody>
            {certificates.map((each) => {
              const verdict = verdictOf(each);
              return (
                <tr key={`${each.ended} ${each.target.path}`}>
                  <td>
                    <span className={`verdict is-${verdict}`}>
                      <VerdictShape verdict={verdict} />
                      {verdict === "unknown"
                        ? "not verified"
                        : each.verified
                          ? "verified"
                          : each.bad.length > 0
                            ? counted(each.bad.length, "bad block")
                            : "not the image"}
                    </span>
                  </td>
                  <th scope="row">{each.image.name}</th>
                  <td>{inWords(each.ended)}</td>
                  <td className="earlier-target">{each.target.path}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </ScrollX>
    </section>
  );
}
