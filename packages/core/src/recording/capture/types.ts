/** What a logic analyser saw of one track: times in seconds, ascending. */
export interface Capture {
  /** Transitions of the magnetisation, one a read pulse. */
  transitions: Float64Array;
  /** Index pulses, at their leading edges; empty where none was sampled. */
  index: Float64Array;
  /** What was taken for what, for the person to check. */
  notes: string[];
}

/** Which edges of the read line are transitions. `auto` looks at the pulses. */
export type Edges = "auto" | "falling" | "rising" | "both";

export interface CaptureOptions {
  /** Names or column headings of the read line and the index line; guessed where left out. */
  read?: string;
  index?: string;
  edges?: Edges;
}

/** Numbers that grow as they are read. */
export class Growing {
  #values = new Float64Array(1024);
  length = 0;

  push(value: number): void {
    if (this.length === this.#values.length) {
      const more = new Float64Array(this.length * 2);
      more.set(this.#values);
      this.#values = more;
    }
    this.#values[this.length++] = value;
  }

  last(): number | undefined {
    return this.length > 0 ? this.#values[this.length - 1] : undefined;
  }

  done(): Float64Array {
    return this.#values.slice(0, this.length);
  }
}

/** A two-level signal: times of its changes, and the level that the first change leads to. Levels alternate. */
export interface Signal {
  name: string;
  changes: Float64Array;
  firstLevel: 0 | 1;
}
