import { InputError } from "../../errors/index.ts";
import { formatValue, parseQuantity } from "../../quantity/index.ts";
import type { RunBook, Step, StepEntry, Wanted } from "../types.ts";

/** An entry of the job's log, as read. */
export interface Logged {
  time: string;
  entry: Readonly<Record<string, unknown>>;
}

/** Something that was done or noted at a step. */
export interface Evidence {
  /** When it was done; ISO 8601. */
  at: string;
  what: StepEntry["what"] | "certificate";
  basis?: string;
  note?: string;
  reading?: { text: string; within: boolean };
  file?: { path: string; sha256: string };
}

/** `no longer holds`: it was done, but the bench it rested on has changed since. */
export interface StepState {
  step: Step;
  state: "done" | "open" | "no longer holds";
  evidence: readonly Evidence[];
  /** Why a step is open although something was done. */
  remark?: string;
}

const WHATS: readonly string[] = ["tick", "reading", "note", "file", "reopen"];
const isText = (value: unknown): value is string => typeof value === "string";

/** An entry of the log as one of the run book's; undefined where it is not. */
export function readEntry(entry: Readonly<Record<string, unknown>>): StepEntry | undefined {
  const { kind, step, what, basis, id, at, note, reading, file } = entry;
  if (kind !== "run-book" || !isText(step) || !isText(basis) || !isText(what) || !WHATS.includes(what))
    return undefined;
  const { path, sha256 } = typeof file === "object" && file !== null ? (file as Record<string, unknown>) : {};
  return {
    kind,
    step,
    what: what as StepEntry["what"],
    basis,
    ...(isText(id) ? { id } : {}),
    ...(isText(at) && !Number.isNaN(Date.parse(at)) ? { at } : {}),
    ...(isText(note) ? { note } : {}),
    ...(isText(reading) ? { reading } : {}),
    ...(isText(path) && isText(sha256) ? { file: { path, sha256 } } : {}),
  };
}

/** A reading with its unit: a bare number is in the base unit, as the step asks for it. */
export function readingText(text: string, { dimension }: Wanted): string {
  const bare = /^[+\-\u2212]?\s*[\d.,]*\d[\d.,]*$/.test(text.trim());
  return bare ? `${text.trim()} ${formatValue(1, dimension).replace(/^1 /, "")}` : text.trim();
}

/** Reads a reading and compares it with what is wanted. Throws an `InputError` where it is no such quantity. */
export function checkReading(text: string, wanted: Wanted): { within: boolean; sentence: string } {
  const { value } = parseQuantity(readingText(text, wanted).replace(/^\u2212/, "-"), wanted.dimension);
  const limits = `${formatValue(wanted.low, wanted.dimension)} to ${formatValue(wanted.high, wanted.dimension)}`;
  // A limit such as 5 V + 5 % is not exact in binary.
  const slack = 1e-9 * Math.max(Math.abs(wanted.low), Math.abs(wanted.high));
  const within = value >= wanted.low - slack && value <= wanted.high + slack;
  const shown = formatValue(value, wanted.dimension);
  return { within, sentence: `${wanted.what} at ${shown} is ${within ? "within" : "outside"} ${limits}.` };
}

/**
 * The entry for what a person did at a step. With a reading inside its limits the step is ticked; outside them only
 * the reading is kept. Throws an `InputError` for a tick without the reading that the step asks for.
 */
export function entryOf(
  step: Step,
  wish: {
    what: "tick" | "note" | "file" | "reopen";
    reading?: string;
    note?: string;
    file?: StepEntry["file"];
    id?: string;
    at?: string;
  },
): { entry: StepEntry; sentence?: string; within?: boolean } {
  const { what, reading, note, file, id, at } = wish;
  const entry: StepEntry = {
    kind: "run-book",
    step: step.id,
    what,
    basis: step.basis,
    ...(id === undefined ? {} : { id }),
    ...(at === undefined ? {} : { at }),
    ...(note === undefined ? {} : { note }),
    ...(file === undefined ? {} : { file }),
  };
  if (reading === undefined) {
    if (what === "tick" && step.reading)
      throw new InputError(
        "reading-wanted",
        `“${step.id}” asks for a reading of ${step.reading.what}, ${step.reading.text}; give it with --reading.`,
      );
    return { entry };
  }
  if (!step.reading) throw new InputError("no-reading", `“${step.id}” asks for no reading; keep it as a note.`);
  const checked = checkReading(reading, step.reading);
  return {
    entry: { ...entry, what: checked.within ? what : "reading", reading: readingText(reading, step.reading) },
    ...checked,
  };
}

