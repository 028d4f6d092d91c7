import { useEffect, useState } from "react";
import { useJob } from "../../job/job.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { useBeside } from "./beside.ts";
import { Choose, usualWish } from "./choose.tsx";
import { Programs } from "./programs.tsx";
import { Results } from "./results.tsx";
import type { Wish } from "./types.ts";
import { keepWish } from "./wishes.ts";
import "../../parts/forms.css";
import "./diagnose.css";

export default function DiagnosePage() {
  const { saved } = useJob();
  const choices = useBeside<"choices">();
  const text = saved?.text;
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file changed
  useEffect(() => {
    if (text !== undefined) choices.start(text, { kind: "choices" });
  }, [text]);
  return (
    <div className="page-stack">
      <h1>Diagnose</h1>
      <p className="lead">
        Test programs made for this very bench: they use the memory, the latches and the port that it has, and print
        what they find. What they print names the part.
      </p>
      {choices.problem && <Problem sentence={choices.problem} />}
      {!choices.answer && !choices.problem && <Loading what="Looking at the bench…" />}
      {choices.answer && text !== undefined && <Diagnosis key={text} text={text} choices={choices.answer} />}
    </div>
  );
}

function Diagnosis({
  text,
  choices,
}: {
  text: string;
  choices: NonNullable<ReturnType<typeof useBeside<"choices">>["answer"]>;
}) {
  const [wish, setWish] = useState<Wish>(usualWish);
  /** What the programs that are shown were made of. */
  const [made, setMade] = useState<Wish>(wish);
  const make = useBeside<"make">();
  const programs = make.answer;
  useEffect(() => {
    if (programs) keepWish(programs, made);
  }, [programs, made]);
  return (
    <>
      <div className="d-columns">
        <Choose
          choices={choices}
          wish={wish}
          isBusy={make.isBusy}
          onWish={setWish}
          onMake={() => {
            setMade(wish);
            make.start(text, { kind: "make", wish });
          }}
        />
        <div className="d-made" aria-live="polite">
          {make.isBusy && <Loading what="Making the program…" />}
          {make.problem && <Problem sentence={make.problem} />}
          {programs && !make.isBusy && <Programs programs={programs} text={text} wish={made} />}
          {!programs && !make.isBusy && !make.problem && (
            <p className="quiet">
              The program appears here, in every form: source, listing, S-record, Intel HEX, raw, and to type in.
            </p>
          )}
        </div>
      </div>
      <Results text={text} wish={programs ? made : wish} memory={choices.memory} />
    </>
  );
}
