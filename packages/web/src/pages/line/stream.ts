/** Which way bytes went; those of a file transfer are no text for a screen. */
type PassedKind = "in" | "out" | "file in" | "file out";

export interface Passed {
  kind: PassedKind;
  /** Bytes of both ways before these. */
  position: number;
  /** Ms since 1970. */
  time: number;
  bytes: Uint8Array;
  /** It passed before this page looked: a program's questions in it have been answered, or not, already. */
  isPast: boolean;
}

const KINDS: readonly PassedKind[] = ["in", "out", "file in", "file out"];
const HEAD = 17;
/** Bytes kept for a screen that is made anew, as many as the server keeps. */
const KEPT = 1 << 20;

/** What has passed on a port, put together from the server's messages: nothing twice, and what is missing counted. */
export class LineStream {
  readonly #listeners = new Set<(passed: Passed | null) => void>();
  #kept: Passed[] = [];
  #bytes = 0;
  #run = "";
  #position = 0;
  #pastUntil = 0;
  #missed = 0;

  /** For the server: what has been seen of which run of the port. */
  get seen(): { run: string; position: number } {
    return { run: this.#run, position: this.#position };
  }
  /** Bytes that passed unseen, for longer than the server keeps them. */
  get missed(): number {
    return this.#missed;
  }
  get kept(): readonly Passed[] {
    return this.#kept;
  }

  /** Calls `listener` for all that passes from now on; with null where it all begins anew. */
  subscribe(listener: (passed: Passed | null) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** Frames of this run follow; those before `position` have passed already. */
  begin(run: string, position: number): void {
    if (run !== this.#run) {
      this.#run = run;
      this.clear();
      this.#position = 0;
      this.#missed = 0;
    }
    this.#pastUntil = position;
  }

  /** Forgets what is shown, not what has been seen. */
  clear(): void {
    this.#kept = [];
    this.#bytes = 0;
    for (const told of this.#listeners) told(null);
  }

  /** A frame of the server's `line-history.ts`. */
  hear(frame: Uint8Array): void {
    if (frame.length <= HEAD) return;
    const head = new DataView(frame.buffer, frame.byteOffset, HEAD);
    const kind = KINDS[head.getUint8(0)];
    const at = head.getFloat64(1);
    const skipped = Math.max(0, this.#position - at);
    const bytes = frame.subarray(HEAD + skipped);
    if (!kind || bytes.length === 0) return;
    if (at > this.#position) this.#missed += at - this.#position;
    const position = at + skipped;
    const passed: Passed = { kind, position, time: head.getFloat64(9), bytes, isPast: position < this.#pastUntil };
    this.#position = position + bytes.length;
    this.#kept.push(passed);
    this.#bytes += bytes.length;
    let stale = 0;
    while (this.#bytes - (this.#kept[stale]?.bytes.length ?? 0) >= KEPT)
      this.#bytes -= this.#kept[stale++]?.bytes.length ?? 0;
    if (stale > 0) this.#kept.splice(0, stale);
    for (const told of this.#listeners) told(passed);
  }
}
