import { useState } from "react";
import { useRoute } from "../../app/route.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { Causes, Found } from "./causes.tsx";
import { ChainBars } from "./chain-bars.tsx";
import { History } from "./history.tsx";
import { Seen } from "./seen.tsx";
import { TestCard } from "./test-card.tsx";
import { useWhy } from "./use-why.ts";
import "../../parts/forms.css";
import "./why.css";

export default function WhyPage() {
  const from = useRoute().query.get("symptom") ?? undefined;
  const why = useWhy(from);
  const [link, setLink] = useState<string | null>(null);
  const { told, problem } = why;
  const test = told?.asked ?? told?.tests[0];
  return (
    <div className="page-stack">
      <h1>Why</h1>
      <p className="lead">
        Say what you see and measure. Every part of this bench that may be to blame is ranked, and the test is proposed
        that tells most for its minutes and its risk. One fault is looked for at a time; a test may mislead, and that is
        counted in.
      </p>
      {problem && <Problem sentence={problem} />}
      {!told && !problem && <Loading what="Looking at the bench…" />}
      {told && (
        <>
          <Seen told={told} why={why} />
          {told.found && <Found told={told} />}
          <ChainBars links={told.links} chosen={link} onChoose={setLink} />
          <div className="why-columns">
            {test && <TestCard key={test.id} test={test} told={told} why={why} />}
            <Causes told={told} link={link} />
          </div>
          <History told={told} why={why} />
        </>
      )}
    </div>
  );
}
