import { asciiBytes } from "../bytes/index.ts";
import type { Ability } from "./ability.ts";
import { CR, LF, type Means, meansOf } from "./means.ts";
import { sgrFor } from "./rendition.ts";
import { Screen } from "./screen.ts";
import type { Picture, PictureRow } from "./view.ts";

const SPACE = 0x20;
/** Positions that are right already are sent again rather than jumped over, up to this many. */
const SHORT_GAP = 6;

export const isSpace = (row: PictureRow, column: number): boolean =>
  row.characters[column] === SPACE && row.renditions[column] === 0;

/** Columns up to the last that holds something. */
export function usedOf(row: PictureRow): number {
  let used = row.characters.length;
  while (used > 0 && isSpace(row, used - 1)) used--;
  return used;
}

/**
 * Brings a terminal to show a picture, by what it has. It keeps a model of the terminal, fed with every byte it sends, so
 * that the next move starts from what is really there.
 */
export class Painter {
  readonly ability: Ability;
  readonly model: Screen;
  readonly means: Means;
  readonly #renders: boolean;
  #out: number[] = [];

  constructor(ability: Ability) {
    this.ability = ability;
    this.model = new Screen(ability);
    this.means = meansOf(ability);
    this.#renders = ability.obeys.has("SGR");
  }

  /** Whether rows above the cursor can be reached at all. */
  get addresses(): boolean {
    const { place, up, home } = this.means;
    return !this.ability.paper && Boolean(place || up || home);
  }

  take(): Uint8Array {
    const out = Uint8Array.from(this.#out);
    this.#out = [];
    return out;
  }

  emit(bytes: readonly number[]): void {
    for (const byte of bytes) this.#out.push(byte);
    this.model.write(Uint8Array.from(bytes));
  }

  /** True where the terminal shows this row already. */
  shows(index: number, row: PictureRow): boolean {
    const there = this.model.page.row(index);
    for (let i = 0; i < row.characters.length; i++)
      if (
        row.characters[i] !== there.characters[i] ||
        ((!there.plain || row.renditions[i] !== 0) && row.renditions[i] !== there.renditions[i])
      )
        return false;
    return true;
  }

  /** Paints a picture on a terminal that reaches every row. The cursor ends where the picture has it. */
  paint(picture: Picture): void {
    this.#scrollTo(picture);
    for (let row = 0; row < this.model.rows; row++) {
      const want = picture.rows[row];
      if (want && !this.shows(row, want)) this.row(row, want);
    }
    this.#goTo(picture.cursor.row, picture.cursor.column);
  }

  /** Makes one row show what is wanted. Returns false where a position could not be reached. */
  row(index: number, want: PictureRow): boolean {
    const there = this.model.page.row(index);
    const { columns } = this.model;
    const differs = (column: number): boolean =>
      want.characters[column] !== there.characters[column] || want.renditions[column] !== there.renditions[column];
    let last = columns - 1;
    // Filling the last position of the screen would scroll it.
    if (this.ability.wrap === "at once" && index === this.model.rows - 1) last--;
    while (last >= 0 && !differs(last)) last--;
    const used = usedOf(want);
    const erases = this.means.eraseLine !== undefined && last >= used && last - used > this.means.eraseLine.length;
    const end = erases ? used - 1 : last;
    for (let column = 0; column <= end; column++) {
      if (!differs(column)) continue;
      let to = column;
      for (let next = column + 1; next <= end && next - to <= SHORT_GAP; next++) if (differs(next)) to = next;
      if (!this.#goTo(index, column)) return false;
      this.#write(want, column, to + 1);
      column = to;
    }
    if (erases && used < columns && last >= used) {
      if (!this.#goTo(index, used)) return false;
      this.#render(0);
      this.emit(this.means.eraseLine!);
    }
    return true;
  }

  /** Moves within what can be reached; false where this position cannot. */
  #goTo(row: number, column: number): boolean {
    const route = this.#route(row, column);
    if (!route) return false;
    if (route.length > 0) this.emit(route);
    return true;
  }

  goToColumn(column: number): boolean {
    return this.#goTo(this.model.cursor.row, column);
  }

  #write(row: PictureRow, from: number, to: number): void {
    let start = from;
    while (start < to) {
      const rendition = row.renditions[start]!;
      let end = start + 1;
      while (end < to && row.renditions[end] === rendition) end++;
      this.#render(rendition);
      this.emit([...row.characters.subarray(start, end)]);
      start = end;
    }
  }

  #render(rendition: number): void {
    if (this.#renders && this.model.rendition !== rendition) this.emit([...asciiBytes(sgrFor(rendition))]);
  }

  /** The shortest way to a position, or undefined where there is none. */
  #route(row: number, column: number): number[] | undefined {
    const { cursor } = this.model;
    if (cursor.row === row && cursor.column === column && !cursor.waits) return [];
    const { place, home } = this.means;
    const ways: number[][] = [];
    if (place) ways.push(place(row, column));
    const from = (lead: number[], at: { row: number; column: number }): void => {
      const vertical = this.#vertical(at, row);
      if (!vertical) return;
      const across = this.#across(row, vertical.column, column);
      if (across) ways.push([...lead, ...vertical.bytes, ...across]);
    };
    // What BS and cursor functions do from beyond a filled last column differs between terminals: CR first.
    if (!cursor.waits || this.ability.returnFeeds) from([], cursor);
    if (!this.ability.returnFeeds) from([CR], { row: cursor.row, column: 0 });
    if (home) from(home, { row: 0, column: 0 });
    if (ways.length === 0) return undefined;
    return ways.reduce((best, each) => (each.length < best.length ? each : best));
  }

