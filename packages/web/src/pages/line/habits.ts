import { useState } from "react";
import type { Code, KeyHabits } from "./codes.ts";

/** How a person likes the screen; kept in the browser. */
export interface Habits extends KeyHabits {
  code: Code;
  echo: boolean;
  /** Reads aloud what comes, for a screen reader. */
  spoken: boolean;
  view: "text" | "hex" | "both";
}

const KEY = "rouse-line";
const FIRST: Habits = {
  code: "7 bits",
  echo: false,
  spoken: false,
  view: "text",
  erase: "BS",
  enter: "CR",
  capitals: false,
};

function kept(): Partial<Habits> {
  try {
    const found: unknown = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    return typeof found === "object" && found !== null ? (found as Partial<Habits>) : {};
  } catch {
    return {};
  }
}

/** `first`: what the bench's terminal suggests, where the person has not said otherwise. */
export function useHabits(first: Partial<Habits>): [Habits, (change: Partial<Habits>) => void] {
  const [own, setOwn] = useState(kept);
  const change = (some: Partial<Habits>): void => {
    const next = { ...own, ...some };
    setOwn(next);
    localStorage.setItem(KEY, JSON.stringify(next));
  };
  return [{ ...FIRST, ...first, ...own }, change];
}
