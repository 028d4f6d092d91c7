/**
 * Events to come, the earliest first; of two at one time the one that was put in first. A binary heap over plain number
 * arrays, so that an event costs no object. Times are any unit; an event is a whole number that its owner understands.
 */
export class EventQueue {
  #times = new Float64Array(64);
  #turns = new Float64Array(64);
  #events = new Int32Array(64);
  #size = 0;
  #turn = 0;
  /** Time of the event that `take` gave last. */
  now = 0;

  #grow(): void {
    const grown = <T extends Float64Array | Int32Array>(old: T, fresh: T): T => {
      fresh.set(old);
      return fresh;
    };
    this.#times = grown(this.#times, new Float64Array(this.#size * 2));
    this.#turns = grown(this.#turns, new Float64Array(this.#size * 2));
    this.#events = grown(this.#events, new Int32Array(this.#size * 2));
  }

  put(time: number, event: number): void {
    if (this.#size === this.#times.length) this.#grow();
    const times = this.#times;
    const turns = this.#turns;
    const events = this.#events;
    const turn = this.#turn++;
    let at = this.#size++;
    // A later turn never rises above an equal time.
    while (at > 0) {
      const parent = (at - 1) >> 1;
      if (times[parent]! <= time) break;
      times[at] = times[parent]!;
      turns[at] = turns[parent]!;
      events[at] = events[parent]!;
      at = parent;
    }
    times[at] = time;
    turns[at] = turn;
    events[at] = event;
  }

  /** Takes the earliest event and moves `now` to its time; -1 where there is none. */
  take(): number {
    if (this.#size === 0) return -1;
    const times = this.#times;
    const turns = this.#turns;
    const events = this.#events;
    const event = events[0]!;
    this.now = times[0]!;
    const last = --this.#size;
    const time = times[last]!;
    const turn = turns[last]!;
    const moved = events[last]!;
    let at = 0;
    for (;;) {
      let child = 2 * at + 1;
      if (child >= last) break;
      const right = child + 1;
      if (
        right < last &&
        (times[right]! < times[child]! || (times[right]! === times[child]! && turns[right]! < turns[child]!))
      )
        child = right;
      if (time < times[child]! || (time === times[child]! && turn < turns[child]!)) break;
      times[at] = times[child]!;
      turns[at] = turns[child]!;
      events[at] = events[child]!;
      at = child;
    }
    times[at] = time;
    turns[at] = turn;
    events[at] = moved;
    return event;
  }
}
