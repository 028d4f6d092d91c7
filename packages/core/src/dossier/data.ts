import type { Bench } from "../bench/index.ts";
import { fittingsOf } from "../board/index.ts";
import type { Source } from "../catalogue/index.ts";
import type { JobReport } from "../fit/index.ts";

/** One entry of the job's log, as read. */
export interface LoggedEntry {
  time: string;
  entry: Readonly<Record<string, unknown>>;
}

/** The record that stays, as data. */
export interface Dossier {
  format: "rouse-dossier";
  version: 1;
  report: JobReport;
  /** Text of the bench file. */
  bench: string;
  images: readonly {
    file: string;
    size: number;
    sha256: string | null;
    holds: string;
    from: string;
    permission: string;
  }[];
  changes: readonly { change: string; undo: string }[];
  log: readonly { time: string; kind: string; particulars: string }[];
  sources: readonly Source[];
}

const NOT_SAID = "not said";

const inWords = (value: unknown): string =>
  typeof value === "string" || typeof value === "number" || typeof value === "boolean"
    ? String(value)
    : JSON.stringify(value);

/** Gathers the record of a job: what was there, what was done, and who says so. */
export function gatherDossier(bench: Bench, text: string, report: JobReport, log: readonly LoggedEntry[]): Dossier {
  const sources = new Map<string, Source>();
  for (const { findings } of report.links)
    for (const { sources: some } of findings) for (const each of some) sources.set(each.id, each);
  return {
    format: "rouse-dossier",
    version: 1,
    report,
    bench: text,
    images: report.images.map((each) => {
      const described = bench.images.find((image) => image.name === each.name);
      return {
        file: each.file,
        size: each.size,
        sha256: each.sha256,
        holds:
          each.format === null
            ? "not recognised"
            : `${each.format}${each.label ? `, “${each.label}”` : ""}, ${each.condition}`,
        from: described?.from ?? NOT_SAID,
        permission: described?.permission ?? NOT_SAID,
      };
    }),
    changes: bench.computer ? changesOf(bench) : [],
    log: log.map(({ time, entry }) => ({
      time,
      kind: String(entry.kind ?? "note"),
      particulars: Object.entries(entry)
        .filter(([key]) => key !== "kind")
        .map(([key, value]) => `${key}: ${inWords(value)}`)
        .join("; "),
    })),
    sources: [...sources.values()].sort((a, b) => (a.title < b.title ? -1 : 1)),
  };
}

/** Each step that changed the machine for an added board, with the step that takes it back. */
const changesOf = (bench: Bench): { change: string; undo: string }[] =>
  fittingsOf(bench.computer!).flatMap(({ board, steps }) =>
    steps.flatMap((step) => (step.undo === undefined ? [] : [{ change: `${board}: ${step.text}`, undo: step.undo }])),
  );