  #vertical(at: { row: number; column: number }, row: number): { bytes: number[]; column: number } | undefined {
    const { up, down } = this.means;
    if (row === at.row) return { bytes: [], column: at.column };
    if (row < at.row) return up ? { bytes: up(at.row - row), column: at.column } : undefined;
    const feeds = Array.from({ length: row - at.row }, () => LF);
    const moved = down?.(row - at.row);
    if (moved && (this.ability.feedReturns || moved.length < feeds.length)) {
      // A code of the terminal's own for "down" is its line feed.
      const returns = this.ability.feedReturns && moved[0] !== 0x1b;
      return { bytes: moved, column: returns ? 0 : at.column };
    }
    return { bytes: feeds, column: this.ability.feedReturns ? 0 : at.column };
  }

  #across(row: number, from: number, to: number): number[] | undefined {
    if (to === from) return [];
    const rightwards = (start: number): number[] | undefined => {
      if (start === to) return [];
      const again = this.#again(row, start, to);
      const moved = this.means.right?.(to - start);
      return again && (!moved || again.length < moved.length) ? again : moved;
    };
    if (to > from) return rightwards(from);
    const back = this.means.left(from - to);
    const rest = this.ability.returnFeeds ? undefined : rightwards(0);
    return rest && rest.length + 1 < back.length ? [CR, ...rest] : back;
  }

  /** What stands there already, sent again to move over it. */
  #again(row: number, from: number, to: number): number[] | undefined {
    const { characters, renditions } = this.model.page.row(row);
    for (let i = from; i < to; i++) if (renditions[i] !== this.model.rendition) return undefined;
    return [...characters.subarray(from, to)];
  }

  /** Line feeds where that brings more rows to their place than are there now. */
  #scrollTo(picture: Picture): void {
    if (!this.ability.scrolls) return;
    const { rows } = this.model;
    const matches = (shift: number): number => {
      let found = 0;
      for (let row = 0; row + shift < rows; row++) {
        const want = picture.rows[row];
        if (want && usedOf(want) > 0 && this.shows(row + shift, want)) found++;
      }
      return found;
    };
    let [best, most] = [0, matches(0)];
    for (let shift = 1; shift < rows; shift++) {
      const found = matches(shift);
      if (found > most) [best, most] = [shift, found];
    }
    if (best === 0) return;
    this.#render(0);
    if (!this.#goTo(rows - 1, 0)) return;
    this.emit(Array.from({ length: best }, () => LF));
  }
}
