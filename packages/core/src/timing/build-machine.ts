import type { Recording } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { trackFields, trackForm } from "../recording/index.ts";
import { type Machine, placesOf, type TrackTimes } from "./machine.ts";
import type { ParameterId } from "./parameters.ts";

export type Values = ReadonlyMap<ParameterId, number>;

const MICRO = 1e6;

/** Starts of the places along a track, and how long a sector takes, in microseconds; from the recording's layout. */
function passing(
  recording: Recording,
  track: number,
  side: 0 | 1,
  turn: number,
): { starts: Float64Array; length: number } {
  try {
    const form = trackForm(recording, track, side);
    const cell = form.cellSeconds * MICRO;
    const starts: number[] = [];
    let length = 0;
    for (const field of trackFields(form)) {
      if (field.kind === "ID mark") starts.push(field.start * cell);
      if (field.kind === "data check" && length === 0) length = (field.start + field.length) * cell - starts[0]!;
    }
    // A disk that turns faster than it was laid out for: the places move together.
    const last = starts.at(-1)! + length;
    const squeeze = last > turn ? turn / last : 1;
    return { starts: Float64Array.from(starts, (start) => start * squeeze), length: length * squeeze };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    // No layout: the sectors are spread evenly over the turn.
    const zone = recording.geometry.zones.find(
      (each) => track >= each.from && track <= each.to && (each.side === undefined || each.side === side),
    );
    const sectors = zone?.sectors ?? 1;
    const pitch = turn / sectors;
    return { starts: Float64Array.from({ length: sectors }, (_, place) => place * pitch), length: pitch };
  }
}

/**
 * The machine of the simulation. What is not in `values` takes no time, so that the answer is a lower bound. `phase` is
 * a share of a turn. `track` is kept and shared between machines with the same values but for phase.
 */
export function buildMachine(recording: Recording, values: Values, frameBits: number, phase: number): Machine {
  const value = (id: ParameterId): number => values.get(id) ?? 0;
  const turn = MICRO / (values.get("rotation") ?? recording.rotation.value.value);
  const interleave = Math.max(1, Math.round(values.get("interleave") ?? 1));
  const skew = Math.round(value("skew"));
  const tracks = new Map<number, TrackTimes>();
  const zones = new Map<string, { starts: Float64Array; length: number }>();
  const inverse = (rate: number, bits: number): number => (rate > 0 ? (bits / rate) * MICRO : 0);
  return {
    turn,
    phase: phase * turn,
    step: value("step") * MICRO,
    settle: value("settle") * MICRO,
    headLoad: value("headLoad") * MICRO,
    motorStart: value("motorStart") * MICRO,
    buffers: Math.round(value("buffers")),
    command: value("command") * MICRO,
    byte: inverse(value("busRate"), 8),
    handling: value("handling") * MICRO,
    character: inverse(value("lineRate"), frameBits),
    track(track, side) {
      const key = track * 2 + side;
      const known = tracks.get(key);
      if (known) return known;
      const zone = recording.geometry.zones.findIndex(
        (each) => track >= each.from && track <= each.to && (each.side === undefined || each.side === side),
      );
      const zoneKey = `${zone} ${track === 0 && side === 0}`;
      const times = zones.get(zoneKey) ?? passing(recording, track, side, turn);
      zones.set(zoneKey, times);
      const made = { ...times, sectors: placesOf(times.starts.length, interleave, skew * track) };
      tracks.set(key, made);
      return made;
    },
  };
}
