import { type Cells, cellAt } from "./cells.ts";
import { type Field, trackFields } from "./fields.ts";
import type { TrackForm } from "./form.ts";
import type { FoundSector } from "./scan.ts";

/** A field on the circumference, as a picture needs it. */
export interface MapField extends Field {
  /** Shares of the turn, 0 at the index. */
  from: number;
  to: number;
  seconds: number;
}

const onTurn = (fields: readonly Field[], form: TrackForm, turnCells: number): MapField[] =>
  fields.map((field) => ({
    ...field,
    from: field.start / turnCells,
    to: (field.start + field.length) / turnCells,
    seconds: field.length * form.cellSeconds,
  }));

/** The fields of a track as the recording lays them out, along the circumference. */
export const trackMap = (form: TrackForm, order?: readonly number[]): MapField[] =>
  onTurn(trackFields(form, order), form, form.cells);

/** The fields found on a run of cells, along its circumference. `at` 0 is the first cell. */
export function foundMap(
  sectors: readonly FoundSector[],
  form: TrackForm,
  turnCells: number,
): (MapField & { good: boolean })[] {
  const group = form.code === "zoned 4-to-5 group code";
  return sectors.flatMap(({ id, data }) => {
    const sector = id?.good ? { sector: id.id.sector } : {};
    const parts = (field: NonNullable<typeof id | typeof data>): (Field & { good: boolean })[] => {
      const isId = field.kind === "ID";
      // The check of a header stands before the ID; every other one, at the end.
      const start = field.contentAt + (group && isId ? 10 : 0);
      const end = field.end - (group ? (isId ? 0 : 10) : 32);
      const { at, contentAt, good } = field;
      return [
        { kind: isId ? "ID mark" : "data mark", ...sector, start: at, length: contentAt - at, good },
        { kind: field.kind, ...sector, start, length: end - start, good },
      ];
    };
    return [id, data]
      .filter((field) => field !== undefined)
      .flatMap(parts)
      .map((field) => ({ ...onTurn([field], form, turnCells)[0]!, good: field.good }));
  });
}

/** One cell, told apart as clock or data; in group code as a place in its code word, or as a bit of a sync run or gap. */
export interface MapCell {
  /** Index on the track. */
  cell: number;
  value: 0 | 1;
  role: "clock" | "data" | "code" | "run";
  /** A clock that breaks the rule of the code: left out where it belongs, or there where it doesn't. */
  clock?: "missing" | "extra";
  /** The byte of the field that the cell belongs to, from 0. */
  byte: number;
}

/** The cells of one field, or of as much of it as lies on the track. */
export function fieldCells(form: TrackForm, cells: Cells, field: Field): MapCell[] {
  const rows: MapCell[] = [];
  const end = Math.min(field.start + field.length, cells.length);
  const group = form.code === "zoned 4-to-5 group code";
  const run = /sync|gap/.test(field.kind);
  for (let cell = Math.max(0, field.start); cell < end; cell++) {
    const value = cellAt(cells, cell);
    const place = cell - field.start;
    if (group) {
      rows.push({ cell, value, role: run ? "run" : "code", byte: Math.floor(place / (run ? 8 : 10)) });
      continue;
    }
    const byte = place >> 4;
    if (place & 1) {
      rows.push({ cell, value, role: "data", byte });
      continue;
    }
    const before = cell > 0 ? cellAt(cells, cell - 1) : 0;
    const after = cell + 1 < cells.length ? cellAt(cells, cell + 1) : 0;
    const wanted = form.code === "FM" || (before === 0 && after === 0) ? 1 : 0;
    const clock = value === wanted ? {} : { clock: value ? ("extra" as const) : ("missing" as const) };
    rows.push({ cell, value, role: "clock", ...clock, byte });
  }
  return rows;
}
