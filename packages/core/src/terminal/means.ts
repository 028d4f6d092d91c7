import { asciiBytes } from "../bytes/index.ts";
import type { TerminalAct } from "../catalogue/index.ts";
import type { Ability } from "./ability.ts";

export const CR = 0x0d;
export const LF = 0x0a;
const BS = 0x08;

type Moves = (count: number) => number[];

/** The bytes by which a terminal is made to do things: its own codes where it has them, else ECMA-48's. */
export interface Means {
  place?: (row: number, column: number) => number[];
  up?: Moves;
  down?: Moves;
  left: Moves;
  right?: Moves;
  home?: number[];
  /** Blanks the screen and goes home. */
  clear?: number[];
  /** Blanks the row from the cursor on. */
  eraseLine?: number[];
  /** To the first column of the next row. */
  newLine: number[];
}

const bytes = (text: string): number[] => [...asciiBytes(`\u001b[${text}`)];

export function meansOf(ability: Ability): Means {
  const own = (act: TerminalAct): number[] | undefined => {
    const found = ability.codes.find((each) => each.act === act);
    return found ? [...found.bytes] : undefined;
  };
  const lead = ability.codes.find((each) => each.act === "place")?.bytes;
  const has = (name: string): boolean => ability.obeys.has(name);
  const moves = (act: TerminalAct, name: string, final: string): Moves | undefined => {
    const code = own(act);
    const short: Moves | undefined = code ? (count) => Array.from({ length: count }, () => code).flat() : undefined;
    if (!has(name)) return short;
    const sequence: Moves = (count) => bytes(`${count === 1 ? "" : count}${final}`);
    return short ? (count) => shorter(short(count), sequence(count)) : sequence;
  };

  let place: Means["place"];
  const { place: how } = ability;
  if (lead && how)
    place = (row, column) => [
      ...lead,
      ...(how.order === "row first"
        ? [row + how.offset, column + how.offset]
        : [column + how.offset, row + how.offset]),
    ];
  else if (has("CUP")) place = (row, column) => bytes(row || column ? `${row + 1};${column + 1}H` : "H");
  else if (has("HVP")) place = (row, column) => bytes(`${row + 1};${column + 1}f`);

  const up = moves("up", "CUU", "A");
  const down = moves("down", "CUD", "B");
  const right = moves("right", "CUF", "C");
  const home = own("home") ?? place?.(0, 0);
  const clear = own("clear") ?? (has("ED") && home ? [...bytes("2J"), ...home] : undefined);
  const eraseLine = own("eraseLine") ?? (has("EL") ? bytes("K") : undefined);
  const left = moves("left", "CUB", "D");
  const backspaces: Moves = (count) => Array.from({ length: count }, () => BS);
  return {
    ...(place ? { place } : {}),
    ...(up ? { up } : {}),
    ...(down ? { down } : {}),
    left: left ? (count) => shorter(backspaces(count), left(count)) : backspaces,
    ...(right ? { right } : {}),
    ...(home ? { home } : {}),
    ...(clear ? { clear } : {}),
    ...(eraseLine ? { eraseLine } : {}),
    newLine: ability.returnFeeds ? [CR] : ability.feedReturns ? [LF] : [CR, LF],
  };
}

const shorter = (a: number[], b: number[]): number[] => (a.length <= b.length ? a : b);
