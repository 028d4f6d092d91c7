import { type Capture, capturedBytes } from "./capture.ts";
import type { Scene, Script } from "./types.ts";

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

/** Text of bytes by 7-bit characters, one for each byte. */
const textOf = (bytes: Uint8Array): string => {
  let text = "";
  for (let at = 0; at < bytes.length; at += 4096)
    text += String.fromCharCode(...bytes.subarray(at, at + 4096).map((each) => each & 0x7f));
  return text;
};

/** First place of `wanted` in the text from `from` on that begins no earlier than `since` seconds. */
function find(text: string, times: Float64Array, wanted: string, from: number, since: number): number {
  let at = text.indexOf(wanted, from);
  while (at >= 0 && times[at + wanted.length - 1]! < since) at = text.indexOf(wanted, at + 1);
  return at;
}

/**
 * Finds the scenes of a script in a captured session, in their order: what was typed among the bytes that went out, what
 * was expected after that among those that came in. A scene begins where the one before it ended.
 */
export function followScript(script: Script, capture: Capture): FollowedScene[] {
  const incoming = capturedBytes(capture, "in");
  const outgoing = capturedBytes(capture, "out");
  const [shown, typed] = [textOf(incoming.bytes), textOf(outgoing.bytes)];
  let [now, inAt, outAt] = [0, 0, 0];
  return script.scenes.map((scene) => {
    const from = now;
    let since = now;
    let typedAt: number | undefined;
    if (scene.type !== undefined) {
      const at = find(typed, outgoing.times, scene.type, outAt, now);
      if (at >= 0) {
        outAt = at + scene.type.length;
        typedAt = outgoing.times[typed[outAt] === "\r" ? outAt : outAt - 1]!;
        since = typedAt;
      }
    }
    if (scene.expect === undefined) {
      now = since;
      return { scene, from, typed: typedAt, seen: undefined, wait: undefined };
    }
    const at = find(shown, incoming.times, scene.expect, inAt, since);
    if (at < 0) return { scene, from, typed: typedAt, seen: undefined, wait: undefined };
    inAt = at + scene.expect.length;
    now = incoming.times[inAt - 1]!;
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
