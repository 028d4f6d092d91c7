/**
 * What the simulation runs on, in plain numbers. Times are microseconds. `docs/timing.md` states the model in words.
 */

/** Sectors of one track as they pass the head. */
export interface TrackTimes {
  /** From the index to the start of the ID in each place along the track, rising; all below a turn. */
  starts: Float64Array;
  /** Sector (from 0, as a block map counts) in each place. */
  sectors: Int32Array;
  /** From the start of a sector's ID to the end of its data. */
  length: number;
}

export interface Machine {
  turn: number;
  /** Since the index passed, when time begins. */
  phase: number;
  step: number;
  settle: number;
  headLoad: number;
  motorStart: number;
  /** Sector buffers of the controller; 0 where bytes go to the computer as they pass the head. */
  buffers: number;
  /** Of the bus, before each sector moved or asked for. */
  command: number;
  /** Of the bus, a byte. */
  byte: number;
  /** Of the CPU, a sector. */
  handling: number;
  /** Of the line, a character. */
  character: number;
  track(track: number, side: 0 | 1): TrackTimes;
}

/** One thing that a job does. `part` says which stretch of the job it belongs to. */
export type Op =
  | { kind: "read" | "write"; track: number; side: 0 | 1; sector: number; bytes: number; part: number }
  | { kind: "format"; track: number; side: 0 | 1; part: number }
  | { kind: "work"; time: number; part: number }
  | { kind: "line"; characters: number; part: number };

export const LANES = ["motor", "arm", "head", "disk", "bus", "CPU", "line"] as const;
export type Lane = (typeof LANES)[number];

/** A stretch of time in which one thing went on. Start and length in microseconds. */
export interface Span {
  lane: Lane;
  name: string;
  start: number;
  length: number;
  part: number;
}

/** Places of sectors along a track: each `interleave` places after the one before, the next free place on a clash, all moved on by `shift`. */
export function placesOf(sectors: number, interleave: number, shift = 0): Int32Array {
  const order = new Int32Array(sectors).fill(-1);
  for (let sector = 0, place = ((shift % sectors) + sectors) % sectors; sector < sectors; sector++) {
    while (order[place] !== -1) place = (place + 1) % sectors;
    order[place] = sector;
    place = (place + interleave) % sectors;
  }
  return order;
}
