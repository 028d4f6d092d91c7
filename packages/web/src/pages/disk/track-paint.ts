import type { MapField } from "@rouse/core/recording";
import { faceOf, readInks, roundPlaces } from "../../parts/canvas.ts";
import type { Stretch } from "../../parts/use-stretch.ts";
import { byteAt, cellsBetween, type FieldLook, fieldAt, lookOf, type Track, unitOf } from "./track-model.ts";

/** Colours and faces of a picture, as they are on the page now. */
export interface Paints {
  inks: Record<FieldLook | "ink" | "muted" | "line" | "sheet" | "cursor" | "clock" | "bit" | "odd", string>;
  face: string;
  mono: string;
}

export const paintsOf = (element: HTMLElement): Paints => ({
  inks: readInks(element, {
    gap: "--field-gap",
    sync: "--field-sync",
    mark: "--field-mark",
    id: "--field-id",
    data: "--field-data",
    check: "--field-check",
    ink: "--ink",
    muted: "--muted",
    line: "--line-strong",
    sheet: "--sheet",
    cursor: "--field-cursor",
    clock: "--cell-clock",
    bit: "--cell-bit",
    odd: "--stops",
  }),
  face: faceOf(element, "--humanist"),
  mono: faceOf(element, "--mono"),
});

type Pen = CanvasRenderingContext2D;

/** What every part of the strip is painted by. */
interface Strip extends Paints {
  pen: Pen;
  track: Track;
  view: Stretch;
  width: number;
  perCell: number;
  /** Place of a cell's left edge. */
  x(cell: number): number;
}

/** From so many pixels a cell on, cells are drawn one by one; from so many on, with their values. */
export const CELLS_FROM = 5;
const VALUES_FROM = 11;

const SECTOR_ROW = 22;
const FIELD_TOP = 27;
const FIELD_HEIGHT = 38;
const BYTE_ROW = 77;
const CELL_TOP = 88;
const CELL_HEIGHT = 26;
const WAVE_TOP = 126;
const WAVE_HEIGHT = 20;
const AXIS = 156;

const shortName = ({ kind }: MapField): string =>
  /sync|mark|check/.exec(kind)?.[0] ?? (kind.startsWith("gap") ? "gap" : kind);

/** The turn straightened: sectors above, fields, and near enough the cells with their clocks, bits and transitions. */
export function paintStrip(pen: Pen, track: Track, view: Stretch, cursor: number, width: number, paints: Paints): void {
  const perCell = width / view.span;
  const x = (cell: number): number => (cell - view.from) * perCell;
  const strip: Strip = { ...paints, pen, track, view, width, perCell, x };
  const end = view.from + view.span;
  const seen = track.fields.filter(({ start, length }) => start < end && start + length > view.from);
  pen.textBaseline = "middle";
  pen.textAlign = "center";
  paintSectors(strip, seen);
  for (const field of seen) paintField(strip, field);
  if (perCell >= CELLS_FROM) {
    paintWave(strip);
    paintCells(strip);
  } else paintDensity(strip);
  paintAxis(strip);
  paintCursor(strip, cursor);
}

function paintField({ pen, inks, face, width, x }: Strip, field: MapField): void {
  const look = lookOf(field);
  const [from, to] = [Math.max(-2, x(field.start)), Math.min(width + 2, x(field.start + field.length))];
  pen.fillStyle = inks[look];
  pen.fillRect(from, FIELD_TOP, Math.max(0.6, to - from), FIELD_HEIGHT);
  if (to - from > 3) {
    pen.strokeStyle = inks.sheet;
    pen.lineWidth = 1;
    pen.strokeRect(from + 0.5, FIELD_TOP + 0.5, to - from, FIELD_HEIGHT - 1);
  }
  pen.font = `600 12px ${face}`;
  const name = look === "gap" && pen.measureText(field.kind).width + 8 < to - from ? field.kind : shortName(field);
  if (pen.measureText(name).width + 6 > to - from) return;
  pen.fillStyle = look === "gap" ? inks.ink : inks.sheet;
  pen.fillText(name, (from + to) / 2, FIELD_TOP + FIELD_HEIGHT / 2);
}

