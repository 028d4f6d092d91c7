import type { RecordingCode } from "../catalogue/index.ts";
import { cellsOfByte, sectorOrder, type TrackForm } from "./form.ts";

/** Parts of a track in the order in which they pass the head. "check" is a CRC in FM and MFM, a checksum in group code. */
export type FieldKind =
  | "gap before index"
  | "index sync"
  | "index mark"
  | "gap after index"
  | "ID sync"
  | "ID mark"
  | "ID"
  | "ID check"
  | "gap after ID"
  | "data sync"
  | "data mark"
  | "data"
  | "data check"
  | "gap after data"
  | "gap to index";

export interface Field {
  kind: FieldKind;
  /** Sector number as the ID gives it; left out for fields of the whole track. */
  sector?: number;
  /** In cells from the index. */
  start: number;
  length: number;
}

/**
 * Bytes of the fixed fields. FM and MFM: 179x disk controller data sheet, section 12 (sync, marks, ID of four bytes, CRC
 * of two). Group code: user's guide, sync of 40 ones; header 08, checksum, sector, track, two ID bytes and two of padding;
 * data block 07, 256 bytes, checksum and two of padding (padding from memory). Marks of MFM count their three A1 or C2.
 */
const FIXED: Readonly<
  Record<RecordingCode, { sync: number; mark: number; id: number; idCheck: number; check: number }>
> = {
  FM: { sync: 6, mark: 1, id: 4, idCheck: 2, check: 2 },
  MFM: { sync: 12, mark: 4, id: 4, idCheck: 2, check: 2 },
  // In group code the check of the header stands before the ID.
  "zoned 4-to-5 group code": { sync: 5, mark: 1, id: 6, idCheck: 1, check: 3 },
};

/**
 * Every field of a track, laid end to end from the index. The last one, the gap to the index, takes what is left of
 * `form.cells`; its length is negative where the layout doesn't fit.
 */
export function trackFields(form: TrackForm, order: readonly number[] = sectorOrder(form)): Field[] {
  const { code, layout } = form;
  const fixed = FIXED[code];
  const group = code === "zoned 4-to-5 group code";
  /** Cells of a byte in a gap or sync run, and of a byte of content. */
  const plain = cellsOfByte(code);
  const coded = group ? 10 : 16;
  const fields: Field[] = [];
  let at = 0;
  const add = (kind: FieldKind, length: number, sector?: number): void => {
    fields.push(sector === undefined ? { kind, start: at, length } : { kind, sector, start: at, length });
    at += length;
  };
  if (layout.beforeIndex !== undefined) {
    add("gap before index", layout.beforeIndex * plain);
    add("index sync", fixed.sync * plain);
    add("index mark", fixed.mark * coded);
  }
  if (layout.afterIndex !== undefined) add("gap after index", layout.afterIndex * plain);
  for (const sector of order) {
    add("ID sync", fixed.sync * plain, sector);
    add("ID mark", fixed.mark * coded, sector);
    if (group) add("ID check", fixed.idCheck * coded, sector);
    add("ID", fixed.id * coded, sector);
    if (!group) add("ID check", fixed.idCheck * coded, sector);
    add("gap after ID", layout.afterId * plain, sector);
    add("data sync", fixed.sync * plain, sector);
    add("data mark", fixed.mark * coded, sector);
    add("data", form.size * coded, sector);
    add("data check", fixed.check * coded, sector);
    // The last gap after data runs on into the gap to the index, but the layout asks for its bytes too.
    add("gap after data", layout.afterData * plain, sector);
  }
  add("gap to index", form.cells - at);
  return fields;
}
