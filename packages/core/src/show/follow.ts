import type { Capture } from "./capture.ts";
import { countTo } from "./seek.ts";
import type { Scene, Script } from "./types.ts";

const RETURN = 0x0d;

/** A scene as it was in a captured session. Seconds from the beginning of the capture. */
export interface FollowedScene {
  scene: Scene;
  from: number;
  /** When the last key of what is typed was; undefined where nothing is, or it never was. */
  typed: number | undefined;
  /** When what was expected was there; undefined where it never came. */
  seen: number | undefined;
  /** From the last key of what was typed, or from the scene's beginning, to what was expected. */
  wait: number | undefined;
}

/** What went one way, to be searched by 7-bit characters, one for each byte. */
class Said {
  readonly #codes: Uint8Array;
  /** Where each piece begins, and its time. */
  readonly #begins: Float64Array;
  readonly #times: readonly number[];

  constructor(capture: Capture, way: "in" | "out") {
    const pieces: Uint8Array[] = [];
    const times: number[] = [];
    let length = 0;
    for (const entry of capture.entries) {
      const piece = way === "in" ? ("in" in entry ? entry.in : undefined) : "out" in entry ? entry.out : undefined;
      if (piece === undefined || piece.length === 0) continue;
      times.push(entry.t);
      pieces.push(piece);
      length += piece.length;
    }
    const codes = new Uint8Array(length);
    const begins = new Float64Array(pieces.length);
    let end = 0;
    for (let index = 0; index < pieces.length; index++) {
      const piece = pieces[index]!;
      begins[index] = end;
      for (let at = 0; at < piece.length; at++) codes[end++] = piece[at]! & 0x7f;
    }
    [this.#codes, this.#begins, this.#times] = [codes, begins, times];
  }

  timeOf(at: number): number {
    return this.#times[countTo(this.#begins, at) - 1]!;
  }
  isAt(at: number, code: number): boolean {
    return this.#codes[at] === code;
  }

  /** First place of `wanted`, a text of one character or more, from `from` on that ends no earlier than `since` seconds; −1 without one. */
  find(wanted: string, from: number, since: number): number {
    const codes = this.#codes;
    const { length } = wanted;
    const first = wanted.charCodeAt(0);
    for (let at = from; at + length <= codes.length; at++) {
      if (codes[at] !== first) continue;
      let same = 1;
      while (same < length && codes[at + same] === wanted.charCodeAt(same)) same++;
      if (same === length && this.timeOf(at + length - 1) >= since) return at;
    }
    return -1;
  }
}

/**
 * Finds the scenes of a script in a captured session, in their order: what was typed among the bytes that went out, what
 * was expected after that among those that came in. A scene begins where the one before it ended.
 */
export function followScript(script: Script, capture: Capture): FollowedScene[] {
  const [shown, typed] = [new Said(capture, "in"), new Said(capture, "out")];
  let [now, inAt, outAt] = [0, 0, 0];
  return script.scenes.map((scene) => {
    const from = now;
    let since = now;
    let typedAt: number | undefined;
    if (scene.type !== undefined) {
      const at = typed.find(scene.type, outAt, now);
      if (at >= 0) {
        outAt = at + scene.type.length;
        typedAt = typed.timeOf(typed.isAt(outAt, RETURN) ? outAt : outAt - 1);
        since = typedAt;
      }
    }
    if (scene.expect === undefined) {
      now = since;
      return { scene, from, typed: typedAt, seen: undefined, wait: undefined };
    }
    const at = shown.find(scene.expect, inAt, since);
    if (at < 0) return { scene, from, typed: typedAt, seen: undefined, wait: undefined };
    inAt = at + scene.expect.length;
    now = shown.timeOf(inAt - 1);
    return { scene, from, typed: typedAt, seen: now, wait: now - since };
  });
}

/** Where a session stands in its script: the scene that it is in, and when it came there, in seconds of the capture. */
export interface Place {
  /** Counts from 0; as many as there are scenes when the last is over. */
  scene: number;
  since: number;
}

/**
 * The scene after the last that is over. A scene is over when what it expects is there, after what it types was typed
 * (where the capture has anything that was typed); without either, the person says so.
 */
export function placeIn(followed: readonly FollowedScene[]): Place {
  const types = followed.some((each) => each.typed !== undefined);
  let place: Place = { scene: 0, since: 0 };
  for (const [index, { scene, typed, seen }] of followed.entries()) {
    const over =
      scene.expect === undefined ? typed : scene.type !== undefined && types && typed === undefined ? undefined : seen;
    if (over !== undefined) place = { scene: index + 1, since: over };
  }
  return place;
}
