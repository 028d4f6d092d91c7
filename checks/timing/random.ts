import { type Machine, type Op, placesOf, type TrackTimes } from "@rouse/core/timing";

/**
 * Random machines with whole microseconds, and jobs for them. Turns are short, so that a million can be stepped through. On
 * half of the benches every time is a multiple of one unit, so that a sector often begins at the very moment when the drive
 * is ready for it, and a microsecond more misses it.
 */

function numbers(seed: number): (low: number, high: number) => number {
  let state = seed >>> 0;
  return (low, high) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return low + (((t ^ (t >>> 14)) >>> 0) % (high - low + 1));
  };
}

export function randomBench(seed: number): { machine: Machine; ops: Op[] } {
  const next = numbers(seed);
  const unit = next(0, 1) === 0 ? 1 : next(20, 60);
  const snap = (time: number): number => time - (time % unit);
  const turn = snap(next(600, 3000));
  const interleave = next(1, 9);
  const skew = next(0, 5);
  // Two zones, as on a zoned disk.
  const counts = [next(3, 12), next(2, 10)];
  const lead = snap(next(0, 90));
  const times = (track: number): TrackTimes => {
    const sectors = counts[track < 3 ? 0 : 1]!;
    const pitch = Math.max(1, snap(Math.floor((turn - lead) / sectors)));
    return {
      starts: Float64Array.from({ length: sectors }, (_, place) => lead + place * pitch),
      sectors: placesOf(sectors, interleave, skew * track),
      length: Math.max(1, pitch - next(0, 1) * snap(Math.floor(pitch / 2))),
    };
  };
  const tracks = Array.from({ length: 6 }, (_, track) => times(track));
  const machine: Machine = {
    turn,
    phase: snap(next(0, turn - 1)),
    step: Math.max(1, snap(next(1, 400))),
    settle: snap(next(0, 1) * next(0, 900)),
    headLoad: snap(next(0, 2) * next(0, 700)),
    motorStart: snap(next(0, 2) * next(0, 4000)),
    buffers: next(0, 3),
    command: snap(next(0, 1) * next(0, 120)),
    byte: next(0, 3),
    handling: snap(next(0, 2) * next(0, 500)),
    character: snap(next(0, 90)),
    track: (track) => tracks[track]!,
  };
  const ops: Op[] = [];
  const runs = next(1, 4);
  for (let part = 0; part < runs; part++) {
    const kind = (["read", "read", "read", "write", "write", "format", "work", "line"] as const)[next(0, 7)]!;
    const count = next(1, 9);
    const inOrder = next(0, 1) === 1;
    let track = next(0, 5);
    for (let i = 0; i < count; i++) {
      if (!inOrder && next(0, 2) === 0) track = next(0, 5);
      const side = (next(0, 1) === 1 ? 1 : 0) as 0 | 1;
      const sectors = tracks[track]!.sectors.length;
      if (kind === "format") ops.push({ kind, track, side, part });
      else if (kind === "work") ops.push({ kind, time: snap(next(0, 2000)), part });
      else if (kind === "line") ops.push({ kind, characters: next(0, 60), part });
      else
        ops.push({
          kind,
          track,
          side,
          sector: inOrder ? i % sectors : next(0, sectors - 1),
          bytes: Math.max(1, snap(next(1, 256))),
          part,
        });
    }
  }
  return { machine, ops };
}
