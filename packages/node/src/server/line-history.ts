/** Which way bytes went. Those of a file transfer are told apart: they are no text for a screen. */
export type PassedKind = "in" | "out" | "file in" | "file out";

const KINDS: readonly PassedKind[] = ["in", "out", "file in", "file out"];
/** Kind, position and time. */
const HEAD = 17;
/** Bytes that a page which comes late can still be told: over a minute at 115,200 bit/s. */
const KEPT = 1 << 20;
/** What came in quick succession is kept together, up to so many bytes and ms. */
const TOGETHER = 1024;
const AT_ONCE = 50;

interface Passed {
  kind: PassedKind;
  position: number;
  time: number;
  bytes: Uint8Array;
}

/**
 * A stretch as a page gets it: kind (octet), position of the first byte and time in ms since 1970 (IEEE 754 doubles, most
 * significant octet first), then the bytes. Positions count the bytes of both ways from the port's first.
 */
function frameOf({ kind, position, time, bytes }: Passed): Uint8Array<ArrayBuffer> {
  const frame = new Uint8Array(HEAD + bytes.length);
  const head = new DataView(frame.buffer);
  head.setUint8(0, KINDS.indexOf(kind));
  head.setFloat64(1, position);
  head.setFloat64(9, time);
  frame.set(bytes, HEAD);
  return frame;
}

/** What has passed on a port, the last megabyte of it. */
export class LineHistory {
  #kept: Passed[] = [];
  #bytes = 0;
  #position = 0;

  /** Bytes of both ways so far. */
  get position(): number {
    return this.#position;
  }

  /** Position of the first byte that is still kept. */
  get first(): number {
    return this.#kept[0]?.position ?? this.#position;
  }

  /** Takes bytes down; gives them as a frame for pages. */
  add(kind: PassedKind, bytes: Uint8Array, time: number): Uint8Array<ArrayBuffer> {
    const passed = { kind, position: this.#position, time, bytes: Uint8Array.from(bytes) };
    this.#position += bytes.length;
    this.#bytes += bytes.length;
    const last = this.#kept.at(-1);
    if (last?.kind === kind && time - last.time < AT_ONCE && last.bytes.length + bytes.length <= TOGETHER)
      last.bytes = Buffer.concat([last.bytes, bytes]);
    else this.#kept.push(passed);
    let stale = 0;
    while (this.#bytes - (this.#kept[stale]?.bytes.length ?? 0) >= KEPT)
      this.#bytes -= this.#kept[stale++]!.bytes.length;
    if (stale > 0) this.#kept.splice(0, stale);
    return frameOf(passed);
  }

  /** Frames of all that is kept from a position on. */
  since(position: number): Uint8Array<ArrayBuffer>[] {
    return this.#kept
      .filter((each) => each.position + each.bytes.length > position)
      .map((each) => {
        const seen = Math.max(0, position - each.position);
        return frameOf({ ...each, position: each.position + seen, bytes: each.bytes.subarray(seen) });
      });
  }
}
