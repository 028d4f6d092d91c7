import { ask, sending } from "../../job/api.ts";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { inSeconds } from "../../parts/seconds.ts";
import { upperFirst } from "../../parts/words.ts";
import type { WriteState } from "./types.ts";
import { estimateInWords, leftOf, modelShare, STAGES } from "./words.ts";

/** A write under way: how far it is, how long it takes, and how long the bench's own drive would take. */
export function Running({ state, isLost }: { state: WriteState; isLost: boolean }) {
  const { plan, progress } = state;
  const stage = STAGES.find(([each]) => each === progress?.stage);
  const left = progress ? leftOf(progress) : undefined;
  const estimate = progress ? plan.estimates?.[progress.stage] : undefined;
  const share = progress ? progress.done / progress.blocks : 0;
  const number = (value: number): string => value.toLocaleString("en-GB");
  return (
    <section className="panel" aria-labelledby="running-title">
      <h2 id="running-title">
        {plan.image.name} onto {plan.target.path}
      </h2>
      <p className="running-stage" data-testid="stage">
        {state.state === "stopping" ? "Stopping after the stretch at hand…" : (stage?.[1] ?? "Beginning…")}
      </p>
      <progress value={share} max={1} aria-label={stage?.[1] ?? "Beginning"} />
      {progress && (
        <p data-testid="progress">
          Block {number(progress.done)} of {number(progress.blocks)}; {inSeconds(progress.elapsed / 1000)} so far
          {left !== undefined && `, about ${inSeconds(left / 1000)} left`}
        </p>
      )}
      {progress && estimate && (
        <>
          <progress
            className="is-model"
            value={modelShare(progress, estimate)}
            max={1}
            aria-label="The bench's drive, by the timing model"
          />
          <p className="quiet" data-testid="model">
            By the timing model the bench's drive would be at block{" "}
            {number(Math.floor(modelShare(progress, estimate) * progress.blocks))} now, and takes{" "}
            {estimateInWords(estimate)}
          </p>
        </>
      )}
      {/* Spoken once a tenth, not at every block. */}
      <p className="sr-only" role="status">
        {progress && `${upperFirst(progress.stage)}: ${Math.floor(share * 10) * 10} per cent`}
      </p>
      {isLost && (
        <p className="quiet">The connection is lost; the write goes on in the server, and this page joins it again.</p>
      )}
      <Clocks state={state} />
      <button
        type="button"
        className="button is-quiet"
        disabled={state.state === "stopping"}
        onClick={() => void ask("write/stop", sending("POST", {})).catch(() => {})}
      >
        Stop
      </button>
      <p className="quiet">
        {plan.target.kind === "adapter"
          ? "Stopped, it leaves a disk that has to be written anew."
          : "It can be stopped and gone on with later."}{" "}
        This page may be closed or loaded anew: the write goes on.
      </p>
    </section>
  );
}

/** Each stage's real time beside the timing model's. */
export function Clocks({ state }: { state: WriteState }) {
  const { took, plan } = state;
  const stages = STAGES.filter(
    ([stage]) =>
      (stage !== "saving" || plan.copyTo !== null) && (stage !== "verifying" || plan.target.calls?.readBack !== null),
  );
  return (
    <ScrollX name="Stages">
      <table className="rows clocks" aria-label="Time of each stage">
        <thead>
          <tr>
            <th scope="col">Stage</th>
            <th scope="col">Here</th>
            <th scope="col">The bench's drive, by the model</th>
          </tr>
        </thead>
        <tbody>
          {stages.map(([stage, words]) => (
            <tr key={stage}>
              <th scope="row">{words}</th>
              <td>{took[stage] === undefined ? "not yet" : inSeconds(took[stage] / 1000)}</td>
              <td>{plan.estimates ? estimateInWords(plan.estimates[stage]) : "not known"}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </ScrollX>
  );
}
