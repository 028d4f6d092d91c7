/** A data circuit: mark (1) at rest, space (0) in a start bit (V.24). */
export type Level = 0 | 1;

/** A wire that one end drives, as the moments at which its level changes; those to come are known as far as they are sent. */
export class Wire {
  state = { before: 1 as Level, times: [] as number[], levels: [] as Level[] };

  /** The level from `time` on; what was to come after that is forgotten. */
  set(time: number, level: Level): void {
    const { times, levels } = this.state;
    while (times.length > 0 && times.at(-1)! >= time) {
      times.pop();
      levels.pop();
    }
    if (this.last === level) return;
    times.push(time);
    levels.push(level);
  }

  level(time: number): Level {
    const index = this.behind(time) - 1;
    return index < 0 ? this.state.before : this.state.levels[index]!;
  }

  /** The first change after `time`; Infinity where none is known. */
  change(time: number): number {
    return this.state.times[this.behind(time)] ?? Number.POSITIVE_INFINITY;
  }

  /** Drops what lies before `time`. */
  forget(time: number): void {
    const { times, levels } = this.state;
    const index = this.behind(time);
    if (index < FORGET_AT_LEAST) return;
    this.state.before = levels[index - 1]!;
    times.splice(0, index);
    levels.splice(0, index);
  }

  private get last(): Level {
    return this.state.levels.at(-1) ?? this.state.before;
  }

  /** How many changes lie at or before `time`. */
  private behind(time: number): number {
    const { times } = this.state;
    let [low, high] = [0, times.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (times[middle]! <= time) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}

const FORGET_AT_LEAST = 64;

/** One thing that drives the input of a receiver. */
export interface Source {
  wire: Wire;
  /** A driver of another level family: mark arrives as space. */
  inverted: boolean;
}

/**
 * What a receiver's input hears. With no source it rests at mark, as an open V.28 receiver does. Where several drive one
 * wire against each other, space arrives only while all of them send it: which of them wins on iron, no rule says.
 */
export class Ear {
  private readonly sources: readonly Source[];

  constructor(sources: readonly Source[]) {
    this.sources = sources;
  }

  level(time: number): Level {
    const { sources } = this;
    if (sources.length === 0) return 1;
    for (const { wire, inverted } of sources) if ((wire.level(time) === 1) !== inverted) return 1;
    return 0;
  }

  /** The first change from mark to space after `time`; Infinity where none is known. */
  fall(time: number): number {
    let level = this.level(time);
    for (let at = time; ; ) {
      at = this.change(at);
      if (at === Number.POSITIVE_INFINITY) return at;
      const now = this.level(at);
      if (level === 1 && now === 0) return at;
      level = now;
    }
  }

  private change(time: number): number {
    let first = Number.POSITIVE_INFINITY;
    for (const { wire } of this.sources) first = Math.min(first, wire.change(time));
    return first;
  }
}
