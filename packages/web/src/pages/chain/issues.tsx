import { routeTo } from "../../app/route.ts";
import type { WorkbenchReport } from "../../job/types.ts";
import { counted } from "../../parts/words.ts";

/** What is wrong with the bench file itself: then there is no chain to show. */
export function Issues({ report }: { report: WorkbenchReport }) {
  return (
    <section className="issues" aria-label="Faults of the bench file" role="alert">
      <h2>The bench file cannot be used yet: {counted(report.issues.length, "fault")}</h2>
      <ul>
        {report.issues.map((each) => (
          <li key={`${each.line}:${each.column}:${each.sentence}`}>
            <a href={routeTo(["bench"], { line: String(each.line) })}>
              {report.bench.file}, line {each.line}
            </a>
            : {each.sentence}
          </li>
        ))}
      </ul>
    </section>
  );
}

/** Said over a chain that is shown while the text as it stands has none. */
export const StaleNote = () => (
  <p className="stale-note">
    This is the chain of the last text that could be used; it is worked out anew once the faults are mended.
  </p>
);
