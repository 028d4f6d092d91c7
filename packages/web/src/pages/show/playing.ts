import { type Frame, pacedTimes, type Runs } from "@rouse/core/show";

/** What the screen shows at a moment. */
export interface Shown {
  rows: readonly Runs[];
  cursor: readonly [row: number, column: number];
}

export interface Film {
  /** The frame of a moment: -1 before the first. */
  frameAt(seconds: number): number;
  shown(frame: number): Shown;
}

/** A moment is kept every so many frames: a seek redoes no more than these. */
const EVERY = 128;

/** Frames as a film that can be entered anywhere. */
export function filmOf(frames: readonly Frame[], rows: number): Film {
  const kept: Shown[] = [];
  const blank = (): Runs[] => Array.from({ length: rows }, () => []);
  const apply = (screen: Runs[], { up, rows: changed }: Frame): void => {
    for (let left = up; left > 0; left--) {
      screen.shift();
      screen.push([]);
    }
    for (const [row, runs] of changed) screen[row] = runs;
  };
  const running = blank();
  for (const [index, frame] of frames.entries()) {
    if (index % EVERY === 0) kept.push({ rows: [...running], cursor: frames[index - 1]?.cursor ?? [0, 0] });
    apply(running, frame);
  }
  return {
    frameAt(seconds) {
      let [low, high] = [0, frames.length];
      while (low < high) {
        const middle = (low + high) >> 1;
        if (frames[middle]!.t <= seconds) low = middle + 1;
        else high = middle;
      }
      return low - 1;
    },
    shown(frame) {
      if (frame < 0) return { rows: blank(), cursor: [0, 0] };
      const from = kept[Math.floor(frame / EVERY)]!;
      const screen = [...from.rows];
      for (let index = Math.floor(frame / EVERY) * EVERY; index <= frame; index++) apply(screen, frames[index]!);
      return { rows: screen, cursor: frames[frame]!.cursor };
    },
  };
}

/** Seconds of the capture ↔ seconds of playing, with long waits cut. The speed is left to whoever plays. */
export interface Pacing {
  length: number;
  played(captured: number): number;
  captured(played: number): number;
}

export function pacingOf(frames: readonly Frame[], longestWait: number | null): Pacing {
  const own = frames.map(({ t }) => t);
  const paced = pacedTimes(own, longestWait === null ? {} : { longestWait });
  const across = (from: readonly number[], to: readonly number[], at: number): number => {
    let [low, high] = [0, from.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (from[middle]! <= at) low = middle + 1;
      else high = middle;
    }
    const [before, after] = [low - 1, low];
    const [x0, y0] = before < 0 ? [0, 0] : [from[before]!, to[before]!];
    if (after >= from.length) return y0;
    const [x1, y1] = [from[after]!, to[after]!];
    return x1 === x0 ? y1 : y0 + ((at - x0) / (x1 - x0)) * (y1 - y0);
  };
  return {
    length: paced.at(-1) ?? 0,
    played: (captured) => across(own, paced, captured),
    captured: (played) => across(paced, own, played),
  };
}
