import type { CodeName } from "../bytes/index.ts";
import type { Ability } from "./ability.ts";
import type { Screen } from "./screen.ts";

/** One row to be shown on the terminal. */
export interface PictureRow {
  characters: Uint8Array;
  renditions: Uint32Array;
}

/** What the terminal ought to show. `used` rows come from the program's screen; the last may be the status line. */
export interface Picture {
  rows: PictureRow[];
  cursor: { row: number; column: number };
}

export interface ViewOptions {
  /** Lines wider than the terminal go on in the next row, or the terminal shows a part of the width. */
  wide: "reflow" | "pan";
  /** The last row tells what part is shown. */
  status: boolean;
  code: CodeName;
}

const SPACE = 0x20;
const QUESTION = 0x3f;
/** Signs that a 64-character terminal lacks, and what stands for them: common practice, no source. */
const STAND_INS: readonly [from: string, to: string][] = [
  ["`", "'"],
  ["{", "("],
  ["|", "!"],
  ["}", ")"],
  ["~", "-"],
];

/** For each byte of the program's screen the byte to send to this terminal. National letters fold like the rest. */
export function foldTable({ upperOnly, bits }: Ability, code: CodeName): Uint8Array {
  const table = Uint8Array.from({ length: 256 }, (_, byte) => {
    if (byte < SPACE || byte === 0x7f || (byte > 0x7f && (bits === 7 || byte < 0xa0))) return QUESTION;
    const folds = byte >= 0x61 && byte <= (code === "plain" || code === "case-exchanged" ? 0x7a : 0x7e);
    return upperOnly && folds ? byte - 0x20 : byte;
  });
  if (upperOnly && code === "plain") for (const [from, to] of STAND_INS) table[from.charCodeAt(0)] = to.charCodeAt(0);
  return table;
}

/** The part of the program's screen that the terminal shows. Follows the cursor, until a person moves it. */
export class View {
  readonly #columns: number;
  readonly #height: number;
  readonly #options: ViewOptions;
  readonly #fold: Uint8Array;
  readonly #renders: boolean;
  #held: { row: number; column: number } | undefined;
  #origin = { row: 0, column: 0 };

  constructor(ability: Ability, options: ViewOptions) {
    this.#columns = ability.columns;
    this.#height = ability.rows - (options.status ? 1 : 0);
    this.#options = options;
    this.#fold = foldTable(ability, options.code);
    this.#renders = ability.obeys.has("SGR");
  }

  /** Moves the part shown; it stays there until `follow`. */
  pan(rows: number, columns: number): void {
    const { row, column } = this.#held ?? this.#origin;
    this.#held = { row: Math.max(0, row + rows), column: Math.max(0, column + columns) };
  }
  follow(): void {
    this.#held = undefined;
  }

  /** Rows 0 to the last that holds something, or holds the cursor; those below are left out where `end` says so. */
  picture(screen: Screen, end: "whole" | "to the cursor"): Picture {
    const { cursor } = screen;
    let last = cursor.row;
    if (end === "whole")
      for (let row = screen.rows - 1; row > last; row--) if (usedColumns(screen, row) > 0) last = row;
    const all: { row: number; from: number }[] = [];
    let at = { row: 0, column: 0 };
    const pans = this.#options.wide === "pan";
    const left = pans ? this.#leftColumn(cursor.column, screen.columns) : 0;
    for (let row = 0; row <= last; row++) {
      let width = usedColumns(screen, row);
      if (row === cursor.row) {
        width = Math.max(width, cursor.column + 1);
        at = pans
          ? { row: all.length, column: cursor.column - left }
          : { row: all.length + Math.floor(cursor.column / this.#columns), column: cursor.column % this.#columns };
      }
      if (pans) all.push({ row, from: left });
      else for (let from = 0; from === 0 || from < width; from += this.#columns) all.push({ row, from });
    }
    const top = this.#topRow(all.length, at.row);
    this.#origin = { row: top, column: left };
    const rows = all.slice(top, top + this.#height).map(({ row, from }) => this.#cut(screen, row, from));
    const clamp = (value: number, limit: number): number => Math.max(0, Math.min(value, limit - 1));
    return { rows, cursor: { row: clamp(at.row - top, this.#height), column: clamp(at.column, this.#columns) } };
  }

  /** The status line: which part of the program's screen is shown, and where its cursor is. */
  status(screen: Screen): PictureRow {
    const { row, column } = screen.cursor;
    const { columns } = screen;
    const from = this.#origin.column;
    const part =
      this.#options.wide === "pan" && columns > this.#columns
        ? `COLUMNS ${from + 1}-${Math.min(columns, from + this.#columns)} OF ${columns}`
        : `${columns} COLUMNS`;
    const text = `${part}  CURSOR ${row + 1},${column + 1}${this.#held ? "  HELD" : ""}`;
    const line = this.#blank();
    for (let i = 0; i < Math.min(text.length, this.#columns); i++) line.characters[i] = text.charCodeAt(i);
    return line;
  }

  /** Half a width at a time, so that typing on does not move the text with every character. */
  #leftColumn(column: number, columns: number): number {
    const most = Math.max(0, columns - this.#columns);
    if (this.#held) return Math.min(this.#held.column, most);
    if (column < this.#columns) return 0;
    const step = Math.max(1, this.#columns >> 1);
    return Math.min(most, (Math.floor((column - this.#columns) / step) + 1) * step);
  }

  #topRow(rows: number, cursor: number): number {
    const most = Math.max(0, rows - this.#height);
    return this.#held ? Math.min(this.#held.row, most) : Math.min(most, cursor);
  }

  #blank(): PictureRow {
    return {
      characters: new Uint8Array(this.#columns).fill(SPACE),
      renditions: new Uint32Array(this.#columns),
    };
  }

  #cut(screen: Screen, index: number, from: number): PictureRow {
    const line = this.#blank();
    const { characters, renditions, plain } = screen.page.row(index);
    const width = Math.min(this.#columns, screen.columns - from);
    for (let i = 0; i < width; i++) {
      line.characters[i] = this.#fold[characters[from + i]!]!;
      if (this.#renders && !plain) line.renditions[i] = renditions[from + i]!;
    }
    return line;
  }
}

/** Columns up to the last position of a row that holds something to see. */
function usedColumns(screen: Screen, index: number): number {
  const { characters, renditions, plain } = screen.page.row(index);
  let used = characters.length;
  while (used > 0 && characters[used - 1] === SPACE && (plain || renditions[used - 1] === 0)) used--;
  return used;
}
