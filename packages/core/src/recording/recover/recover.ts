import type { Capture } from "../capture/index.ts";
import type { TrackForm } from "../form.ts";
import { pairFields, scanFields } from "../scan.ts";
import { type Combined, combine, type Pass } from "./combine.ts";
import { fitCell, type IntervalHistogram, intervalHistogram } from "./intervals.ts";
import { type Gains, type ReadCells, readWithFixedWindow, readWithLoop, USUAL_GAINS } from "./loop.ts";
import { type SpeedCurve, speedCurve, type WindowMargin, windowMargin } from "./measures.ts";
import { findTurns, type Turns } from "./turns.ts";

/** Beyond ±6 % of speed some reserve; a 300 rpm disk in a 360 rpm drive is a form of its own. */
const CELL_REACH = 0.1;

/** Tried where the usual gains leave sectors unread: a calmer loop for jitter, a quicker one for jumps of speed. */
const OTHER_GAINS: readonly Gains[] = [
  { phase: 0.04, period: 0.0008 },
  { phase: 0.2, period: 0.02 },
];

export interface RecoverOptions {
  /** `fixed window` is the baseline: each interval by itself against the nominal cell. */
  decoder?: "loop" | "fixed window";
  /**
   * Turn and cell are this many times their nominal length: 300/360 for a disk of 300 rpm in a drive of 360. 1 where left out.
   */
  stretch?: number;
}

export interface Recovery extends Combined {
  form: TrackForm;
  /** The track's data in order of sector number; zeros where nothing was read. */
  data: Uint8Array;
  turns: Turns;
  /** Cell that fits the capture best, in seconds. */
  cellSeconds: number;
  intervals: IntervalHistogram;
  speed: SpeedCurve;
  margin: WindowMargin;
  /** Cells as the loop read them, for a picture. */
  read: ReadCells;
}

/**
 * Recovers the sectors of one track from a capture. Takes any transition times; throws nothing. Work and memory go with
 * the number of transitions.
 */
export function recoverTrack(capture: Capture, form: TrackForm, options: RecoverOptions = {}): Recovery {
  const { transitions } = capture;
  const stretch = options.stretch ?? 1;
  const nominal = form.cellSeconds * stretch;
  const { cellSeconds } = fitCell(transitions, nominal, form.code, CELL_REACH);
  const passOf = (read: ReadCells): Pass => ({
    read,
    sectors: pairFields(scanFields(read.cells, form.code, form.size), form.code),
  });
  const usual = passOf(
    options.decoder === "fixed window"
      ? readWithFixedWindow(transitions, nominal)
      : readWithLoop(transitions, cellSeconds, form.code, USUAL_GAINS),
  );
  const turns = findTurns(transitions, capture.index, form.turnSeconds * stretch, usual.read, usual.sectors);
  let combined = combine([usual], turns, form);
  const unread = () => combined.sectors.some(({ basis }) => basis !== "check");
  if (options.decoder !== "fixed window" && unread()) {
    const passes = [
      usual,
      ...OTHER_GAINS.map((gains) => passOf(readWithLoop(transitions, cellSeconds, form.code, gains))),
    ];
    combined = combine(passes, turns, form);
  }
  const data = new Uint8Array(form.sectors * form.size);
  combined.sectors.forEach(({ data: bytes }, k) => {
    if (bytes) data.set(bytes, k * form.size);
  });
  const turnCount = Math.max(1, Math.min(100, turns.starts.length));
  return {
    ...combined,
    form,
    data,
    turns,
    cellSeconds,
    intervals: intervalHistogram(transitions, nominal / 16, 96),
    speed: speedCurve(usual.read, nominal, 200 * turnCount),
    margin: windowMargin(usual.read),
    read: usual.read,
  };
}
