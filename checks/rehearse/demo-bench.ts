import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { type Bench, readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { type Finding, fitChain, surveyForFit } from "@rouse/core/fit";
import { createRehearsal, type Rehearsal, type RehearsalFiles, type RehearsalOptions } from "@rouse/core/rehearse";
import { demoImages } from "../../demo/images.ts";

const DEMO = join(dirname(fileURLToPath(import.meta.url)), "../../demo");
const catalogue = loadCatalogue();
const images = demoImages(DEMO);

export type Job = "first-try" | "mended" | "second-machine";

/** A job's bench file with some of its text exchanged; each text must be there. */
export function demoBench(job: Job, changes: readonly (readonly [from: string, to: string])[] = []): Bench {
  let text = readFileSync(join(DEMO, job, "bench.yaml"), "utf8");
  for (const [from, to] of changes) {
    if (!text.includes(from)) throw new Error(`${job} has no “${from}”`);
    text = text.replace(from, to);
  }
  const { bench, issues } = readBench(text, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench;
}

export function demoFiles(job: Job, bench: Bench): RehearsalFiles {
  const file = (name: string) => [name, images.get(`${job}/${name}`)!] as const;
  return {
    roms: new Map(
      (bench.computer?.regions ?? []).flatMap((each) => (each.file === undefined ? [] : [file(each.file)])),
    ),
    images: new Map(bench.images.map((each) => file(each.file))),
  };
}

/** The bench as a machine; `disk` in place of the job's own image. */
export function rehearse(job: Job, bench = demoBench(job), options?: RehearsalOptions, disk?: Uint8Array): Rehearsal {
  const files = demoFiles(job, bench);
  const images = disk ? new Map(bench.images.map((each) => [each.file, disk])) : files.images;
  return createRehearsal(bench, { ...files, images }, options);
}

/** What the checks of the chain say of a bench. */
export function findingsOf(job: Job, bench: Bench): readonly Finding[] {
  const files = demoFiles(job, bench);
  const surveyed = bench.images.map(({ name, file }) => surveyForFit(name, files.images.get(file)!));
  return fitChain({ bench, catalogue, images: surveyed }).findings;
}

/** Ids of the findings that stop a bench. */
export const stopsOf = (job: Job, bench: Bench): string[] =>
  findingsOf(job, bench)
    .filter(({ verdict }) => verdict === "stops")
    .map(({ id }) => id)
    .sort();

export const surveyed = (job: Job, bench: Bench) =>
  surveyForFit(bench.images[0]!.name, demoFiles(job, bench).images.get(bench.images[0]!.file)!);
