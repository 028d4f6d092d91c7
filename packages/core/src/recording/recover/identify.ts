import type { Recording } from "../../catalogue/index.ts";
import type { Capture } from "../capture/index.ts";
import { type TrackForm, trackForm } from "../form.ts";
import { pairFields, type SectorId, scanFields } from "../scan.ts";
import { fitCell } from "./intervals.ts";
import { readWithLoop } from "./loop.ts";

/** A recording that a capture may be of, and which of its tracks. */
export interface Candidate {
  recording: Recording;
  form: TrackForm;
  /** Turn and cell against nominal: 300/360 for a 300 rpm disk in a 360 rpm drive, else 1. */
  stretch: number;
  /** Of the sectors of that track, the share found with good checks, less what doesn't belong there. */
  score: number;
  /** Measured against nominal cell, as a speed: 0.02 is 2 % fast. */
  speed: number;
  /** Whether the intervals are whole numbers of its cells, 0 to 1. */
  fit: number;
  /** What speaks for it, in one sentence. */
  why: string;
}

/** Transitions looked at: more than any track has in one turn and a half, extra-high density apart. */
const ENOUGH = 150_000;
/** How far a cell may be off nominal and still be looked for. */
const REACH = 0.09;

/** What is tried: a code with a nominal cell. */
interface Guess {
  cellSeconds: number;
  stretch: number;
  forms: { recording: Recording; form: TrackForm }[];
}

/** Every track form of the recordings, gathered by code and cell. */
function guesses(recordings: Iterable<Recording>): Guess[] {
  const all = new Map<string, Guess>();
  for (const recording of recordings) {
    if (!recording.layout) continue;
    const { geometry } = recording;
    for (let track = 0; track < geometry.tracks; track++)
      for (const side of geometry.sides === 2 ? ([0, 1] as const) : ([0] as const)) {
        const form = trackForm(recording, track, side);
        // A 5.25-inch disk made at 300 rpm is often read in a drive of 360.
        const stretches = recording.size === "5.25-inch" && form.turnSeconds > 0.19 ? [1, 300 / 360] : [1];
        for (const stretch of stretches) {
          const key = `${form.code} ${form.cellSeconds.toPrecision(4)} ${stretch}`;
          const guess = all.get(key) ?? { cellSeconds: form.cellSeconds, stretch, forms: [] };
          guess.forms.push({ recording, form });
          all.set(key, guess);
        }
      }
  }
  return [...all.values()];
}

const sameId = (id: SectorId, form: TrackForm): boolean =>
  id.track === form.trackNumber &&
  id.size === form.size &&
  id.sector >= form.firstSector &&
  id.sector < form.firstSector + form.sectors &&
  (form.code === "zoned 4-to-5 group code" || id.head === form.headNumber);

/**
 * Which recordings a capture of one track may be of, the best first. Sectors with good checks count, and what their IDs
 * say; where no sector is whole, the intervals alone, with a score of 0. Recordings that lay this track out alike come as equals.
 */
export function identify(capture: Capture, recordings: Iterable<Recording>): Candidate[] {
  const times = capture.transitions.subarray(0, ENOUGH);
  const candidates: Candidate[] = [];
  for (const { cellSeconds: nominal, stretch, forms } of guesses(recordings)) {
    const { code } = forms[0]!.form;
    const { cellSeconds, fit } = fitCell(times, nominal * stretch, code, REACH);
    // Below this no loop would lock: wrong code, or no recording at all.
    if (fit < 0.15) continue;
    const read = readWithLoop(times, cellSeconds, code);
    const found = new Map<string, { id: SectorId; whole: boolean }>();
    for (const { id, data } of pairFields(scanFields(read.cells, code), code)) {
      if (!id?.good || found.size >= 512) continue;
      const key = `${id.id.track} ${id.id.head} ${id.id.sector} ${id.id.size}`;
      const whole = data?.good === true || found.get(key)?.whole === true;
      found.set(key, { id: id.id, whole });
    }
    const speed = (nominal * stretch) / cellSeconds - 1;
    for (const { recording, form } of forms) {
      let whole = 0;
      let odd = 0;
      for (const { id, whole: isWhole } of found.values())
        if (!sameId(id, form)) odd++;
        else if (isWhole) whole++;
      if (whole === 0 && found.size > 0) continue;
      // With nothing found, one track stands for all that are alike.
      if (
        whole === 0 &&
        candidates.some(
          (each) =>
            each.recording === recording && each.form.cellSeconds === form.cellSeconds && each.stretch === stretch,
        )
      )
        continue;
      const score = Math.max(0, (whole - odd) / form.sectors);
      const why =
        whole > 0
          ? `${whole} of its ${form.sectors} sectors are there with good checks${odd > 0 ? `, and ${odd} that don't belong` : ""}`
          : "only the intervals fit: no sector was found whole";
      candidates.push({ recording, form, stretch, score, speed, fit, why });
    }
  }
  const best = candidates.reduce((most, each) => Math.max(most, each.score), 0);
  return candidates
    .filter((each) => best === 0 || each.score > best / 4)
    .sort((one, other) => other.score - one.score || other.fit - one.fit || Math.abs(one.speed) - Math.abs(other.speed))
    .slice(0, 64);
}
