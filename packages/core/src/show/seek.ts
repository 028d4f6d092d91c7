import { type Ability, Screen } from "../terminal/index.ts";
import { type Capture, capturedBytes } from "./capture.ts";

/** Bytes from one kept screen to the next, at least; a seek reads no more than that. */
const LEAST_APART = 1 << 16;
/** Kept screens at most: of 80 by 24 places they are some 10 KB each. */
const MOST_KEPT = 400;

/**
 * A session opened for seeking: the screen as it was at any time, without reading all that came before. It keeps screens on
 * the way, made in one pass over what came in.
 */
export class SessionScreens {
  private readonly bytes: Uint8Array;
  /** Time of each byte; a clock that went back is taken to have stood still. */
  private readonly times: Float64Array;
  /** The screen before byte `k × apart`. */
  private readonly kept: Screen[] = [];
  private readonly apart: number;

  constructor(capture: Capture, ability: Ability, leastApart = LEAST_APART) {
    const { bytes, times } = capturedBytes(capture, "in");
    for (let at = 1; at < times.length; at++) if (times[at]! < times[at - 1]!) times[at] = times[at - 1]!;
    this.bytes = bytes;
    this.times = times;
    this.apart = Math.max(leastApart, Math.ceil(bytes.length / MOST_KEPT));
    const screen = new Screen(ability);
    this.kept.push(screen.copy());
    for (let at = this.apart; at < bytes.length; at += this.apart) {
      screen.write(bytes, at - this.apart, at);
      screen.takeReplies();
      this.kept.push(screen.copy());
    }
  }

  /** When the last byte came, in seconds. */
  get seconds(): number {
    return this.times.at(-1) ?? 0;
  }

  /** The screen as it was at a time of the session; the caller's own. */
  at(seconds: number): Screen {
    const end = this.cameBy(seconds);
    const key = Math.min(this.kept.length - 1, Math.floor(end / this.apart));
    const screen = this.kept[key]!.copy();
    screen.write(this.bytes, key * this.apart, end);
    return screen;
  }

  /** How many bytes had come at a time. */
  private cameBy(seconds: number): number {
    let [low, high] = [0, this.times.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.times[middle]! <= seconds) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}
