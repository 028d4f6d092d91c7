import { counted } from "../../parts/words.ts";
import type { RunBookState } from "./store.ts";

/** What is not sent yet, and what to heed meanwhile; nothing where all is well. */
export function Waiting({ state, phone = false }: { state: RunBookState; phone?: boolean }) {
  const { connection, kept, foreign, lasts, problem } = state;
  const waiting = kept.filter(({ refused }) => refused === undefined).length;
  const lines: string[] = [];
  if (connection === "lost")
    lines.push(
      phone
        ? `No connection to the computer. Go on: what you do is kept on this phone and sent later. Do not close or reload this page meanwhile; it cannot be loaded without the computer.`
        : "The workbench does not answer. What you do is kept in this browser and sent when it is back.",
    );
  if (problem) lines.push(problem);
  if (waiting > 0) lines.push(`${counted(waiting, "entry waits", "entries wait")} to be sent.`);
  if (waiting > 0 && !lasts) lines.push("This browser keeps them only as long as this page is open.");
  if (foreign > 0)
    lines.push(
      `${counted(foreign, "entry", "entries")} for another job ${foreign === 1 ? "waits" : "wait"} here until that is open again.`,
    );
  return (
    <div role="status" className="waiting" data-testid="waiting">
      {lines.map((each) => (
        <p key={each} className={`notice${problem === each ? " is-bad" : ""}`}>
          {each}
        </p>
      ))}
    </div>
  );
}
