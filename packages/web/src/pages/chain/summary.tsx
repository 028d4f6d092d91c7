import { routeTo } from "../../app/route.ts";
import type { WorkbenchReport } from "../../job/types.ts";
import { VerdictMark, VerdictShape } from "../../parts/verdict.tsx";
import { headline, tally } from "./words.ts";

/** What the chain says as a whole, and each sentence that stops it or leaves little margin. */
export function Summary({ report, unsaved }: { report: WorkbenchReport; unsaved: boolean }) {
  const findings = report.links.flatMap((each) => each.findings);
  const told = [
    ...findings.filter(({ verdict }) => verdict === "stops"),
    ...findings.filter(({ verdict }) => verdict === "tight"),
  ];
  return (
    <section className="summary" aria-labelledby="summary-title">
      <div className="summary-head">
        <p className="over">{report.bench.name}</p>
        <h1 id="summary-title" data-testid="headline">
          {headline(report)}
        </h1>
        {report.bench.about && <p className="about">{report.bench.about}</p>}
        <p className="tally">
          {report.verdict && <VerdictMark verdict={report.verdict} large />}
          {tally(report).map(({ verdict, text }) => (
            <span key={verdict} className="tally-part">
              <VerdictShape verdict={verdict} /> {text}
            </span>
          ))}
          {unsaved && <span className="tag">of a text not saved yet</span>}
        </p>
      </div>
      {told.length > 0 && (
        <ul className="summary-list">
          {told.map((each) => (
            <li key={each.id}>
              <VerdictShape verdict={each.verdict} />
              <span>
                <a href={routeTo(["chain", each.link])}>
                  <span className="sr-only">{each.verdict}: </span>
                  {each.link}
                </a>{" "}
                {each.sentence}
              </span>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
