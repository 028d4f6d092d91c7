import { VerdictMark } from "../../parts/verdict.tsx";
import type { FindingTold } from "./types.ts";

/** What the chain's check says of this, with what to do. */
export function Told({ findings, id }: { findings: readonly FindingTold[]; id: string }) {
  const found = findings.find((each) => each.id === id);
  if (!found) return null;
  return (
    <div className="told" data-testid={id}>
      <VerdictMark verdict={found.verdict} />
      <div>
        <p>{found.sentence}</p>
        {found.remedy && found.verdict !== "runs" && <p className="quiet">→ {found.remedy}</p>}
      </div>
    </div>
  );
}
