import type { FoundSector } from "../scan.ts";
import { type ReadCells, timeOfCell } from "./loop.ts";

/** Where turns begin, in seconds, and how long they last. */
export interface Turns {
  /** Beginnings, ascending; what lies before the first belongs to turn -1, cut short. */
  starts: Float64Array;
  seconds: number;
  /** How the turns were told apart. */
  by: "index" | "repeated sectors" | "nominal period";
}

const middle = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;

/** Differences that may be one turn: within 15 % of nominal, which takes in a 2 × 6 % spread with reserve. */
const isTurn = (seconds: number, nominal: number): boolean => Math.abs(seconds / nominal - 1) < 0.15;

/**
 * Tells turns apart: by index pulses where there are two or more; else by the time in which a sector comes round again;
 * else by the nominal period. Memory and time go with the sectors found and the length of the capture.
 */
export function findTurns(
  times: Float64Array,
  index: Float64Array,
  nominal: number,
  read: ReadCells,
  sectors: readonly FoundSector[],
): Turns {
  const first = times[0] ?? 0;
  const last = times.at(-1) ?? first;
  const turns = [...index.slice(1)].map((time, i) => time - index[i]!).filter((each) => isTurn(each, nominal));
  if (turns.length > 0) return { starts: index, seconds: middle(turns), by: "index" };

  const seen = new Map<string, number>();
  const rounds: number[] = [];
  for (const { id } of sectors) {
    if (!id?.good) continue;
    const key = `${id.id.track} ${id.id.head} ${id.id.sector}`;
    const time = timeOfCell(read, id.at);
    const before = seen.get(key);
    if (before !== undefined && isTurn(time - before, nominal)) rounds.push(time - before);
    seen.set(key, time);
  }
  const seconds = rounds.length > 0 ? middle(rounds) : nominal;
  const by = rounds.length > 0 ? "repeated sectors" : "nominal period";
  const start = index[0] ?? first;
  // A capture of hours with a handful of transitions must not make turns without end.
  const count = Math.min(1 + Math.floor(Math.max(0, last - start) / seconds), 1 + times.length);
  return { starts: Float64Array.from({ length: count }, (_, turn) => start + turn * seconds), seconds, by };
}

/** Turn in which a time lies, and the share of the turn gone by then. Turn -1 lies before the first beginning. */
export function placeOnTurn({ starts, seconds }: Turns, time: number): { turn: number; share: number } {
  let low = 0;
  let high = starts.length;
  while (low < high) {
    const between = (low + high) >> 1;
    if (starts[between]! <= time) low = between + 1;
    else high = between;
  }
  const turn = low - 1;
  const from = turn < 0 ? (starts[0] ?? time) - seconds : starts[turn]!;
  const next = turn < 0 ? starts[0] : starts[turn + 1];
  const length = next !== undefined && isTurn(next - from, seconds) ? next - from : seconds;
  const share = (time - from) / length;
  return { turn, share: share - Math.floor(share) };
}

/** Distance of two shares of a turn, the shorter way round. */
export function apart(one: number, other: number): number {
  const away = Math.abs(one - other) % 1;
  return Math.min(away, 1 - away);
}