/** A bracket over each sector, from its ID's sync to its data's check. */
function paintSectors({ pen, track, inks, face, width, x }: Strip, seen: readonly MapField[]): void {
  pen.font = `600 12px ${face}`;
  pen.lineWidth = 1;
  pen.strokeStyle = inks.line;
  pen.fillStyle = inks.muted;
  for (const number of new Set(seen.map(({ sector }) => sector))) {
    if (number === undefined) continue;
    const own = track.fields.filter(({ sector, kind }) => sector === number && kind !== "gap after data");
    const [first, last] = [own[0], own.at(-1)];
    if (!first || !last) continue;
    const [from, to] = [Math.max(0, x(first.start) + 1), Math.min(width, x(last.start + last.length) - 1)];
    if (to <= from) continue;
    pen.beginPath();
    pen.moveTo(from, SECTOR_ROW);
    pen.lineTo(from, SECTOR_ROW - 5);
    pen.lineTo(to, SECTOR_ROW - 5);
    pen.lineTo(to, SECTOR_ROW);
    pen.stroke();
    const long = `sector ${number}`;
    const name = pen.measureText(long).width + 8 < to - from ? long : String(number);
    if (pen.measureText(name).width < to - from) pen.fillText(name, (from + to) / 2, 8);
  }
}

/** The magnetisation: it changes in the middle of each cell that holds a one. */
function paintWave({ pen, track, view, inks, x }: Strip): void {
  let level = 0;
  pen.lineWidth = 1.6;
  pen.strokeStyle = inks.ink;
  pen.beginPath();
  const y = (): number => WAVE_TOP + (level ? 0 : WAVE_HEIGHT);
  cellsBetween(track, Math.floor(view.from), Math.ceil(view.from + view.span)).forEach(({ cell, value }, index) => {
    if (index === 0) pen.moveTo(x(cell), y());
    pen.lineTo(x(cell + 0.5), y());
    if (value === 1) {
      level = 1 - level;
      pen.lineTo(x(cell + 0.5), y());
    }
    pen.lineTo(x(cell + 1), y());
  });
  pen.stroke();
}

function paintCells(strip: Strip): void {
  const { pen, track, view, perCell, x, inks, mono } = strip;
  let labelled = "";
  for (const each of cellsBetween(track, Math.floor(view.from), Math.ceil(view.from + view.span))) {
    const { cell, value, role, clock, byte, field } = each;
    const left = x(cell);
    // Clocks are lower than data, so that they differ by more than colour.
    const inset = role === "clock" ? 5 : 0;
    pen.fillStyle = role === "clock" || role === "run" ? inks.clock : inks.bit;
    pen.globalAlpha = value === 1 ? 1 : 0.25;
    pen.fillRect(left + 0.5, CELL_TOP + inset, Math.max(1, perCell - 1), CELL_HEIGHT - 2 * inset);
    pen.globalAlpha = 1;
    if (perCell >= VALUES_FROM) {
      pen.font = `${role === "clock" ? "" : "700 "}12px ${mono}`;
      pen.fillStyle = value === 1 ? inks.sheet : inks.ink;
      pen.fillText(String(value), left + perCell / 2, CELL_TOP + CELL_HEIGHT / 2 + 1);
    }
    if (clock) {
      pen.strokeStyle = inks.odd;
      pen.lineWidth = 2;
      pen.strokeRect(left + 1, CELL_TOP + 1, perCell - 2, CELL_HEIGHT - 2);
      pen.beginPath();
      pen.moveTo(left + 2, CELL_TOP + 2);
      pen.lineTo(left + perCell - 2, CELL_TOP + CELL_HEIGHT - 2);
      pen.stroke();
    }
    const key = `${field.start} ${byte}`;
    if (key !== labelled) paintByte(strip, field, byte);
    labelled = key;
  }
}

/** Where a byte begins, and its value where it has one. */
function paintByte({ pen, track, perCell, x, inks, mono }: Strip, field: MapField, byte: number): void {
  const unit = unitOf(track.form, field);
  const start = x(field.start + byte * unit);
  pen.strokeStyle = inks.line;
  pen.lineWidth = 1;
  pen.beginPath();
  pen.moveTo(start, FIELD_TOP + FIELD_HEIGHT + 2);
  pen.lineTo(start, CELL_TOP + CELL_HEIGHT);
  pen.stroke();
  const value = byteAt(track, field, byte);
  if (value === undefined || unit * perCell < 40) return;
  pen.font = `12px ${mono}`;
  pen.fillStyle = inks.ink;
  pen.fillText(`$${value.toString(16).toUpperCase().padStart(2, "0")}`, start + (unit * perCell) / 2, BYTE_ROW);
}

