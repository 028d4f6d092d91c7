import type { Bench } from "../bench/index.ts";
import { InputError } from "../errors/index.ts";
import { charactersPerSecond, readFrame } from "../line/index.ts";
import { type TimedImage, type TimingAnswer, timedBench, timeJob } from "../timing/index.ts";
import { printClock } from "./clock/index.ts";
import type { Scene, Script, Wait } from "./types.ts";

/** Lowest, usual and highest, in seconds. */
export interface Stretch {
  low: number;
  usual: number;
  high: number;
}

export interface PlannedScene {
  scene: Scene;
  /** Usual start, seconds from the beginning. */
  start: number;
  length: Stretch;
  /** Hands and keys, before the wait begins. */
  hands: number;
  /** From the last key to what is expected. */
  wait: Stretch;
  /** What the timing model says, where `wait` is that of a rehearsal. */
  modelled?: Stretch;
  speech: number;
  /** Seconds of the wait, at its longest, for which the script has no words. */
  silence: number;
  /** False where the wait is at least this: `missing` says what would settle it. */
  known: boolean;
  missing: readonly string[];
}

export interface PlannedShow {
  title: string;
  scenes: readonly PlannedScene[];
  length: Stretch;
  known: boolean;
  missing: readonly string[];
  /** Latest moment to start, so that even the longest run and the spare time end on time. */
  latest?: { clock: string; daysBefore: number };
}

const exactly = (seconds: number): Stretch => ({ low: seconds, usual: seconds, high: seconds });
const sum = (one: Stretch, other: Stretch): Stretch => ({
  low: one.low + other.low,
  usual: one.usual + other.usual,
  high: one.high + other.high,
});
const atLeast = (one: Stretch, seconds: number): Stretch => ({
  low: Math.max(one.low, seconds),
  usual: Math.max(one.usual, seconds),
  high: Math.max(one.high, seconds),
});

export const wordsIn = (text: string): number => text.split(/\s+/).filter((each) => /[\p{L}\p{N}]/u.test(each)).length;

const spanOf = ({ low, seconds, high }: TimingAnswer): Stretch => ({ low, usual: seconds, high });

/** Predicts the waits of one show: a login after a boot is only what is left of it. */
class Waits {
  readonly #bench: Bench;
  readonly #image: TimedImage | undefined;
  #booted: Stretch | undefined;

  constructor(bench: Bench, image: TimedImage | undefined) {
    this.#bench = bench;
    this.#image = image;
  }

  of(wait: Wait | undefined): { stretch: Stretch; known: boolean; missing: readonly string[] } {
    if (wait === undefined) return { stretch: exactly(0), known: true, missing: [] };
    if ("seconds" in wait) return { stretch: exactly(wait.seconds), known: true, missing: [] };
    if (!this.#image) return { stretch: exactly(0), known: false, missing: ["show.image"] };
    const wish = wait.job === "load" ? { what: wait.job, name: wait.name } : { what: wait.job };
    const answer = timeJob({ bench: this.#bench, image: this.#image }, wish);
    let stretch = spanOf(answer);
    if (wait.job === "login" && this.#booted) {
      const { usual } = this.#booted;
      // Low from low and high from high: a slow spindle is slow in both parts.
      stretch = {
        low: Math.max(0, stretch.low - this.#booted.low),
        usual: Math.max(0, stretch.usual - usual),
        high: Math.max(0, stretch.high - this.#booted.high),
      };
    }
    if (wait.job === "boot") this.#booted = stretch;
    return { stretch, known: answer.known, missing: answer.missing.map((each) => each.key) };
  }

  /** Seconds that the line takes for a character; undefined where the bench does not say. */
  perCharacter(): number | undefined {
    try {
      const timed = timedBench(this.#bench, this.#image?.name);
      const rate = timed.parameters.find((each) => each.id === "lineRate")?.value;
      const format = this.#bench.show?.port?.format ?? this.#bench.ports[0]?.format ?? "8N1";
      return rate === undefined ? undefined : 1 / charactersPerSecond(rate, readFrame(format));
    } catch (error) {
      if (error instanceof InputError) return undefined;
      throw error;
    }
  }
}

/**
 * `rehearsed`: waits as a rehearsal had them, by scene (`waitsOf`); they stand in place of those of the timing model.
 * When each scene begins and how long it lasts: hands and keys, then the wait or the words, whichever is longer. Throws an
 * `InputError` where a wait is about a file or a stage that the image does not have.
 */
export function planShow(
  script: Script,
  bench: Bench,
  image: TimedImage | undefined,
  rehearsed: readonly (Stretch | undefined)[] = [],
): PlannedShow {
  const waits = new Waits(bench, image);
  const perCharacter = script.scenes.some((each) => each.prints) ? waits.perCharacter() : 0;
  let start = 0;
  let length = exactly(0);
  const scenes = script.scenes.map((scene, index): PlannedScene => {
    const { stretch, known, missing } = waits.of(scene.wait);
    const printing = (scene.prints ?? 0) * (perCharacter ?? 0);
    const typed = scene.type === undefined ? 0 : ([...scene.type].length + 1) / script.typing;
    const hands = (scene.takes ?? 0) + typed;
    const speech = scene.say === undefined ? 0 : (wordsIn(scene.say) / script.words) * 60;
    const modelled = sum(stretch, exactly(printing));
    const had = rehearsed[index];
    const wait = had ?? modelled;
    const whole = sum(exactly(hands), atLeast(wait, speech));
    const planned: PlannedScene = {
      scene,
      start,
      length: whole,
      hands,
      wait,
      speech,
      silence: Math.max(0, wait.high - speech),
      ...(had ? { modelled } : {}),
      known: had !== undefined || (known && (scene.prints === undefined || perCharacter !== undefined)),
      missing: had ? [] : [...missing, ...(scene.prints && perCharacter === undefined ? ["rate of the line"] : [])],
    };
    start += whole.usual;
    length = sum(length, whole);
    return planned;
  });
  return {
    title: script.title,
    scenes,
    length,
    known: scenes.every((each) => each.known),
    missing: [...new Set(scenes.flatMap((each) => each.missing))],
    ...(script.ends === undefined ? {} : { latest: printClock(script.ends - length.high - script.spare) }),
  };
}
