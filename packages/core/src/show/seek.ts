import { type Ability, Screen } from "../terminal/index.ts";
import type { Capture } from "./capture.ts";

/** Bytes from one kept screen to the next, at least; a seek reads little more than that. */
const LEAST_APART = 1 << 16;
/** Kept screens at most: of 80 by 24 places they are some 10 KB each. */
const MOST_KEPT = 400;

/** A screen with what came before some piece. */
interface Kept {
  readonly piece: number;
  readonly screen: Screen;
}

/** How many of the ascending numbers are at most `limit`. */
export function countTo(numbers: ArrayLike<number>, limit: number): number {
  let [low, high] = [0, numbers.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (numbers[middle]! <= limit) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * A session opened for seeking: the screen as it was at any time, without reading all that came before. It keeps screens on
 * the way, made in one pass over what came in, and the one that was asked for last, from which playing goes on.
 */
export class SessionScreens {
  readonly #pieces: readonly Uint8Array[];
  readonly #kept: Kept[] = [];
  #last: Kept;
  /** When each piece came in, in seconds; a clock that went back is taken to have stood still. */
  readonly times: Float64Array;

  constructor(capture: Capture, ability: Ability, leastApart = LEAST_APART) {
    const pieces: Uint8Array[] = [];
    const times: number[] = [];
    let [last, total] = [0, 0];
    for (const entry of capture.entries) {
      if (!("in" in entry) || entry.in.length === 0) continue;
      last = Math.max(last, entry.t);
      times.push(last);
      pieces.push(entry.in);
      total += entry.in.length;
    }
    this.#pieces = pieces;
    this.times = Float64Array.from(times);
    const apart = Math.max(leastApart, Math.ceil(total / MOST_KEPT));
    const screen = new Screen(ability);
    this.#kept.push({ piece: 0, screen: screen.copy() });
    let since = 0;
    for (let piece = 0; piece < pieces.length; piece++) {
      const bytes = pieces[piece]!;
      if (since >= apart) {
        screen.takeReplies();
        this.#kept.push({ piece, screen: screen.copy() });
        since = 0;
      }
      screen.write(bytes);
      since += bytes.length;
    }
    this.#last = this.#kept[0]!;
  }

  /** How many screens are kept. */
  get kept(): number {
    return this.#kept.length;
  }

  /** The screen as it was at a time of the session; the caller's own. */
  at(seconds: number): Screen {
    const end = countTo(this.times, seconds);
    let low = 0;
    for (let high = this.#kept.length; high - low > 1; ) {
      const middle = (low + high) >> 1;
      if (this.#kept[middle]!.piece <= end) low = middle;
      else high = middle;
    }
    const key = this.#kept[low]!;
    const from = this.#last.piece >= key.piece && this.#last.piece <= end ? this.#last : key;
    const screen = from.screen.copy();
    for (let piece = from.piece; piece < end; piece++) screen.write(this.#pieces[piece]!);
    screen.takeReplies();
    this.#last = { piece: end, screen };
    return screen.copy();
  }
}
