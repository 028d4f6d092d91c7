import { type FormEvent, useEffect, useRef, useState } from "react";
import { Dialog, Heading, Modal, ModalOverlay } from "react-aria-components";
import { ask, sending, sentenceOf } from "../../job/api.ts";
import { Problem } from "../../parts/states.tsx";
import { VerdictMark } from "../../parts/verdict.tsx";
import { bytesInWords, counted, upperFirst } from "../../parts/words.ts";
import type { FitFinding, WritePlan, WriteState } from "./types.ts";
import { commandInWords, copyInWords, estimateInWords, overwriteInWords } from "./words.ts";

/** So long the last button waits, that no second press of a double one can reach it; ms. */
export const PAUSE = 1500;

/** What would be done, and the steps that confirm it. */
export function PlanView({
  plan,
  onBack,
  onStarted,
}: {
  plan: WritePlan;
  onBack: () => void;
  onStarted: (state: WriteState) => void;
}) {
  const [word, setWord] = useState("");
  const [isDespite, setDespite] = useState(false);
  const [isAsked, setAsked] = useState(false);
  const [problem, setProblem] = useState<string | null>(null);
  const { target, fit } = plan;
  const isStopped = fit.some(({ verdict }) => verdict === "stops");
  const isReady = word.trim() === target.word && (!isStopped || isDespite);
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    if (isReady) setAsked(true);
  };
  const start = (): void => {
    setAsked(false);
    ask<WriteState>("write/start", sending("POST", { plan: plan.id, word, despite: isDespite })).then(
      onStarted,
      (error: unknown) => setProblem(sentenceOf(error)),
    );
  };
  return (
    <section className="panel" aria-labelledby="plan-title">
      <h2 id="plan-title">What would be done</h2>
      <PlanFacts plan={plan} />
      <Fit fit={fit} />
      {isStopped && (
        <label className="tick plan-despite">
          <input type="checkbox" checked={isDespite} onChange={(event) => setDespite(event.target.checked)} />
          <span>The check says that it does not fit. Write it all the same.</span>
        </label>
      )}
      <form className="confirm" onSubmit={submit}>
        <p className="confirm-what">{overwriteInWords(target)}</p>
        <label className="field">
          <span>
            To confirm, type the word that the target shows: <kbd>{target.word}</kbd>
          </span>
          <input
            value={word}
            onChange={(event) => setWord(event.target.value)}
            spellCheck={false}
            autoComplete="off"
            autoCapitalize="off"
          />
        </label>
        <div className="buttons">
          <button type="submit" className="button" disabled={!isReady}>
            Make ready
          </button>
          <button type="button" className="button is-quiet" onClick={onBack}>
            Choose otherwise
          </button>
        </div>
      </form>
      {problem && <Problem sentence={problem} />}
      <LastWord plan={plan} isOpen={isAsked} onNo={() => setAsked(false)} onYes={start} />
    </section>
  );
}

function PlanFacts({ plan }: { plan: WritePlan }) {
  const { image, target, blocks, blockSize, from, estimates, noEstimate } = plan;
  const isSeen = target.kind === "block device" || target.kind === "file";
  const kind = [target.kind, target.model, target.removable && "can be taken out", isSeen && bytesInWords(target.size)];
  const number = (value: number): string => value.toLocaleString("en-GB");
  const facts: readonly (readonly [string, string])[] = [
    ["Image", `${image.name}, ${bytesInWords(image.size)}; ${image.format ?? "no volume recognised"}`],
    ["Its SHA-256", image.sha256],
    ["Target", `${target.path}: ${kind.filter(Boolean).join(", ")}`],
    ...(isSeen
      ? ([
          ["It holds", target.holds ?? "nothing that was recognised"],
          ["In use", target.mounted.length === 0 ? "not mounted" : target.mounted.join(", ")],
        ] as const)
      : []),
    ...(target.calls
      ? ([
          ["Calls", commandInWords(target.calls.write)],
          ["Reads back by", target.calls.readBack ? commandInWords(target.calls.readBack) : "nothing: not verified"],
        ] as const)
      : []),
    ["Blocks", `${number(blocks)} of ${blockSize} bytes${from > 0 ? `; going on at block ${number(from)}` : ""}`],
    ["Before", copyInWords(plan)],
    [
      "How long",
      estimates
        ? `the bench's drive would write for ${estimateInWords(estimates.writing)} and read back for ${estimateInWords(estimates.verifying)}, by the timing model`
        : (noEstimate ?? "not known"),
    ],
  ];
  return (
    <dl className="shown-facts">
      {facts.map(([name, text]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>{text}</dd>
        </div>
      ))}
    </dl>
  );
}

/** What the check says of image, medium and drive. */
function Fit({ fit }: { fit: readonly FitFinding[] }) {
  if (fit.length === 0) return null;
  return (
    <section className="fit" aria-labelledby="fit-title">
      <h3 id="fit-title">Whether it fits</h3>
      <ul>
        {fit.map(({ link, verdict, sentence, remedy }) => (
          <li key={sentence} className={verdict === "stops" ? "is-stopped" : undefined}>
            <VerdictMark verdict={verdict} />
            <span>
              <span className="quiet">{link}:</span> {sentence}
              {verdict !== "runs" && remedy && <span className="quiet"> {remedy}</span>}
            </span>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** The second step: it opens with the focus on no, and yes waits a moment. */
function LastWord({
  plan,
  isOpen,
  onNo,
  onYes,
}: {
  plan: WritePlan;
  isOpen: boolean;
  onNo: () => void;
  onYes: () => void;
}) {
  const [isAwake, setAwake] = useState(false);
  const no = useRef<HTMLButtonElement>(null);
  useEffect(() => {
    if (!isOpen) return;
    no.current?.focus();
    const timer = setTimeout(() => setAwake(true), PAUSE);
    return () => {
      clearTimeout(timer);
      setAwake(false);
    };
  }, [isOpen]);
  return (
    <ModalOverlay className="overlay" isOpen={isOpen} onOpenChange={(open) => !open && onNo()}>
      <Modal className="modal last-word">
        <Dialog className="dialog" role="alertdialog">
          <Heading slot="title">Write {plan.image.name} now?</Heading>
          <p>{overwriteInWords(plan.target)}</p>
          <p className="quiet">{upperFirst(copyInWords(plan))}.</p>
          <div className="buttons">
            <button ref={no} type="button" className="button is-quiet" onClick={onNo}>
              Not yet
            </button>
            <button type="button" className="button is-grave" disabled={!isAwake} onClick={onYes}>
              Write {counted(plan.blocks - plan.from, "block")}
            </button>
          </div>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
