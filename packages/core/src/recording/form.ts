import type { FormFactor, Recording, RecordingCode, TrackLayout } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";

/** All that one track of a recording is made by: what its IDs say, and how long everything takes. */
export interface TrackForm {
  recording: string;
  disk: FormFactor;
  code: RecordingCode;
  /** Place on the disk, from 0. */
  track: number;
  side: 0 | 1;
  /** Numbers that the ID fields give. On zoned disks side 1 goes on counting tracks where side 0 ended. */
  trackNumber: number;
  headNumber: number;
  firstSector: number;
  sectors: number;
  /** Bytes of data in a sector. */
  size: number;
  /** Seconds of a cell and of a turn, nominal. */
  cellSeconds: number;
  turnSeconds: number;
  /** Whole bytes' worth of cells in a nominal turn. */
  cells: number;
  layout: TrackLayout;
}

/** Cells that a byte of a gap takes: 16 in FM and MFM; gaps of group code are counted in eights as they pass the head. */
export const cellsOfByte = (code: RecordingCode): number => (code === "zoned 4-to-5 group code" ? 8 : 16);

/** Seconds of a cell at a data rate in bits a second. */
const cellSecondsOf = (code: RecordingCode, rate: number): number =>
  code === "zoned 4-to-5 group code" ? 0.8 / rate : 0.5 / rate;

/**
 * The form of one track. Throws an `InputError` where the recording has no such track, or doesn't say how its tracks are
 * laid out.
 */
export function trackForm(recording: Recording, track: number, side: 0 | 1): TrackForm {
  const { geometry } = recording;
  const index =
    track >= 0 && track < geometry.tracks && side < geometry.sides
      ? geometry.zones.findIndex(
          (zone) => track >= zone.from && track <= zone.to && (zone.side === undefined || zone.side === side),
        )
      : -1;
  const zone = geometry.zones[index];
  if (!zone) throw new InputError("no-track", `The recording “${recording.id}” has no track ${track} on side ${side}.`);
  const layout = recording.layout?.[index];
  if (!layout)
    throw new InputError("no-layout", `The recording “${recording.id}” doesn't say how its tracks are laid out.`);
  const zero = track === 0 && side === 0 ? recording.trackZero : undefined;
  const code = zero?.code ?? recording.code;
  const zoned = code === "zoned 4-to-5 group code";
  const rate = (zero?.rate ?? recording.rates[zoned ? index : 0] ?? recording.rates[0])?.value.value;
  if (rate === undefined) throw new InputError("no-rate", `The recording “${recording.id}” has no bit rate.`);
  const cellSeconds = cellSecondsOf(code, rate);
  // Rotation is in turns a second.
  const turnSeconds = 1 / recording.rotation.value.value;
  const unit = cellsOfByte(code);
  return {
    recording: recording.id,
    disk: recording.size,
    code,
    track,
    side,
    trackNumber: track + geometry.firstTrack + (zoned && side === 1 ? geometry.tracks : 0),
    headNumber: side,
    firstSector: geometry.firstSector,
    sectors: zone.sectors,
    size: zone.size,
    cellSeconds,
    turnSeconds,
    cells: Math.floor(turnSeconds / cellSeconds / unit + 1e-6) * unit,
    layout,
  };
}

/** Sector numbers along the track: each `interleave` places after the one before, the next free place on a clash. */
export function sectorOrder(form: TrackForm, interleave = 1): number[] {
  const order = new Array<number>(form.sectors).fill(-1);
  for (let k = 0, place = 0; k < form.sectors; k++) {
    while (order[place] !== -1) place = (place + 1) % form.sectors;
    order[place] = form.firstSector + k;
    place = (place + interleave) % form.sectors;
  }
  return order;
}
