import { countTo, pacedTimes } from "@rouse/core/show";

/**
 * Asks for one answer at a time, and next for what is wanted newest: what was wanted between is passed over. `failed` is told
 * of an answer that could not be given.
 */
export function askNewest<Wanted, Told>(
  ask: (wanted: Wanted) => Promise<Told>,
  told: (answer: Told) => void,
  failed: (error: unknown) => void,
): (wanted: Wanted) => void {
  let isAsking = false;
  let next: { wanted: Wanted } | undefined;
  const go = async (): Promise<void> => {
    isAsking = true;
    for (let now = next; now !== undefined; now = next) {
      next = undefined;
      try {
        told(await ask(now.wanted));
      } catch (error) {
        failed(error);
      }
    }
    isAsking = false;
  };
  return (wanted) => {
    next = { wanted };
    if (!isAsking) void go();
  };
}

/** Seconds of the capture ↔ seconds of playing, with long waits cut. The speed is left to whoever plays. */
export interface Pacing {
  length: number;
  played(captured: number): number;
  captured(played: number): number;
}

/** `own`: when each piece came in. */
export function pacingOf(own: ArrayLike<number>, longestWait: number | null): Pacing {
  const paced = pacedTimes(own, longestWait === null ? {} : { longestWait });
  const across = (from: ArrayLike<number>, to: ArrayLike<number>, at: number): number => {
    const after = countTo(from, at);
    const before = after - 1;
    const [x0, y0] = before < 0 ? [0, 0] : [from[before]!, to[before]!];
    if (after >= from.length) return y0;
    const [x1, y1] = [from[after]!, to[after]!];
    return x1 === x0 ? y1 : y0 + ((at - x0) / (x1 - x0)) * (y1 - y0);
  };
  return {
    length: paced.at(-1) ?? 0,
    played: (captured) => across(own, paced, captured),
    captured: (played) => across(paced, own, played),
  };
}
