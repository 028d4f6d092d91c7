import { InputError } from "../../errors/index.ts";
import type { RunBook, StepEntry } from "../types.ts";
import { checkReading, readEntry, readingText } from "./judge.ts";

/** Entries from a page: names as the page makes them, texts as long as a person writes. */
const NAME = /^[\w-]{8,64}$/;
const BASIS = /^[0-9a-f]{16}$/;
const MOST = { step: 200, note: 10_000, reading: 100 } as const;

/** Whether this is a name that an entry of a page may have: it can stand in a file name. */
export const isEntryName = (id: string): boolean => NAME.test(id);

/**
 * An entry that a page made, perhaps a while ago and without a connection, as it is to be logged. It keeps the basis that
 * the person saw; where the bench is still the same, a reading outside its limits ticks nothing. `shift` is added to its time, in ms: the
 * page's clock against ours. Throws an `InputError` for what cannot be an entry.
 */
export function acceptEntry(given: Readonly<Record<string, unknown>>, book: RunBook, shift = 0): StepEntry {
  const refuse = (sentence: string): never => {
    throw new InputError("bad-entry", sentence);
  };
  const read = readEntry({ ...given, kind: "run-book" });
  if (read?.id === undefined || read.at === undefined || !isEntryName(read.id) || !BASIS.test(read.basis))
    return refuse("This is no entry of a run book: it lacks a name, a time, a step or what was done.");
  const { step: id, what, note, reading } = read;
  for (const [key, value] of [
    ["step", id],
    ["note", note],
    ["reading", reading],
  ] as const)
    if (value !== undefined && value.length > MOST[key]) refuse(`The ${key} is longer than ${MOST[key]} characters.`);
  if (what === "note" && !note?.trim()) refuse("A note needs words.");
  if (what === "reading" && reading === undefined) refuse("The reading is missing.");
  const base: StepEntry = {
    kind: "run-book",
    step: id,
    what,
    basis: read.basis,
    id: read.id,
    at: new Date(Date.parse(read.at) + shift).toISOString(),
    ...(note?.trim() ? { note } : {}),
  };
  if (what !== "tick" && what !== "reading") return base;
  const step = book.steps.find((each) => each.id === id);
  // A step that has changed or gone is judged when the log is read: the tick no longer holds.
  const same = step?.basis === read.basis ? step : undefined;
  if (reading === undefined) {
    if (same?.reading) refuse(`This step asks for a reading of ${same.reading.what}, ${same.reading.text}.`);
    return base;
  }
  if (same && !same.reading) refuse("This step asks for no reading; keep it as a note.");
  const within = same?.reading === undefined || checkReading(reading, same.reading).within;
  return {
    ...base,
    what: within ? what : "reading",
    reading: same?.reading ? readingText(reading, same.reading) : reading.trim(),
  };
}
