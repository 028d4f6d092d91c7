import { routeTo, useRoute } from "../../app/route.ts";
import { isUnsaved, useJob } from "../../job/job.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { useWide } from "../../parts/use-wide.ts";
import { Cautions } from "./cautions.tsx";
import { Findings } from "./findings.tsx";
import { Issues, StaleNote } from "./issues.tsx";
import { Scene } from "./scene.tsx";
import { Summary } from "./summary.tsx";
import { worstLink } from "./words.ts";
import "./chain.css";
import "./drawings.css";
import "./findings.css";

export default function ChainPage() {
  const state = useJob();
  const wide = useWide();
  const { parts } = useRoute();
  const { report, chain, problem } = state;
  if (!report) return problem ? <Problem sentence={problem} /> : <Loading what="Working out the chain…" />;
  const asked = chain?.links.find(({ link }) => link === parts[1]);
  const shown = asked ?? (wide && chain ? worstLink(chain) : undefined);
  return (
    <div className="chain-page">
      {problem && <Problem sentence={problem} />}
      {report.verdict === null && <Issues report={report} />}
      {chain && (
        <div>
          {report.verdict === null && <StaleNote />}
          <Summary report={chain} unsaved={isUnsaved(state)} />
          <Cautions cautions={chain.cautions} />
          <Scene
            report={chain}
            selected={shown?.link}
            addressOf={(link) => routeTo(link === asked?.link && !wide ? ["chain"] : ["chain", link])}
            below={wide ? undefined : shown && <Findings of={shown} file={chain.bench.file} />}
          />
          {wide && shown && <Findings of={shown} file={chain.bench.file} />}
        </div>
      )}
    </div>
  );
}
