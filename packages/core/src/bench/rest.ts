import type * as z from "zod";
import { nearest } from "../errors/nearest.ts";
import type { BenchFile } from "./schema.ts";

/** What of a bench file can be used beside its errors, so that names and parts are looked up there too. */
export interface Rest {
  file: BenchFile;
  /** Whether an error at this path may come from what was left out: a name of it, or a place in a shortened list. */
  blames(path: readonly string[]): boolean;
}

/** Taking out one error may uncover another at the same place, rarely a third. */
const MOST_ROUNDS = 6;

/** Takes what is wrong out of `data`, which is changed, until the schema takes the rest; `undefined` where it never does. */
export function restOf(schema: z.ZodType<BenchFile>, data: unknown): Rest | undefined {
  const left = new Set<string>();
  const shortened: string[][] = [];
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const parsed = schema.safeParse(data, { reportInput: true });
    if (parsed.success)
      return {
        file: parsed.data,
        blames(path) {
          const value = at(data, path);
          if (typeof value === "string" && left.has(value)) return true;
          return shortened.some((list) => list.every((key, index) => key === path[index]));
        },
      };
    const gaps = new Map<unknown[], Set<number>>();
    const remove = (path: readonly string[]): void => {
      const key = path.at(-1);
      const holder = at(data, path.slice(0, -1));
      if (key === undefined || typeof holder !== "object" || holder === null) return;
      if (Array.isArray(holder)) {
        gaps.set(holder, (gaps.get(holder) ?? new Set()).add(Number(key)));
        shortened.push(path.slice(0, -1));
        return;
      }
      const record = holder as Record<string, unknown>;
      if (typeof record[key] === "object" && !Array.isArray(record[key])) left.add(key);
      delete record[key];
    };
    for (const issue of parsed.error.issues) takeOut(data, issue, remove);
    for (const [list, places] of gaps) list.splice(0, list.length, ...list.filter((_, index) => !places.has(index)));
  }
  return undefined;
}

/** Takes out what one issue speaks of, or puts it right where it is plain what was meant. */
function takeOut(data: unknown, issue: z.core.$ZodIssue, remove: (path: readonly string[]) => void): void {
  const path = issue.path.map(String);
  if (issue.code === "unrecognized_keys") {
    for (const key of issue.keys) remove([...path, key]);
    return;
  }
  const holder = at(data, path.slice(0, -1)) as Record<string, unknown> | undefined;
  const key = path.at(-1);
  if (holder === undefined || key === undefined) return;
  const isMissing = issue.input === undefined && !(key in holder);
  const meant =
    issue.code !== "invalid_value"
      ? undefined
      : issue.values.length === 1
        ? issue.values[0]
        : nearest(String(issue.input), issue.values.map(String));
  if (meant !== undefined && (!isMissing || path.length === 1)) holder[key] = meant;
  // A text that must be there: what it stands in can be used for the rest. If it won't do, the next round sees it.
  else if (isMissing && issue.code === "invalid_type" && issue.expected === "string") holder[key] = "?";
  else remove(isMissing ? path.slice(0, -1) : path);
}

const at = (data: unknown, path: readonly string[]): unknown =>
  path.reduce<unknown>(
    (here, key) => (typeof here === "object" && here !== null ? (here as Record<string, unknown>)[key] : undefined),
    data,
  );
