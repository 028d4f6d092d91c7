import type { Verdict } from "../job/types.ts";

const MEANINGS: Readonly<Record<Verdict, string>> = {
  runs: "runs",
  tight: "works with less margin than is wise",
  stops: "stops the chain",
  unknown: "a number is missing",
};

/** The shape alone: disc, triangle, square, ring. Always beside the word. */
export function VerdictShape({ verdict }: { verdict: Verdict }) {
  return (
    <svg className={`shape is-${verdict}`} viewBox="0 0 16 16" aria-hidden="true">
      {verdict === "runs" && <circle cx="8" cy="8" r="6.4" />}
      {verdict === "tight" && <path d="M8 1.2 15.4 14.4H.6z" />}
      {verdict === "stops" && <rect x="1.6" y="1.6" width="12.8" height="12.8" />}
      {verdict === "unknown" && <circle className="ring" cx="8" cy="8" r="5.6" />}
    </svg>
  );
}

/** A verdict by shape, word and colour. */
export function VerdictMark({ verdict, large = false }: { verdict: Verdict; large?: boolean }) {
  return (
    <span className={`verdict is-${verdict}${large ? " is-large" : ""}`} title={MEANINGS[verdict]}>
      <VerdictShape verdict={verdict} />
      {verdict}
    </span>
  );
}
