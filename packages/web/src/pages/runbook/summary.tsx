import { formatDuration } from "@rouse/core/quantity";
import type { RunBookView } from "./use-run-book.ts";

/** How far it is, and what can be done with the whole. */
export function Summary({
  view: { progress },
  onNext,
  allOpen,
  onAll,
}: {
  view: RunBookView;
  onNext: () => void;
  allOpen: boolean;
  onAll: (open: boolean) => void;
}) {
  return (
    <section className="panel run-summary" aria-label="How far it is">
      <p data-testid="progress">{progressText(progress)}</p>
      <progress value={progress.done} max={Math.max(1, progress.steps)} aria-label="Steps done" />
      <div className="buttons no-print">
        <button type="button" className="button" onClick={onNext} disabled={progress.done === progress.steps}>
          Next open step
        </button>
        <button type="button" className="button is-quiet" onClick={() => onAll(!allOpen)}>
          {allOpen ? "Close all" : "Open all"}
        </button>
        <button type="button" className="button is-quiet" onClick={() => window.print()}>
          Print
        </button>
        <a className="button is-quiet" href="/api/runbook/paper" download>
          Save as a checklist
        </a>
      </div>
    </section>
  );
}

const progressText = ({ steps, done, stale, seconds, atLeast }: RunBookView["progress"]): string =>
  [
    `${done} of ${steps} steps done`,
    ...(stale > 0 ? [`${stale} no longer ${stale === 1 ? "holds" : "hold"}`] : []),
    done === steps ? "nothing left" : `${atLeast ? "at least" : "about"} ${formatDuration(seconds)} left`,
  ].join(", ");
