import type { Recording } from "@rouse/core/catalogue";
import type { Quantity } from "@rouse/core/quantity";
import {
  type Cells,
  encodeTrack,
  fieldCells,
  type MapCell,
  type MapField,
  type Precompensation,
  precompensation,
  sectorOrder,
  type TrackBudget,
  type TrackForm,
  trackBudget,
  trackForm,
  trackMap,
} from "@rouse/core/recording";

/** A track of a recording, and the drive that turns it. */
export interface TrackWish {
  recording: Recording;
  track: number;
  side: 0 | 1;
  interleave: number;
  rotation: Quantity | null;
}

/** A track laid out: its fields around the turn, its cells, and what is left. */
export interface Track {
  form: TrackForm;
  fields: readonly MapField[];
  cells: Cells;
  budget: TrackBudget;
  precompensation: Precompensation | undefined;
}

export type FieldLook = "gap" | "sync" | "mark" | "id" | "data" | "check";

export const FIELD_LOOKS: readonly (readonly [FieldLook, string])[] = [
  ["gap", "gap"],
  ["sync", "sync"],
  ["mark", "mark"],
  ["id", "ID"],
  ["data", "data"],
  ["check", "check"],
];

export function lookOf({ kind }: MapField): FieldLook {
  if (kind.startsWith("gap")) return "gap";
  if (kind.endsWith("sync")) return "sync";
  if (kind.endsWith("mark")) return "mark";
  if (kind.endsWith("check")) return "check";
  return kind === "ID" ? "id" : "data";
}

/** Lays out one track, with an image's data or, without them, with bytes of zero. Throws an `InputError` where it cannot. */
export function layTrack({ recording, track, side, interleave, rotation }: TrackWish, data: Uint8Array | null): Track {
  const form = trackForm(recording, track, side);
  return {
    form,
    fields: trackMap(form, sectorOrder(form, interleave)).filter(({ length }) => length > 0),
    cells: encodeTrack(form, data ?? new Uint8Array(form.sectors * form.size), { interleave }),
    budget: trackBudget(form, rotation ? { rotation } : {}),
    precompensation: precompensation(form),
  };
}

/** The field that holds a cell, by its place in the list. */
export function fieldAt(fields: readonly MapField[], cell: number): number {
  let low = 0;
  let high = fields.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (fields[middle]!.start <= cell) low = middle;
    else high = middle - 1;
  }
  return low;
}

export const isGroup = ({ code }: TrackForm): boolean => code === "zoned 4-to-5 group code";

/** Cells that a byte of a field takes. */
export const unitOf = (form: TrackForm, { kind }: MapField): number =>
  isGroup(form) ? (/gap|sync/.test(kind) ? 8 : 10) : 16;

/** The cells from `from` up to `to`, told apart. */
export function cellsBetween(track: Track, from: number, to: number): (MapCell & { field: MapField })[] {
  return track.fields
    .filter(({ start, length }) => start < to && start + length > from)
    .flatMap((field) =>
      fieldCells(track.form, track.cells, field)
        .filter(({ cell }) => cell >= from && cell < to)
        .map((each) => ({ ...each, field })),
    );
}

/** Value of a byte of a field in FM or MFM, from its data cells; undefined in group code, whose words are not bytes. */
export function byteAt(track: Track, field: MapField, byte: number): number | undefined {
  if (isGroup(track.form)) return undefined;
  const part = { ...field, start: field.start + byte * 16, length: Math.min(16, field.length - byte * 16) };
  const bits = fieldCells(track.form, track.cells, part).filter(({ role }) => role === "data");
  return bits.length === 8 ? bits.reduce((value, each) => value * 2 + each.value, 0) : undefined;
}

const ROLES: Readonly<Record<MapCell["role"], string>> = {
  clock: "clock cell",
  data: "data cell",
  code: "cell of a code word",
  run: "cell",
};

export interface CellTold {
  title: string;
  place: string;
  size: string;
  cell: string;
}

const round = (value: number, digits: number): string =>
  value.toLocaleString("en-GB", { minimumFractionDigits: digits, maximumFractionDigits: digits });

/** What lies under the cursor, in words. */
export function tellCell(track: Track, cell: number): CellTold {
  const { form } = track;
  const field = track.fields[fieldAt(track.fields, cell)]!;
  const bytes = field.length / unitOf(form, field);
  const micro = (cells: number): string => round(cells * form.cellSeconds * 1e6, 1);
  const one = cellsBetween(track, cell, cell + 1)[0];
  const CLOCKS = { missing: ", left out on purpose: that makes the mark", extra: ", put in against the rule" };
  const what = one
    ? `: ${ROLES[one.role]} of byte ${one.byte + 1}, ${one.value === 1 ? "a transition" : "no transition"}${one.clock ? CLOCKS[one.clock] : ""}`
    : "";
  return {
    title: field.sector === undefined ? field.kind : `${field.kind}, sector ${field.sector}`,
    place: `${micro(field.start)} to ${micro(field.start + field.length)} µs after the index`,
    size: `${round(bytes, Number.isInteger(bytes) ? 0 : 1)} ${bytes === 1 ? "byte" : "bytes"}, ${field.length.toLocaleString("en-GB")} cells, ${micro(field.length)} µs`,
    cell: `Cell ${cell.toLocaleString("en-GB")}${what}`,
  };
}
