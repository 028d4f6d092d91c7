import type { TerminalAct, TerminalClass } from "../catalogue/index.ts";
import { assignedFunctions } from "./functions.ts";

/** One short code of a terminal's own. `place` is followed by two bytes that say where. */
export interface OwnCode {
  bytes: readonly number[];
  act: TerminalAct | "place";
}

/** What a screen can do, made ready for the model. */
export interface Ability {
  columns: number;
  rows: number;
  /** "never": the next character replaces the one in the last column. */
  wrap: "with the next character" | "at once" | "never";
  scrolls: boolean;
  paper: boolean;
  /** ECMA-48 functions obeyed, by abbreviation. Without any, ESC is ignored and what follows it is shown. */
  obeys: ReadonlySet<string>;
  /** Data bits looked at: with 7 the eighth is taken for parity. */
  bits: 7 | 8;
  upperOnly: boolean;
  returnFeeds: boolean;
  feedReturns: boolean;
  tabs: number;
  codes: readonly OwnCode[];
  place?: { order: "row first" | "column first"; offset: number };
}

const bytesOf = (hex: string): number[] => hex.split(" ").map((each) => Number.parseInt(each, 16));

/** The ability of a catalogue class, with the size of the terminal at hand where that differs. */
export function abilityOf(terminal: TerminalClass, size: { columns?: number; rows?: number } = {}): Ability {
  const { place, ...acts } = terminal.codes ?? {};
  const codes: OwnCode[] = Object.entries(acts).map(([act, hex]) => ({ act: act as TerminalAct, bytes: bytesOf(hex) }));
  if (place) codes.push({ act: "place", bytes: bytesOf(place.lead) });
  return {
    columns: size.columns ?? terminal.columns,
    rows: size.rows ?? terminal.rows,
    wrap: terminal.wraps ? (terminal.wrapping ?? "with the next character") : "never",
    scrolls: terminal.scrolls,
    paper: terminal.display === "paper",
    obeys: new Set(terminal.controls),
    bits: terminal.characterSet.startsWith("ISO 646") ? 7 : 8,
    upperOnly: terminal.letters === "upper case only",
    returnFeeds: terminal.returnFeeds ?? false,
    feedReturns: terminal.feedReturns ?? false,
    tabs: terminal.tabs ?? 8,
    codes,
    ...(place ? { place: { order: place.order, offset: place.offset } } : {}),
  };
}

/** A screen of this size with every function of the standard that the model draws: what a program is written for. */
export const idealAbility = (columns = 80, rows = 24): Ability => ({
  columns,
  rows,
  wrap: "with the next character",
  scrolls: true,
  paper: false,
  obeys: new Set(assignedFunctions().map((each) => each.name)),
  bits: 8,
  upperOnly: false,
  returnFeeds: false,
  feedReturns: false,
  tabs: 8,
  codes: [],
});