/** Too far away for single cells: how densely the transitions lie. */
function paintDensity({ pen, track: { cells }, view, perCell, width, inks }: Strip): void {
  const step = 2;
  const bottom = WAVE_TOP + WAVE_HEIGHT;
  pen.fillStyle = inks.line;
  for (let left = 0; left < width; left += step) {
    const from = Math.max(0, Math.floor(view.from + left / perCell));
    const to = Math.min(cells.length, Math.max(from + 1, Math.floor(view.from + (left + step) / perCell)));
    let ones = 0;
    for (let cell = from; cell < to; cell++) ones += (cells.bits[cell >> 3]! >> (7 - (cell & 7))) & 1;
    const height = (ones / Math.max(1, to - from)) * (bottom - CELL_TOP);
    pen.fillRect(left, bottom - height, step, height);
  }
}

const shown = (value: number): string => Number(value.toPrecision(7)).toLocaleString("en-GB");

function paintAxis({ pen, track: { form }, view, width, x, inks, face }: Strip): void {
  const micro = form.cellSeconds * 1e6;
  const isCoarse = view.span * micro > 4000;
  pen.strokeStyle = inks.line;
  pen.lineWidth = 1;
  pen.fillStyle = inks.muted;
  pen.font = `12px ${face}`;
  pen.beginPath();
  pen.moveTo(0, AXIS);
  pen.lineTo(width, AXIS);
  for (const time of roundPlaces(view.from * micro, (view.from + view.span) * micro, Math.max(2, width / 120))) {
    const at = x(time / micro);
    pen.moveTo(at, AXIS);
    pen.lineTo(at, AXIS + 5);
    const label = isCoarse ? `${shown(time / 1000)} ms` : `${shown(time)} µs`;
    const half = pen.measureText(label).width / 2;
    pen.fillText(label, Math.min(width - half, Math.max(half, at)), AXIS + 16);
  }
  pen.stroke();
}

function paintCursor({ pen, track, perCell, width, x, inks }: Strip, cursor: number): void {
  const field = track.fields[fieldAt(track.fields, cursor)]!;
  const [from, to] = [Math.max(1.5, x(field.start)), Math.min(width - 1.5, x(field.start + field.length))];
  if (to < 0 || from > width) return;
  pen.strokeStyle = inks.cursor;
  pen.lineWidth = 3;
  pen.strokeRect(from, FIELD_TOP - 1.5, Math.max(3, to - from), FIELD_HEIGHT + 3);
  if (perCell >= CELLS_FROM) {
    pen.strokeRect(x(cursor) + 0.5, CELL_TOP - 1.5, perCell - 1, CELL_HEIGHT + 3);
    return;
  }
  pen.lineWidth = 2;
  pen.beginPath();
  pen.moveTo(x(cursor), FIELD_TOP + FIELD_HEIGHT);
  pen.lineTo(x(cursor), AXIS);
  pen.stroke();
}

const TOP = -Math.PI / 2;

/** The whole turn as a ring, index at the top, with the stretch in view marked outside it. */
export function paintRing(pen: Pen, track: Track, view: Stretch, cursor: number, size: number, { inks }: Paints): void {
  const middle = size / 2;
  const outer = middle - 14;
  const inner = outer * 0.66;
  const angle = (cell: number): number => TOP + (cell / track.form.cells) * 2 * Math.PI;
  for (const field of track.fields) {
    pen.beginPath();
    pen.arc(middle, middle, outer, angle(field.start), angle(field.start + field.length));
    pen.arc(middle, middle, inner, angle(field.start + field.length), angle(field.start), true);
    pen.closePath();
    pen.fillStyle = inks[lookOf(field)];
    pen.fill();
  }
  pen.strokeStyle = inks.cursor;
  pen.lineWidth = 4;
  pen.beginPath();
  const from = angle(view.from);
  pen.arc(middle, middle, outer + 6, from, Math.max(from + 0.012, angle(view.from + view.span)));
  pen.stroke();
  pen.lineWidth = 2.5;
  pen.beginPath();
  const [dx, dy] = [Math.cos(angle(cursor)), Math.sin(angle(cursor))];
  pen.moveTo(middle + dx * (inner - 8), middle + dy * (inner - 8));
  pen.lineTo(middle + dx * (outer + 4), middle + dy * (outer + 4));
  pen.stroke();
  // The index: a notch at the top.
  pen.fillStyle = inks.ink;
  pen.beginPath();
  pen.moveTo(middle - 6, 0);
  pen.lineTo(middle + 6, 0);
  pen.lineTo(middle, 9);
  pen.fill();
}

/** The cell under a point of the ring, its square being 1 × 1. */
export function cellUnder({ form }: Track, x: number, y: number): number {
  const turn = (Math.atan2(y - 0.5, x - 0.5) - TOP + 4 * Math.PI) % (2 * Math.PI);
  return Math.min(form.cells - 1, Math.floor((turn / (2 * Math.PI)) * form.cells));
}
