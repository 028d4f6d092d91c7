import type { Bench } from "../bench/index.ts";
import { fittingsOf } from "../board/index.ts";
import type { Source } from "../catalogue/index.ts";
import type { Chain, JobReport } from "../fit/index.ts";
import { type HashedImage, makeRunBook, readEntry, type StepState, stateOf } from "../runbook/index.ts";
import { certificatesOf, filesAsEvidence, readingsOf, searchOf } from "./evidence.ts";
import { creditsOf, provenanceOf, surveysOf } from "./images.ts";
import type { Change, Dossier, JobFile, LoggedEntry } from "./types.ts";

/** What a record is made of. */
export interface DossierParts {
  bench: Bench;
  /** Text of the bench file. */
  text: string;
  report: JobReport;
  chain: Chain;
  images: readonly HashedImage[];
  log: readonly LoggedEntry[];
  /** Everything in the job folder. */
  files: readonly JobFile[];
  /** Credits that the script of the show names. */
  credits: readonly string[];
  /** What could not be read, in sentences. */
  unread: readonly string[];
}

/** Gathers the record of a job: what was there, what was done, what shows it, and who says so. */
export function gatherDossier({
  bench,
  text,
  report,
  chain,
  images,
  log,
  files,
  credits,
  unread,
}: DossierParts): Dossier {
  const { steps, left } = stateOf(makeRunBook(bench, images, chain), log);
  const evidence = filesAsEvidence(bench, files, steps);
  const provenance = provenanceOf(bench, images, files);
  return {
    format: "rouse-dossier",
    version: 2,
    report,
    bench: text,
    images: provenance,
    surveys: surveysOf(images),
    changes: changesOf(bench, steps),
    runBook: steps,
    left,
    readings: readingsOf(steps),
    certificates: certificatesOf(log),
    diagnostics: { ...searchOf(bench, chain, log), reports: evidence.reports },
    captures: evidence.captures,
    photos: evidence.photos,
    log: othersIn(log),
    unread: [...unread, ...evidence.unread],
    credits: creditsOf(provenance, credits),
    sources: sourcesOf(report),
  };
}

/** Each step that changed the machine for an added board, with the step that takes it back and what the log says of both. */
function changesOf(bench: Bench, states: readonly StepState[]): Change[] {
  if (!bench.computer) return [];
  return fittingsOf(bench.computer).flatMap(({ board, steps }) => {
    // The run book has one step for each step of the fitting, in the same order.
    const fitted = states.filter(({ step }) => step.id.startsWith(`fit/${board}/`));
    const undone = states.some(({ step, state }) => step.id === `put-back/${board}` && state === "done");
    return steps.flatMap((step, index): Change[] => {
      if (step.undo === undefined) return [];
      const { state, evidence } = fitted[index] ?? { state: "not in the run book" as const, evidence: [] };
      const at = evidence.filter(({ what }) => what === "tick").at(-1)?.at ?? null;
      return [{ change: `${board}: ${step.text}`, undo: step.undo, state, at, undone }];
    });
  });
}

const ELSEWHERE = ["write-certificate", "adapter-certificate", "why"];

const inWords = (value: unknown): string =>
  typeof value === "string" || typeof value === "number" || typeof value === "boolean"
    ? String(value)
    : JSON.stringify(value);

/** Entries that are neither the run book's, nor a search's, nor certificates. */
const othersIn = (log: readonly LoggedEntry[]): Dossier["log"] =>
  log.flatMap(({ time, entry }) => {
    const kind = String(entry.kind ?? "note");
    if (readEntry(entry) || ELSEWHERE.includes(kind)) return [];
    const particulars = Object.entries(entry)
      .filter(([key]) => key !== "kind")
      .map(([key, value]) => `${key}: ${inWords(value)}`)
      .join("; ");
    return [{ time, kind, particulars }];
  });

/** Every source that a finding names; two that read the same stand there once. */
function sourcesOf(report: JobReport): Source[] {
  const found = new Map<string, Source>();
  for (const { findings } of report.links)
    for (const { sources } of findings) for (const each of sources) found.set(`${each.title}\n${each.kind}`, each);
  return [...found.values()].sort((a, b) =>
    a.title < b.title ? -1 : a.title > b.title ? 1 : a.kind < b.kind ? -1 : 1,
  );
}
