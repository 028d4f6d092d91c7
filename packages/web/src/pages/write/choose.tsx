import { type FormEvent, useEffect, useState } from "react";
import { ask, ServerProblem, sending, sentenceOf } from "../../job/api.ts";
import { useJob } from "../../job/job.ts";
import { Problem } from "../../parts/states.tsx";
import { bytesInWords } from "../../parts/words.ts";
import type { ListedTarget, PlanAsked, WritePlan } from "./types.ts";

const FILE = "file";

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
  const images = (useJob().images ?? []).filter(({ problem }) => !problem);
  const [targets, setTargets] = useState<readonly ListedTarget[]>([]);
  const [image, setImage] = useState(first?.image ?? "");
  const [target, setTarget] = useState<string>(first?.device ?? FILE);
  const [file, setFile] = useState(first?.file ?? "");
  const [keepsCopy, setKeepsCopy] = useState(true);
  const [problem, setProblem] = useState<{ code: string; sentence: string } | null>(null);
  const [isBusy, setBusy] = useState(false);

  const list = (): void => {
    ask<readonly ListedTarget[]>("write/targets").then(setTargets, (error: unknown) =>
      setProblem({ code: "fault", sentence: sentenceOf(error) }),
    );
  };
  useEffect(list, []);
  const chosen = image || images[0]?.name || "";

  const look = async (more: Partial<PlanAsked> = {}): Promise<void> => {
    const place = target === FILE ? { file: file.trim() } : { device: target };
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
        <label className="field">
          <span>Image</span>
          <select value={chosen} onChange={(event) => setImage(event.target.value)}>
            {images.map(({ name, size }) => (
              <option key={name} value={name}>
                {name}, {size.toLocaleString("en-GB")} bytes
              </option>
            ))}
          </select>
        </label>
      </div>
      <fieldset className="targets">
        <legend>Target</legend>
        {targets.map(({ path, size, model }) => (
          <label key={path} className="tick">
            <input type="radio" name="target" checked={target === path} onChange={() => setTarget(path)} />
            <span>
              <strong>{path}</strong>{" "}
              <span className="quiet">
                {[model, size === 0 ? "no disk in it" : bytesInWords(size)].filter(Boolean).join(", ")}
              </span>
            </span>
          </label>
        ))}
        {targets.length === 0 && (
          <p className="quiet">No drive that can be taken out is connected, and no loop is set up.</p>
        )}
        <div className="target-file">
          <label className="tick">
            <input type="radio" name="target" checked={target === FILE} onChange={() => setTarget(FILE)} />
            <span>A file in the job folder</span>
          </label>
          <label className="field">
            <span className="sr-only">Name of the file</span>
            <input
              value={file}
              placeholder="copy.img"
              onChange={(event) => {
                setFile(event.target.value);
                setTarget(FILE);
              }}
              spellCheck={false}
              autoComplete="off"
            />
          </label>
        </div>
        <button type="button" className="button is-quiet" onClick={list}>
          Look for drives again
        </button>
      </fieldset>
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
      <button type="submit" className="button" disabled={isBusy || (target === FILE && file.trim() === "")}>
        {isBusy ? "Looking…" : "Look at the target"}
      </button>
      <p className="quiet">Looking writes nothing.</p>
    </form>
  );
}

const UNFINISHED =
  "A write to this target was interrupted. Go on with it, or remove its journal from the job folder to begin anew.";
