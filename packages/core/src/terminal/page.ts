import { Rendition } from "./rendition.ts";

/** One row of character positions. `plain` while no position has a rendition, so that most rows need no second look. */
export interface Row {
  characters: Uint8Array;
  renditions: Uint32Array;
  plain: boolean;
}

const SPACE = 0x20;
const UNDERLINE = 0x5f;

const newRow = (columns: number): Row => ({
  characters: new Uint8Array(columns).fill(SPACE),
  renditions: new Uint32Array(columns),
  plain: true,
});

/** Blanks the positions from `from` to `to`. */
function erase(row: Row, from: number, to: number): void {
  if (to <= from) return;
  row.characters.fill(SPACE, from, to);
  if (row.plain) return;
  row.renditions.fill(0, from, to);
  if (from === 0 && to === row.characters.length) row.plain = true;
}

/** The character positions of a screen, and the moves of text within them. It knows nothing of control functions. */
export class Page {
  readonly columns: number;
  readonly rows: number;
  #lines: Row[];
  /** Row 0 is `#lines[#top]`: scrolling turns the ring. */
  #top = 0;
  /** Rows that have been scrolled off the top so far. */
  scrolledOff = 0;
  /** Called with each row that is about to be scrolled off. */
  onScrollOff: ((row: Row) => void) | undefined;

  constructor(columns: number, rows: number) {
    this.columns = columns;
    this.rows = rows;
    this.#lines = Array.from({ length: rows }, () => newRow(columns));
  }

  /** The same positions, by themselves; without `onScrollOff`. */
  copy(): Page {
    const copy = new Page(this.columns, this.rows);
    copy.#lines = this.#lines.map(({ characters, renditions, plain }) => ({
      characters: characters.slice(),
      renditions: renditions.slice(),
      plain,
    }));
    copy.#top = this.#top;
    copy.scrolledOff = this.scrolledOff;
    return copy;
  }

  row(index: number): Row {
    const at = this.#top + index;
    return this.#lines[at < this.rows ? at : at - this.rows]!;
  }

  clear(): void {
    for (const line of this.#lines) erase(line, 0, this.columns);
  }

  /** Blanks part of a row; both ends are cut to it. */
  erase(row: number, from: number, to: number): void {
    erase(this.row(row), Math.max(0, from), Math.min(to, this.columns));
  }

  eraseRows(from: number, to: number): void {
    for (let row = from; row < to; row++) erase(this.row(row), 0, this.columns);
  }

  /** The whole page up by one row; a blank one follows at the bottom. */
  scrollUp(): void {
    const first = this.#lines[this.#top]!;
    this.onScrollOff?.(first);
    this.scrolledOff++;
    erase(first, 0, this.columns);
    this.#top = this.#top + 1 === this.rows ? 0 : this.#top + 1;
  }

  scrollDown(): void {
    this.#top = this.#top === 0 ? this.rows - 1 : this.#top - 1;
    erase(this.#lines[this.#top]!, 0, this.columns);
  }

  /** Takes `count` rows out at `at`; those beneath move up and blank ones follow at the bottom. */
  deleteRows(at: number, count: number): void {
    this.#unroll();
    const gone = this.#lines.splice(at, Math.min(count, this.rows - at));
    for (const line of gone) erase(line, 0, this.columns);
    this.#lines.push(...gone);
  }

  insertRows(at: number, count: number): void {
    this.#unroll();
    const gone = this.#lines.splice(Math.max(at, this.rows - count));
    for (const line of gone) erase(line, 0, this.columns);
    this.#lines.splice(at, 0, ...gone);
  }

  insertCharacters(row: number, at: number, count: number): void {
    const line = this.row(row);
    const end = Math.min(at + count, this.columns);
    line.characters.copyWithin(end, at, this.columns - (end - at));
    if (!line.plain) line.renditions.copyWithin(end, at, this.columns - (end - at));
    erase(line, at, end);
  }

  deleteCharacters(row: number, at: number, count: number): void {
    const line = this.row(row);
    const from = Math.min(at + count, this.columns);
    line.characters.copyWithin(at, from);
    if (!line.plain) line.renditions.copyWithin(at, from);
    erase(line, this.columns - (from - at), this.columns);
  }

  /** A character struck on paper, where what was there stays. */
  strike(row: number, column: number, character: number, rendition: number): void {
    const line = this.row(row);
    const before = line.characters[column]!;
    let [shown, marks] = [character, rendition];
    if (character === SPACE) [shown, marks] = [before, line.renditions[column]!];
    else if (before !== SPACE && before !== character) {
      // An underline struck with a letter underlines it; any other pair can't be read.
      if (character === UNDERLINE || before === UNDERLINE) {
        shown = character === UNDERLINE ? before : character;
        marks = line.renditions[column]! | rendition | Rendition.Underlined;
      } else marks = line.renditions[column]! | rendition | Rendition.Struck;
    } else if (before === character) marks |= line.renditions[column]! | Rendition.Bold;
    line.characters[column] = shown;
    if (marks !== 0) line.plain = false;
    line.renditions[column] = marks;
  }

  #unroll(): void {
    if (this.#top === 0) return;
    this.#lines = [...this.#lines.slice(this.#top), ...this.#lines.slice(0, this.#top)];
    this.#top = 0;
  }
}
