import { InputError } from "../errors/index.ts";
import { missingOf, type TimingInput, valuesOf } from "./answer.ts";
import { buildMachine } from "./build-machine.ts";
import type { Fitted } from "./fitted.ts";
import type { Op } from "./machine.ts";
import { timedBench, withTried } from "./parameters.ts";
import { simulate } from "./simulate.ts";

export interface CurvePoint {
  /** Interleave or skew. */
  step: number;
  /** Seconds to read the sample of tracks, and turns a track. */
  seconds: number;
  turns: number;
  /** Of whole sectors, bytes a second. */
  bytesPerSecond: number;
}

/** The interleave and skew at which this drive, bus and CPU read tracks in a row soonest. */
export interface InterleaveAnswer {
  known: boolean;
  missing: readonly { key: string; label: string }[];
  now: { interleave: number; skew: number; bytesPerSecond: number };
  interleave: number;
  skew: number;
  bytesPerSecond: number;
  /** Over the interleave without skew, and over the skew with the best interleave. */
  interleaves: readonly CurvePoint[];
  skews: readonly CurvePoint[];
}

/** Tracks in a row that are read in each zone: enough for the skew to show. */
const SAMPLE = 3;

const RESTS = ["rotation", "step", "settle", "buffers", "busRate", "command", "handling"] as const;

/** Tries every interleave and skew on a few tracks of each zone. Throws an `InputError` without recording or drive. */
export function bestInterleave(input: TimingInput, fitted?: Fitted): InterleaveAnswer {
  const timed = withTried(timedBench(input.bench, input.image.name), input.tried);
  const { recording } = timed;
  if (!recording || !timed.drive)
    throw new InputError("no-disk", `The best interleave needs ${timed.lacking.join(" and ")} in the bench file.`);
  const runs: { ops: Op[]; weight: number; bytes: number; tracks: number; from: number }[] = [];
  for (const zone of recording.geometry.zones) {
    const ops: Op[] = [];
    const last = Math.min(zone.to, zone.from + SAMPLE - 1);
    let bytes = 0;
    let tracks = 0;
    for (let track = zone.from; track <= last; track++)
      for (let side = 0; side < recording.geometry.sides; side++) {
        if (zone.side !== undefined && zone.side !== side) continue;
        tracks++;
        for (let sector = 0; sector < zone.sectors; sector++) {
          ops.push({ kind: "read", track, side: side as 0 | 1, sector, bytes: zone.size, part: 0 });
          bytes += zone.size;
        }
      }
    if (ops.length > 0)
      runs.push({ ops, weight: (zone.to - zone.from + 1) / (last - zone.from + 1), bytes, tracks, from: zone.from });
  }
  const values = valuesOf(timed, fitted);
  const missing = missingOf(timed, RESTS, values);
  const at = (interleave: number, skew: number, step: number): CurvePoint => {
    // The way to the zone and the start of the motor are not the interleave's.
    const tried = new Map(values)
      .set("interleave", interleave)
      .set("skew", skew)
      .set("motorStart", 0)
      .set("headLoad", 0);
    let seconds = 0;
    let bytes = 0;
    let turns = 0;
    let tracks = 0;
    for (const each of runs) {
      const machine = buildMachine(recording, tried, 10, 0);
      const near = (op: Op): Op => ("track" in op ? { ...op, track: op.track - each.from } : op);
      const shifted = { ...machine, track: (track: number, side: 0 | 1) => machine.track(track + each.from, side) };
      const time = simulate(shifted, each.ops.map(near)).time / 1e6;
      seconds += time * each.weight;
      bytes += each.bytes * each.weight;
      turns += ((time * 1e6) / machine.turn) * each.weight;
      tracks += each.tracks * each.weight;
    }
    return { step, seconds, turns: turns / tracks, bytesPerSecond: bytes / seconds };
  };
  const most = Math.max(...recording.geometry.zones.map((zone) => zone.sectors));
  const quickest = (curve: readonly CurvePoint[]): CurvePoint =>
    curve.reduce((best, each) => (each.seconds < best.seconds - 1e-9 ? each : best));
  const interleaves: CurvePoint[] = [];
  for (let interleave = 1; interleave < Math.max(2, most); interleave++)
    interleaves.push(at(interleave, 0, interleave));
  const interleave = quickest(interleaves).step;
  const skews: CurvePoint[] = [];
  for (let skew = 0; skew < most; skew++) skews.push(at(interleave, skew, skew));
  const best = quickest(skews);
  const now = { interleave: values.get("interleave") ?? 1, skew: values.get("skew") ?? 0 };
  return {
    known: missing.length === 0,
    missing: missing.map(({ key, label }) => ({ key, label })),
    now: { ...now, bytesPerSecond: at(now.interleave, now.skew, 0).bytesPerSecond },
    interleave,
    skew: best.step,
    bytesPerSecond: best.bytesPerSecond,
    interleaves,
    skews,
  };
}
