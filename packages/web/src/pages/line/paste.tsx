import { type FormEvent, useId } from "react";
import type { PaceWish } from "./pace.ts";
import { PaceFields } from "./pace-fields.tsx";
import type { BenchEnd, Settings, Work } from "./types.ts";
import { TransferEnd } from "./work-view.tsx";

/** Text that goes out at a pace which the other end can follow. */
export function Paste({
  text,
  onText,
  pace,
  onPace,
  ends,
  settings,
  isReady,
  work,
  onPaste,
}: {
  text: string;
  onText: (text: string) => void;
  pace: PaceWish;
  onPace: (pace: PaceWish) => void;
  ends: readonly BenchEnd[];
  settings: Settings | undefined;
  isReady: boolean;
  work: Work | null;
  onPaste: (text: string) => void;
}) {
  const id = useId();
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    onPaste(text);
  };
  return (
    <form className="line-tool" onSubmit={submit}>
      <label className="field" htmlFor={id}>
        <span>Text to send</span>
        <textarea id={id} value={text} onChange={(event) => onText(event.target.value)} rows={6} spellCheck={false} />
      </label>
      <PaceFields pace={pace} onPace={onPace} ends={ends} settings={settings} />
      <button type="submit" className="button" disabled={!isReady || text === ""}>
        Send at this pace
      </button>
      {work?.kind === "paste" && <TransferEnd work={work} />}
      <p className="quiet">What is pasted into the screen itself goes out at this pace too.</p>
    </form>
  );
}
