import type { Source } from "../catalogue/index.ts";
import type { Quantity } from "../quantity/index.ts";
import { type FieldKind, trackFields } from "./fields.ts";
import { cellsOfByte, type TrackForm } from "./form.ts";

/** One kind of field in a track's budget. Bytes are counted as they pass the head: 8 cells in group code, else 16. */
export interface BudgetRow {
  kind: FieldKind;
  /** How often it comes on the track. */
  times: number;
  /** Of one, at nominal speed. */
  bytes: number;
  seconds: number;
  /** What a later write of a single sector does to this field. */
  splice?: string;
}

/** How much is left before the index comes round again, under one condition. Negative where the track overruns it. */
export interface GapLeft {
  condition: string;
  /** Departures from nominal as shares: +0.02 is 2 % fast. */
  speed: number;
  writer: number;
  bytesInTurn: number;
  /** Of the gap to the index; in group code of all gaps after data together, since drives spread what there is over them. */
  bytesLeft: number;
  /** `tight` where less is left than the least gap that is asked for; `no` where the last sector itself is cut. */
  fits: "yes" | "tight" | "no";
}

export interface TrackBudget {
  form: TrackForm;
  rows: BudgetRow[];
  /** Everything but the gap to the index, in bytes; in group code everything but the gaps after data too. */
  content: number;
  /** Nominal, slowest turn, fastest turn, and 2 % fast. */
  left: GapLeft[];
  /** The drive's speed has no tolerance of its own, so ±2 % was taken (common practice, no source). */
  assumed: boolean;
}

export interface BudgetOptions {
  /** The drive's rotation with its tolerance, ±2 % where it has none; the recording's own ±2 % where left out. */
  rotation?: Quantity;
  /** Tolerance of the writer's clock as a share; 0.5 % where left out (from memory). */
  writer?: number;
}

/** Least gap before the index: 16 bytes in FM and MFM (179x disk controller data sheet, section 12.3). */
const LEAST_GAP_TO_INDEX = 16;
/** Least gap after each sector in group code, in bytes. From memory. */
const LEAST_GROUP_GAP = 4;

/** Of a spindle that says nothing of it, as a share. Common practice, no source. */
const USUAL_TOLERANCE = 0.02;

const SPLICE_STARTS: Readonly<Record<TrackForm["code"], string>> = {
  FM: "writing a sector again begins here, 11 bytes after the ID's CRC",
  MFM: "writing a sector again begins here, 22 bytes after the ID's CRC",
  "zoned 4-to-5 group code": "writing a sector again begins here, at the sync after the gap",
};
const SPLICE_ENDS = "writing a sector again ends here, about one byte after the check";

/**
 * What a track is made of, and what is left of the turn at nominal speed and at both ends of the drive's and the writer's
 * tolerance. A fast disk or a slow writer leaves less.
 */
export function trackBudget(form: TrackForm, options: BudgetOptions = {}): TrackBudget {
  const unit = cellsOfByte(form.code);
  const group = form.code === "zoned 4-to-5 group code";
  /** Bytes below which it is tight, and below which the last sector is cut. */
  const least = group ? form.sectors * LEAST_GROUP_GAP : LEAST_GAP_TO_INDEX;
  const cut = group ? 0 : -form.layout.afterData;
  const rows: BudgetRow[] = [];
  let content = 0;
  for (const { kind, length } of trackFields(form)) {
    const bytes = length / unit;
    if (kind !== "gap to index" && !(group && kind === "gap after data")) content += bytes;
    const row = rows.find((each) => each.kind === kind);
    if (row) row.times++;
    else {
      const splice =
        kind === "gap after ID" ? SPLICE_STARTS[form.code] : kind === "gap after data" ? SPLICE_ENDS : undefined;
      const seconds = length * form.cellSeconds;
      rows.push({ kind, times: 1, bytes, seconds, ...(splice === undefined ? {} : { splice }) });
    }
  }
  const nominal = 1 / form.turnSeconds;
  const { value, low, high } = options.rotation ?? { value: nominal, low: nominal, high: nominal };
  const assumed = low === high;
  const slowest = (assumed ? value * (1 - USUAL_TOLERANCE) : low) / nominal - 1;
  const fastest = (assumed ? value * (1 + USUAL_TOLERANCE) : high) / nominal - 1;
  const clock = options.writer ?? 0.005;
  const at = (condition: string, speed: number, writer: number): GapLeft => {
    const bytesInTurn = ((form.turnSeconds / form.cellSeconds / unit) * (1 + writer)) / (1 + speed);
    const bytesLeft = bytesInTurn - content;
    const fits = bytesLeft < cut ? "no" : bytesLeft < least ? "tight" : "yes";
    return { condition, speed, writer, bytesInTurn, bytesLeft, fits };
  };
  return {
    form,
    rows,
    content,
    assumed,
    left: [
      at("nominal", 0, 0),
      at("slowest turn, fastest writer", slowest, clock),
      at("fastest turn, slowest writer", fastest, -clock),
      at("2 % fast", 0.02, 0),
    ],
  };
}

/** How far transitions are shifted on writing, so that they are read where they belong. */
export interface Precompensation {
  seconds: number;
  /** From this track inwards, from 0. */
  fromTrack: number;
  source: Source;
}

const MEMORY: Source = { id: "memory", title: "from memory, not confirmed", kind: "memory" };

/**
 * What writers do where transitions crowd: nothing in FM and group code; in MFM 200 ns beyond track 43 on 8-inch disks,
 * where the controller says so on a pin of its own, and 125 ns otherwise. From memory: the standards' texts were not read.
 */
export function precompensation(form: TrackForm): Precompensation | undefined {
  if (form.code !== "MFM") return undefined;
  if (form.disk === "8-inch") return { seconds: 200e-9, fromTrack: 44, source: MEMORY };
  return { seconds: Math.min(125e-9, form.cellSeconds / 8), fromTrack: 0, source: MEMORY };
}

/**
 * Times of the transitions of a run of cells, from the start of its first cell, each in the middle of its cell. With
 * `shift` in seconds, one with a nearer neighbour on one side is written that much towards it, because it will be read
 * pushed away (peak shift; the rule is arithmetic on superposed pulses, as the 179x data sheet's early and late outputs).
 */
export function transitionTimes(bits: Uint8Array, length: number, cellSeconds: number, shift = 0): Float64Array {
  const places: number[] = [];
  for (let i = 0; i << 3 < length; i++) {
    const byte = bits[i]!;
    if (byte === 0) continue;
    for (let bit = 0; bit < 8; bit++) if (byte & (0x80 >> bit) && (i << 3) + bit < length) places.push((i << 3) + bit);
  }
  const times = Float64Array.from(places, (place) => (place + 0.5) * cellSeconds);
  if (shift > 0)
    for (let k = 1; k + 1 < places.length; k++) {
      const before = places[k]! - places[k - 1]!;
      const after = places[k + 1]! - places[k]!;
      if (before !== after) times[k] = times[k]! + (before < after ? -shift : shift);
    }
  return times;
}
