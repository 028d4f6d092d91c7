import { type FormEvent, useEffect, useState } from "react";
import { ask, ServerProblem, sending, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { Problem } from "../../parts/states.tsx";
import { TargetFields } from "./target-fields.tsx";
import type { PlanAsked, Targets, WritePlan } from "./types.ts";

/** Which image, and onto what. Looking makes a plan; nothing is written by it. */
export function Choose({
  first,
  resumes,
  onPlan,
}: {
  /** What was asked before, to begin with. */
  first: PlanAsked | undefined;
  /** An interrupted write is to be gone on with: it is looked at at once. */
  resumes: boolean;
  onPlan: (plan: WritePlan, asked: PlanAsked) => void;
}) {
  const job = useJob();
  // What the bench names comes first: the rest of images/ may be ROMs and copies.
  const named = (file: string): boolean =>
    job.report?.images.some((each) => each.file.replace(/^(\.\/)?images\//, "") === file) ?? false;
  const images = (job.images ?? []).filter(({ problem }) => !problem);
  const sorted = [...images].sort((a, b) => Number(named(b.name)) - Number(named(a.name)));
  const [targets, setTargets] = useState<Targets>({ devices: [], writers: [] });
  const [image, setImage] = useState(first?.image ?? "");
  const [target, setTarget] = useState({ device: first?.device, writer: first?.writer, file: first?.file ?? "" });
  const [keepsCopy, setKeepsCopy] = useState(true);
  const [problem, setProblem] = useState<{ code: string; sentence: string } | null>(null);
  const [isBusy, setBusy] = useState(false);

  const list = (): void => {
    ask<Targets>("write/targets").then(setTargets, (error: unknown) =>
      setProblem({ code: "fault", sentence: sentenceOf(error) }),
    );
  };
  useEffect(list, []);
  const chosen = image || sorted[0]?.name || "";
  const isFile = target.device === undefined && target.writer === undefined;

  const look = async (more: Partial<PlanAsked> = {}): Promise<void> => {
    const place = target.writer
      ? { writer: target.writer }
      : target.device
        ? { device: target.device }
        : { file: target.file.trim() };
    const asked: PlanAsked = { image: chosen, ...place, withoutCopy: !keepsCopy, ...more };
    setBusy(true);
    setProblem(null);
    try {
      onPlan(await ask<WritePlan>("write/plan", sending("POST", asked)), asked);
    } catch (error) {
      setProblem({ code: error instanceof ServerProblem ? error.code : "fault", sentence: sentenceOf(error) });
    }
    setBusy(false);
  };
  // biome-ignore lint/correctness/useExhaustiveDependencies: once, when it comes up
  useEffect(() => {
    if (resumes) void look({ resume: true });
  }, []);
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    void look();
  };

  if (images.length === 0)
    return (
      <section className="panel">
        <p>
          There is no image to write: put one into the folder <code>images</code> of this job.
        </p>
      </section>
    );
  return (
    <form className="panel" onSubmit={submit} aria-labelledby="choose-title">
      <h2 id="choose-title">Which image, and onto what</h2>
      <div className="fields">
        <label className="field write-image">
          <span>Image</span>
          <select value={chosen} onChange={(event) => setImage(event.target.value)}>
            {sorted.map(({ name, size }) => (
              <option key={name} value={name}>
                {name}, {size.toLocaleString("en-GB")} bytes
              </option>
            ))}
          </select>
        </label>
      </div>
      <TargetFields targets={targets} chosen={target} onChoose={setTarget} onList={list} />
      <label className="tick">
        <input type="checkbox" checked={keepsCopy} onChange={(event) => setKeepsCopy(event.target.checked)} />
        <span>Save what is on it into images/ first</span>
      </label>
      {problem && (
        <Problem sentence={problem.code === "unfinished" ? UNFINISHED : problem.sentence}>
          {problem.code === "unfinished" && (
            <button type="button" className="button" onClick={() => void look({ resume: true })}>
              Go on where it stopped
            </button>
          )}
          {problem.code === "named-once" && (
            <button type="button" className="button is-quiet" onClick={() => void look({ twice: true })}>
              I mean this very target
            </button>
          )}
        </Problem>
      )}
      <button type="submit" className="button" disabled={isBusy || (isFile && target.file.trim() === "")}>
        {isBusy ? "Looking…" : "Look at the target"}
      </button>
      <p className="quiet">
        {isBusy && target.device
          ? "The whole disk is read once to say what it holds; a real drive takes about a minute."
          : "Looking only reads: it shows what would be done, and writes nothing."}
      </p>
    </form>
  );
}

const UNFINISHED =
  "A write to this target was interrupted. Go on with it, or remove its journal from the job folder to begin anew.";
