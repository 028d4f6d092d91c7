import type { Rehearsal } from "../../rehearse/index.ts";
import type { Capture, CaptureEntry, CaptureHead } from "../capture.ts";
import { type FollowedScene, followScript } from "../follow.ts";
import { type Stretch, wordsIn } from "../plan.ts";
import type { Scene, Script } from "../types.ts";

/** Between two looks at the terminal, in seconds of the machine: what comes in is timed by it. */
const LOOK = 0.02;
/** Seconds of the machine that one expected text may take, and the whole show. */
const LONGEST = 300;
const LONGEST_SHOW = 1800;
/** A scene that expects nothing lasts as planned, but no longer than this: nothing is measured there. */
const LONGEST_PAUSE = 60;

/** A show on a rehearsed machine: the session as a capture, from power-on, and its scenes as they came. */
export interface RehearsedShow {
  capture: Capture;
  scenes: readonly FollowedScene[];
}

const touchesMachine = ({ type, expect, wait }: Scene): boolean =>
  type !== undefined || expect !== undefined || (wait !== undefined && "job" in wait);

/**
 * Plays a script on a machine that was just switched on: types what it says, waits for what it expects, and stops where that
 * never comes. The machine is on from the first scene that types, expects or waits for it. Make it with the script's `typing`.
 */
export function rehearseShow(script: Script, machine: Rehearsal, head: CaptureHead): RehearsedShow {
  const entries: CaptureEntry[] = [];
  let shown = "";
  /** Runs on until a text is there that began at `from` or later and ended at `ends` or later; to the second `end` at most. */
  const runTo = (end: number, text?: string, from = 0, ends = 0): number => {
    while (machine.seconds < end) {
      const ending = machine.run({ seconds: Math.min(LOOK, end - machine.seconds) });
      if (machine.screen().received > shown.length) {
        const before = shown.length;
        shown = machine.received();
        entries.push({ t: machine.seconds, in: bytesOf(shown.slice(before)) });
      }
      const at = text === undefined ? -1 : shown.indexOf(text, Math.max(from, ends - text.length + 1));
      if (text !== undefined && at >= 0) return at + text.length;
      if (ending === "stopped") break;
    }
    return -1;
  };
  const first = script.scenes.findIndex(touchesMachine);
  let over = 0;
  for (const { type, expect, say, wait } of first < 0 ? [] : script.scenes.slice(first)) {
    if (machine.seconds >= LONGEST_SHOW) break;
    if (type !== undefined) {
      const begun = machine.seconds;
      const keys = bytesOf(`${type}\r`);
      machine.type(`${type}\r`);
      for (const [index, key] of keys.entries())
        entries.push({ t: begun + (index + 1) / script.typing, out: Uint8Array.of(key) });
      runTo(begun + keys.length / script.typing);
    }
    if (expect !== undefined) {
      const seen = runTo(machine.seconds + LONGEST, expect, over, type === undefined ? 0 : shown.length + 1);
      if (seen < 0) break;
      over = seen;
    } else {
      const words = say === undefined ? 0 : (wordsIn(say) / script.words) * 60;
      const stretch = wait && "seconds" in wait ? wait.seconds : 0;
      runTo(machine.seconds + Math.min(LONGEST_PAUSE, Math.max(words, stretch)));
    }
  }
  const capture: Capture = { head, entries: entries.sort((one, other) => one.t - other.t), bad: [] };
  return { capture, scenes: followScript(script, capture) };
}

/** Where the disk stands at power-on is not known: as it is at these places of a turn. */
export const PHASES: readonly number[] = [0.25, 0.75];

/** The waits of a show as several rehearsals had them, scene by scene; undefined where one never saw what was expected. */
export const waitsOf = (shows: readonly RehearsedShow[]): (Stretch | undefined)[] =>
  (shows[0]?.scenes ?? []).map((_, index) => {
    const waits = shows.map(({ scenes }) => scenes[index]?.wait);
    if (!waits.every((each) => each !== undefined)) return undefined;
    return {
      low: Math.min(...waits),
      usual: waits.reduce((sum, each) => sum + each, 0) / waits.length,
      high: Math.max(...waits),
    };
  });

const bytesOf = (text: string): Uint8Array => Uint8Array.from(text, (each) => each.charCodeAt(0) & 0xff);