/** Certificates of a disk that was written and read back the same, by the image's SHA-256. */
function certificateOf(entry: Readonly<Record<string, unknown>>): string | undefined {
  const { kind, verified, image } = entry;
  if ((kind !== "write-certificate" && kind !== "adapter-certificate") || verified !== true) return undefined;
  const sha256 = (image as Record<string, unknown> | null | undefined)?.sha256;
  return isText(sha256) ? sha256 : undefined;
}

/** What of a log speaks of a run book, cut to what it says there: for pages, which work out the states themselves. */
export const evidenceIn = (log: readonly Logged[]): Logged[] =>
  log.flatMap(({ time, entry }): Logged[] => {
    const read = readEntry(entry);
    if (read) return [{ time, entry: { ...read } }];
    const sha256 = certificateOf(entry);
    return sha256 === undefined ? [] : [{ time, entry: { kind: entry.kind, verified: true, image: { sha256 } } }];
  });

/** A reading as it stands against today's limits; one that cannot be read is outside. */
function readingOf(text: string, wanted: Wanted | undefined): { text: string; within: boolean } {
  try {
    return { text, within: wanted !== undefined && checkReading(text, wanted).within };
  } catch (error) {
    if (error instanceof InputError) return { text, within: false };
    throw error;
  }
}

function judge(step: Step, evidence: readonly Evidence[]): Omit<StepState, "step" | "evidence"> {
  const last = evidence.filter((each) => each.what !== "note" && each.what !== "file").at(-1);
  if (last === undefined) return { state: "open" };
  if (last.what === "certificate") return { state: "done" };
  if (last.what === "reopen") return { state: "open", remark: "taken back" };
  if (last.what === "reading")
    return { state: "open", remark: `${last.reading?.text ?? "the reading"} was out of tolerance` };
  if (last.basis !== step.basis) return { state: "no longer holds", remark: "the bench has changed since" };
  if (step.reading && last.reading?.within !== true)
    return { state: "open", remark: last.reading ? "its reading is out of tolerance" : "its reading is missing" };
  return { state: "done" };
}

/**
 * Where every step stands, by the log and the bench as it is now. The order of the log does not matter, nor does an entry
 * that comes twice: entries kept elsewhere in the meantime can be added later. `left` is what was done at steps that
 * this bench no longer has.
 */
export function stateOf(
  book: RunBook,
  log: readonly Logged[],
): { steps: readonly StepState[]; left: readonly { step: string; evidence: readonly Evidence[] }[] } {
  const byStep = new Map<string, Evidence[]>();
  const seen = new Set<string>();
  const add = (step: string, evidence: Evidence) => byStep.set(step, [...(byStep.get(step) ?? []), evidence]);
  const wanted = new Map(book.steps.map((step) => [step.id, step.reading]));
  for (const { time, entry } of log) {
    const sha256 = certificateOf(entry);
    const certificate = `certificate ${time} ${sha256}`;
    if (sha256 !== undefined && !seen.has(certificate)) {
      seen.add(certificate);
      for (const step of book.steps) if (step.image === sha256) add(step.id, { at: time, what: "certificate" });
    }
    const read = readEntry(entry);
    if (!read) continue;
    const { id, step, reading, what, basis, note, file } = read;
    const name = id ?? JSON.stringify([read.at ?? time, entry]);
    if (seen.has(name)) continue;
    seen.add(name);
    add(step, {
      at: new Date(read.at ?? time).toISOString(),
      what,
      basis,
      ...(note === undefined ? {} : { note }),
      ...(file === undefined ? {} : { file }),
      ...(reading === undefined ? {} : { reading: readingOf(reading, wanted.get(step)) }),
    });
  }
  const ordered = (evidence: readonly Evidence[]) =>
    evidence
      .map((each) => ({ each, key: `${each.at} ${JSON.stringify(each)}` }))
      .sort((a, b) => (a.key < b.key ? -1 : a.key > b.key ? 1 : 0))
      .map(({ each }) => each);
  const steps = book.steps.map((step) => {
    const evidence = ordered(byStep.get(step.id) ?? []);
    return { step, evidence, ...judge(step, evidence) };
  });
  const left = [...byStep]
    .filter(([id]) => !wanted.has(id))
    .map(([step, evidence]) => ({ step, evidence: ordered(evidence) }))
    .sort((a, b) => (a.step < b.step ? -1 : 1));
  return { steps, left };
}
