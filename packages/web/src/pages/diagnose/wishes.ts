import { readReport } from "@rouse/core/diagnose";
import type { MadeProgram, Wish } from "./types.ts";

const KEY = "rouse-test-programs";
/** Programs whose making is kept. */
const MOST = 40;

type Kept = readonly (readonly [id: string, wish: Wish])[];

function kept(): Kept {
  try {
    const found: unknown = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(found) ? (found as Kept) : [];
  } catch {
    return [];
  }
}

/** Keeps how programs were made, so that their reports can be read another day. */
export function keepWish(programs: readonly MadeProgram[], wish: Wish): void {
  const own = programs.map(({ id }) => [id, wish] as const);
  const others = kept().filter(([id]) => !own.some(([each]) => each === id));
  localStorage.setItem(KEY, JSON.stringify([...own, ...others].slice(0, MOST)));
}

/** How the program that a report names was made, where it was made in this browser. */
export function wishOf(report: string): Wish | undefined {
  const { id } = readReport(report);
  return id === undefined ? undefined : kept().find(([each]) => each === id)?.[1];
}
