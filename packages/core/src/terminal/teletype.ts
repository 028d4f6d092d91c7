import { LF } from "./means.ts";
import { isSpace, type Painter, usedOf } from "./painter.ts";
import type { Picture, PictureRow } from "./view.ts";

/**
 * Shows a picture on a terminal that only goes on: it can rewrite the row it is in (on paper not even that) and feed
 * lines. What cannot be brought to its place is sent again below. Nothing ever stands under the row of the cursor.
 */
export class Teletype {
  readonly #painter: Painter;
  readonly #whole: boolean;
  readonly #paper: boolean;

  /** `whole`: older text is pushed off the screen, so that the picture alone is seen. */
  constructor(painter: Painter, whole: boolean) {
    this.#painter = painter;
    this.#paper = painter.ability.paper;
    this.#whole = whole && !this.#paper;
  }

  paint(picture: Picture): void {
    const { rows } = picture;
    let at = this.#alignment(rows);
    if (at === undefined) at = this.#beginAgain(rows);
    for (let index = at; index < rows.length; index++) {
      if (index > at) this.#painter.emit(this.#painter.means.newLine);
      this.#painter.row(this.#painter.model.cursor.row, rows[index]!);
    }
    if (picture.cursor.row === rows.length - 1) this.#painter.goToColumn(picture.cursor.column);
  }

  /** The row of the picture that the cursor's row shows or can be made to show, with all above it in place. */
  #alignment(rows: readonly PictureRow[]): number | undefined {
    const here = this.#painter.model.cursor.row;
    const fits = (at: number): boolean => {
      for (let index = 0; index < at; index++) if (!this.#painter.shows(here - at + index, rows[index]!)) return false;
      if (this.#whole) for (let row = 0; row < here - at; row++) if (!this.#isBlank(row)) return false;
      return true;
    };
    for (let at = Math.min(here, rows.length - 1); at >= 0; at--)
      if (fits(at) && this.#convertible(at, rows, here)) return at;
    return undefined;
  }

  #convertible(at: number, rows: readonly PictureRow[], here: number): boolean {
    const there = this.#painter.model.page.row(here);
    const want = rows[at]!;
    let [extends_, any] = [true, false];
    for (let column = 0; column < want.characters.length; column++) {
      if (isSpace(there, column)) continue;
      any = true;
      if (there.characters[column] !== want.characters[column]) extends_ = false;
    }
    if (extends_ || !any) return true;
    // On a screen the row may be written over where what stands above shows that it is the right one.
    return !this.#paper && (at > 0 || here === 0);
  }

  #isBlank(row: number): boolean {
    return usedOf(this.#painter.model.page.row(row)) === 0;
  }

  /** A fresh row for the picture, or for the part of it that has changed on paper; gives the first row to show. */
  #beginAgain(rows: readonly PictureRow[]): number {
    const painter = this.#painter;
    const { model } = painter;
    if (!this.#paper && painter.means.clear) {
      painter.emit(painter.means.clear);
      return 0;
    }
    if (this.#whole) {
      painter.emit(painter.means.newLine);
      painter.emit(Array.from({ length: model.rows - 1 }, () => LF));
      return 0;
    }
    const first = this.#paper ? this.#firstChanged(rows) : 0;
    painter.emit(painter.means.newLine);
    return first;
  }

  /** The first row that is not on the paper where the rest of the picture last was. */
  #firstChanged(rows: readonly PictureRow[]): number {
    const here = this.#painter.model.cursor.row;
    let [first, most] = [0, 0];
    for (let top = Math.max(0, here - rows.length - 1); top <= here; top++) {
      let [found, changed] = [0, -1];
      for (let index = 0; index < rows.length; index++) {
        const shown = top + index <= here && this.#painter.shows(top + index, rows[index]!);
        if (shown && usedOf(rows[index]!) > 0) found++;
        if (!shown && changed < 0) changed = index;
      }
      if (found > most) [first, most] = [changed < 0 ? rows.length - 1 : changed, found];
    }
    return first;
  }
}
