import { useEffect, useState } from "react";

/** The part of a long thing that is in view: from where, and how much of it. */
export interface Stretch {
  from: number;
  span: number;
}

/** Keeps a stretch within the whole and no shorter than `least`. */
export function within({ from, span }: Stretch, whole: number, least: number): Stretch {
  const kept = Math.min(whole, Math.max(Math.min(least, whole), span));
  return { from: Math.min(whole - kept, Math.max(0, from)), span: kept };
}

/** The stretch `factor` times as long, with the point at `at` staying where it is seen. */
export function zoomed({ from, span }: Stretch, factor: number, at: number, whole: number, least: number): Stretch {
  const next = Math.min(whole, Math.max(Math.min(least, whole), span * factor));
  return within({ from: at - ((at - from) / span) * next, span: next }, whole, least);
}

/** The nearest stretch of the same length in which `at` to `to` is seen, with a little around it. */
export function moved(stretch: Stretch, at: number, to: number, whole: number, least: number): Stretch {
  const { from, span } = stretch;
  if (at >= from && to <= from + span) return stretch;
  const room = span / 12;
  const next = at < from || to - at > span ? at - room : to + room - span;
  return within({ from: next, span }, whole, least);
}

export interface StretchView extends Stretch {
  isWhole: boolean;
  zoom(factor: number, at: number): void;
  show(at: number, to: number): void;
  set(next: Stretch): void;
  reset(): void;
}

/** A view on a whole of some length; it goes back to the whole when that changes. */
export function useStretch(whole: number, least: number): StretchView {
  const [stretch, setStretch] = useState<Stretch>({ from: 0, span: whole });
  useEffect(() => setStretch({ from: 0, span: whole }), [whole]);
  return {
    ...stretch,
    isWhole: stretch.span >= whole,
    zoom: (factor, at) => setStretch((now) => zoomed(now, factor, at, whole, least)),
    show: (at, to) => setStretch((now) => moved(now, at, to, whole, least)),
    set: (next) => setStretch(within(next, whole, least)),
    reset: () => setStretch({ from: 0, span: whole }),
  };
}
