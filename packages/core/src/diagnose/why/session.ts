import type { Answer } from "./types.ts";

/** What a log keeps of a search; entries with `kind` "why". */
export type WhyEntry =
  | ({ kind: "why"; what: "answer" } & Answer)
  | { kind: "why"; what: "undo"; id: string; of: string }
  | { kind: "why"; what: "fresh"; id: string };

/** An entry of the job's log, as read. */
interface Logged {
  time: string;
  entry: Readonly<Record<string, unknown>>;
}

const isText = (value: unknown): value is string => typeof value === "string" && value.length <= 400;

/** An entry of the log as one of a search's; undefined where it is not. */
function readEntry(entry: Readonly<Record<string, unknown>>, time: string): WhyEntry | undefined {
  const { kind, what, id, of, test, outcomes, reading } = entry;
  if (kind !== "why" || !isText(id)) return undefined;
  if (what === "fresh") return { kind, what, id };
  if (what === "undo") return isText(of) ? { kind, what, id, of } : undefined;
  if (what !== "answer" || !isText(test) || !Array.isArray(outcomes) || !outcomes.every(isText)) return undefined;
  return { kind, what, id, test, outcomes, at: time, ...(isText(reading) ? { reading } : {}) };
}

/**
 * The search that a log holds: every answer since the last fresh start that was not taken back. Where a test was answered
 * twice the later answer counts; an entry that comes twice counts once.
 */
export function answersOf(log: readonly Logged[]): Answer[] {
  let answers: Answer[] = [];
  const seen = new Set<string>();
  for (const { entry, time } of log) {
    const read = readEntry(entry, time);
    if (!read || seen.has(read.id)) continue;
    seen.add(read.id);
    if (read.what === "fresh") answers = [];
    else if (read.what === "undo") answers = answers.filter(({ id }) => id !== read.of);
    else {
      const { kind: _, what: __, ...answer } = read;
      answers.push(answer);
    }
  }
  return answers.filter(({ test }, index) => !answers.slice(index + 1).some((later) => later.test === test));
}
