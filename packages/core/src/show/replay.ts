import type { Ability } from "../terminal/index.ts";
import { rowText, Screen } from "../terminal/index.ts";
import type { Capture } from "./capture.ts";

/** How a session is shown again. */
export interface Pace {
  /** 1 is true speed, 4 four times as fast. */
  speed?: number;
  /** Waits longer than this many seconds of the session are cut to it. */
  longestWait?: number;
}

/** Times of a session's events as they are when shown again: gaps cut to the longest wait, then divided by the speed. */
export function pacedTimes(
  times: ArrayLike<number>,
  { speed = 1, longestWait = Number.POSITIVE_INFINITY }: Pace,
): number[] {
  let [last, now] = [0, 0];
  return Array.from(times, (time) => {
    // A clock that went back is taken to have stood still.
    const gap = Math.max(0, time - last);
    last = Math.max(last, time);
    now += Math.min(gap, longestWait) / speed;
    return now;
  });
}

/** What came in, piece by piece, with its time in seconds. */
export const piecesIn = (capture: Capture): { t: number; bytes: Uint8Array }[] =>
  capture.entries.flatMap((entry) => ("in" in entry ? [{ t: entry.t, bytes: entry.in }] : []));

/** The screen as it was at a time of the session. */
export function screenAt(capture: Capture, ability: Ability, seconds: number): Screen {
  const screen = new Screen(ability);
  for (const { t, bytes } of piecesIn(capture)) {
    if (t > seconds) break;
    screen.write(bytes);
  }
  return screen;
}

/** Everything that was to be read, in order: what scrolled off, then the screen as it is at the end. */
export function sessionText(capture: Capture, ability: Ability): string {
  const lines: string[] = [];
  const screen = new Screen(ability);
  screen.page.onScrollOff = (row) => lines.push(rowText(row).trimEnd());
  for (const { bytes } of piecesIn(capture)) screen.write(bytes);
  lines.push(...screen.lines());
  while (lines.at(-1) === "") lines.pop();
  return lines.length === 0 ? "" : `${lines.join("\n")}\n`;
}

/** A row as stretches of one rendition: text and the rendition's number. */
export type Runs = readonly (readonly [text: string, rendition: number])[];

/** A row of a screen. */
export function runsOf(screen: Screen, index: number): Runs {
  const row = screen.page.row(index);
  const text = rowText(row);
  if (row.plain) {
    const trimmed = text.trimEnd();
    return trimmed === "" ? [] : [[trimmed, 0]];
  }
  const runs: [string, number][] = [];
  let end = text.length;
  while (end > 0 && text[end - 1] === " " && row.renditions[end - 1] === 0) end--;
  for (let column = 0; column < end; column++) {
    const rendition = row.renditions[column]!;
    const last = runs.at(-1);
    if (last && last[1] === rendition) last[0] += text[column]!;
    else runs.push([text[column]!, rendition]);
  }
  return runs;
}

/** A moment at which the screen changed. */
export interface Frame {
  t: number;
  /** Rows that all text moves up first. */
  up: number;
  /** Rows that then differ from the frame before. */
  rows: readonly (readonly [index: number, runs: Runs])[];
  cursor: readonly [row: number, column: number];
}

/** Changes nearer than this are shown together; s. */
const TOGETHER = 1 / 30;

/** What was last shown, row by row. */
class Shown {
  #rows: { characters: Uint8Array; renditions: Uint32Array }[];

  constructor({ rows, columns }: Ability) {
    this.#rows = Array.from({ length: rows }, () => Shown.#blank(columns));
  }

  static #blank(columns: number) {
    return { characters: new Uint8Array(columns).fill(0x20), renditions: new Uint32Array(columns) };
  }

  moveUp(count: number): void {
    for (let left = count; left > 0; left--) {
      const first = this.#rows.shift()!;
      first.characters.fill(0x20);
      first.renditions.fill(0);
      this.#rows.push(first);
    }
  }

  /** Whether a row differs from what was shown; from now on it is what was shown. */
  take(index: number, { characters, renditions }: ReturnType<Screen["page"]["row"]>): boolean {
    const row = this.#rows[index]!;
    let column = 0;
    while (
      column < characters.length &&
      characters[column] === row.characters[column] &&
      renditions[column] === row.renditions[column]
    )
      column++;
    if (column === characters.length) return false;
    row.characters.set(characters);
    row.renditions.set(renditions);
    return true;
  }
}

/** A session as the screen shows it, change by change. */
export function framesOf(capture: Capture, ability: Ability): Frame[] {
  const screen = new Screen(ability);
  const shown = new Shown(ability);
  const frames: Frame[] = [];
  const pieces = piecesIn(capture);
  let last = 0;
  for (let index = 0; index < pieces.length; ) {
    const t = Math.max(last, pieces[index]!.t);
    const before = screen.page.scrolledOff;
    // At least one piece; those that follow at once belong to the same frame.
    do screen.write(pieces[index++]!.bytes);
    while (index < pieces.length && pieces[index]!.t - t < TOGETHER);
    last = t;
    const up = Math.min(screen.page.scrolledOff - before, ability.rows);
    shown.moveUp(up);
    const rows: [number, Runs][] = [];
    for (let row = 0; row < ability.rows; row++)
      if (shown.take(row, screen.page.row(row))) rows.push([row, runsOf(screen, row)]);
    const { row, column } = screen.cursor;
    const [oldRow, oldColumn] = frames.at(-1)?.cursor ?? [0, 0];
    if (up > 0 || rows.length > 0 || oldRow !== row || oldColumn !== column)
      frames.push({ t, up, rows, cursor: [row, column] });
  }
  return frames;
}
