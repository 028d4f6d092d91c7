import { InputError } from "@rouse/core/errors";
import { identify, readCapture, recoverTrack, trackForm } from "@rouse/core/recording";
import type { RecoverAsked, RecoveredTold } from "./types.ts";

/** Points of the speed curve that are drawn: two turns at their full fineness. */
const MOST_POINTS = 400;

/** Which track the capture is of: as chosen, or the one that fits best. */
function trackOf(capture: ReturnType<typeof readCapture>, { wish, recordings }: RecoverAsked) {
  if (wish) {
    const recording = recordings.find(({ id }) => id === wish.recording);
    if (!recording) throw new InputError("no-recording", `There is no recording “${wish.recording}”.`);
    const form = trackForm(recording, wish.track, wish.side);
    return { recording, form, stretch: 1, why: "as chosen", others: [] };
  }
  const [best, ...rest] = identify(capture, recordings);
  if (!best)
    throw new InputError(
      "no-recording",
      "The intervals are no whole numbers of any known recording's cells: choose the recording, or other edges.",
    );
  const others = rest
    .filter(({ score }) => score === best.score)
    .slice(0, 4)
    .map(({ recording, form }) => `${recording.title}, track ${form.track + recording.geometry.firstTrack}`);
  return { ...best, others };
}

/** Recovers a captured track; throws an `InputError` where nothing can be read. `now` gives milliseconds. */
export function recoverTold(asked: RecoverAsked, now: () => number): RecoveredTold {
  const capture = readCapture(asked.bytes, { edges: asked.edges });
  const { recording, form, stretch, why, others } = trackOf(capture, asked);
  const began = now();
  const recovery = recoverTrack(capture, form, { decoder: asked.decoder, stretch });
  const took = (now() - began) / 1000;
  const { turns, intervals, speed, margin } = recovery;
  const stride = Math.max(1, Math.ceil(speed.seconds.length / MOST_POINTS));
  const start = speed.seconds[0] ?? 0;
  const { transitions } = capture;
  return {
    notes: capture.notes,
    transitions: transitions.length,
    found: { title: recording.title, track: form.track + recording.geometry.firstTrack, side: form.side, why, others },
    turns: { count: turns.starts.length, seconds: turns.seconds, by: turns.by },
    cellMicroseconds: recovery.cellSeconds * 1e6,
    intervals: {
      to: intervals.binSeconds * intervals.counts.length * 1e6,
      counts: [...intervals.counts],
      longer: intervals.longer,
    },
    speed: {
      points: [...speed.seconds].flatMap((seconds, k) =>
        k % stride === 0 ? [{ x: (seconds - start) * 1000, y: speed.speed[k]! * 100 }] : [],
      ),
      mean: speed.mean,
      least: speed.least,
      most: speed.most,
    },
    margin: { counts: [...margin.counts], rms: margin.rms, margin: margin.margin },
    sectors: recovery.sectors.map(({ sector, basis, idBasis, turnsRead, turnsGood, deleted, rests, weakBytes }) => ({
      sector,
      basis,
      idBasis,
      turnsRead,
      turnsGood,
      deleted,
      rests,
      weakBytes: weakBytes.length,
    })),
    unnamed: recovery.unnamed.length,
    strays: recovery.strays.length,
    took,
    lasts: (transitions.at(-1) ?? 0) - (transitions[0] ?? 0),
  };
}
