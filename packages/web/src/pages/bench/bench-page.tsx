import { lazy, Suspense } from "react";
import { Button } from "react-aria-components";
import { routeTo, useRoute } from "../../app/route.ts";
import { isUnsaved, job, useJob } from "../../job/job.ts";
import type { LinkReport, WorkbenchReport } from "../../job/types.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { VerdictMark } from "../../parts/verdict.tsx";
import { upperFirst } from "../../parts/words.ts";
import { Finding } from "../chain/findings.tsx";
import { Issues, StaleNote } from "../chain/issues.tsx";
import { SceneInSmall } from "../chain/scene.tsx";
import { headline } from "../chain/words.ts";
import "../chain/chain.css";
import "../chain/drawings.css";
import "../chain/findings.css";
import "./bench.css";

const Editor = lazy(() => import("./editor.tsx"));

/** The bench file on the left, the chain that it makes on the right: each change is seen at once. */
export function BenchPage() {
  const state = useJob();
  const { query } = useRoute();
  const { saved, report, chain, problem, saving } = state;
  if (!saved) return problem ? <Problem sentence={problem} /> : <Loading what="Reading the bench file…" />;
  const unsaved = isUnsaved(state);
  const line = Number(query.get("line"));
  return (
    <div className="bench-page">
      <section className="editing" aria-labelledby="bench-title">
        <header>
          <h1 id="bench-title">bench.yaml</h1>
          <span className={unsaved ? "saved is-not" : "saved"} role="status">
            {saving ? "saving…" : unsaved ? "changes not saved" : "saved"}
          </span>
          <Button className="button" isDisabled={!unsaved || saving} onPress={() => void job.save()}>
            Save
          </Button>
        </header>
        <Suspense fallback={<Loading what="Opening the editor…" />}>
          <Editor at={{ key: query.get("key"), line: line > 0 ? line : null }} report={report} />
        </Suspense>
        <p className="hint">
          Ctrl + Space tells what can stand at the cursor. Escape, then Tab leaves the editor. Changes made in your own
          editor appear here at once.
        </p>
      </section>
      <section className="beside" aria-label="The chain for this text">
        {problem && <Problem sentence={problem} />}
        {report?.verdict === null && <Issues report={report} />}
        {chain && <Beside report={chain} stale={report?.verdict === null} />}
      </section>
    </div>
  );
}

function Beside({ report, stale }: { report: WorkbenchReport; stale: boolean }) {
  return (
    <div>
      {stale && <StaleNote />}
      <h2 data-testid="headline">{headline(report)}</h2>
      <a href={routeTo(["chain"])} className="scene-link" aria-label="Open the chain as a drawing">
        <SceneInSmall report={report} />
      </a>
      <ul className="links">
        {report.links.map((each) => (
          <LinkLine key={each.link} of={each} file={report.bench.file} />
        ))}
      </ul>
    </div>
  );
}

function LinkLine({ of: { link, verdict, findings, missing = [] }, file }: { of: LinkReport; file: string }) {
  // The finding that the verdict is from; another one may come first, since it has something to do.
  const says =
    (findings.find((each) => each.verdict === verdict) ?? findings[0])?.sentence ??
    `Nothing here that a check could judge; needed: ${missing.join(", ")}.`;
  return (
    <li data-link={link} data-verdict={verdict}>
      <details>
        <summary>
          <span className="link-name">{upperFirst(link)}</span>
          <VerdictMark verdict={verdict} />
          <span className="link-says">{says}</span>
        </summary>
        <div className="link-findings">
          {findings.map((each) => (
            <Finding key={each.id} finding={each} file={file} />
          ))}
        </div>
      </details>
    </li>
  );
}
