import type { Catalogue } from "../catalogue/index.ts";
import { type BenchIssue, byPlace, pathOf, type ReadBench, readBenchFile } from "./read.ts";
import { resolveBench } from "./resolve.ts";
import type { Bench } from "./types.ts";

export { type BenchIssue, keysWithMeaning, printIssues } from "./read.ts";
export { FROM_BENCH } from "./resolve.ts";
export { benchJsonSchema } from "./schema.ts";
export { type BenchAnswers, checkAnswer, starterBench } from "./starter.ts";
export type * from "./types.ts";

/** Reads a bench file and looks its parts up. `bench` is there only where nothing is wrong. */
export function readBench(
  text: string,
  catalogue: Catalogue,
): {
  bench?: Bench;
  issues: readonly BenchIssue[];
  where: (key: string) => { line: number; column: number; length: number };
} {
  const read = readBenchFile(text);
  const where = (key: string) => read.where(pathOf(key));
  if (!read.file) return { issues: [...read.issues, ...furtherIssues(read, catalogue)].sort(byPlace), where };
  const { bench, issues } = resolveBench(read.file, catalogue, read.where);
  return issues.length > 0 ? { issues, where } : { bench, issues, where };
}

/** Names and parts that cannot be found, in what is usable of a file with errors, so that all are told at once. */
function furtherIssues({ rest, issues, where }: ReadBench, catalogue: Catalogue): BenchIssue[] {
  if (!rest) return [];
  const told = issues.map((each) => each.path);
  return resolveBench(rest.file, catalogue, where).issues.filter(
    ({ path }) => !rest.blames(pathOf(path)) && !told.some((each) => each === path || each.startsWith(`${path}.`)),
  );
}
