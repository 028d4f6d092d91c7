import { InputError } from "../../errors/index.ts";
import { type Frame, readFrame } from "../frame.ts";
import { nearestStandardRate } from "../rate.ts";
import { bitTimes } from "./bit-time.ts";
import { type Decoded, readCharacters } from "./characters.ts";
import { bitsOf, type Run, runsOf, type Waveform } from "./waveform.ts";

/** One answer to “what is this line set to?”. */
export interface LineHypothesis {
  /** Measured rate, bit/s, and the standard rate that it stands for, where one is within 4 %. */
  rate: number;
  standardRate?: number;
  /** "7E1" */
  frame: string;
  inverted: boolean;
  /** Of all hypotheses tried, given the capture. */
  probability: number;
  characters: readonly Decoded[];
  /** Text as decoded: printing characters, CR and LF; everything else as `·`. */
  text: string;
}

/** Frames that are tried, and how common each is before anything is seen. Common practice, no source. */
const FRAMES: readonly (readonly [Frame, number])[] = (
  [
    ["8N1", 0.3],
    ["7E1", 0.2],
    ["7O1", 0.08],
    ["7N1", 0.06],
    ["7N2", 0.06],
    ["7E2", 0.06],
    ["7O2", 0.04],
    ["8N2", 0.08],
    ["8E1", 0.05],
    ["8O1", 0.03],
    ["8E2", 0.02],
    ["8O2", 0.02],
  ] as const
).map(([text, share]) => [readFrame(text), Math.log(share)] as const);

const STANDARD_WITHIN = 0.04;
/** Log shares of lines at no standard rate, and of inverted lines. Common practice, no source. */
const ODD_RATE_LOG = Math.log(0.01);
const INVERTED_LOG = Math.log(0.2);
/** Longer lines are cut: so many stretches hold hundreds of characters, or, of unknown length, enough of them. */
const MOST_RUNS = 1500;
const MOST_OPEN_RUNS = 300;
const BIT_TIMES = 4;

const shown = (code: number): string =>
  code === 10 || code === 13 || (code >= 0x20 && code < 0x7f) ? String.fromCharCode(code) : "·";

/**
 * Ranks what rate, frame and polarity a line has, from its waveform or from stretches rebuilt by `runsOfReading`. Every
 * pair of a bit time that the intervals speak for and a usual frame is read as text in the most likely way; likelihoods
 * of intervals, bits, parity and text together rank them. Needs at least one whole character.
 */
export function inferLine(line: Waveform | readonly Run[]): LineHypothesis[] {
  const runs = "edges" in line ? runsOf(line).slice(0, MOST_RUNS) : line.slice(0, MOST_OPEN_RUNS);
  const times = runs.filter((run) => !run.open).length < 2 ? [] : bitTimes(runs, BIT_TIMES);
  if (times.length === 0)
    throw new InputError("too-little-line", "The line hardly changes here; at least one whole character is needed.");
  const found: (Omit<LineHypothesis, "probability" | "text"> & { score: number })[] = [];
  for (const { bitTime, fit } of times) {
    const rate = 1 / bitTime;
    const nearest = nearestStandardRate(rate);
    const standard = Math.abs(rate / nearest - 1) <= STANDARD_WITHIN;
    const bits = bitsOf(runs, bitTime);
    for (const inverted of [false, true])
      for (const [frame, share] of FRAMES) {
        const read = readCharacters(bits, frame, inverted ? 0 : 1);
        found.push({
          rate,
          ...(standard ? { standardRate: nearest } : {}),
          frame: frame.text,
          inverted,
          characters: read.characters,
          score: fit + read.fit + share + (standard ? 0 : ODD_RATE_LOG) + (inverted ? INVERTED_LOG : 0),
        });
      }
  }
  found.sort((a, b) => b.score - a.score);
  const best = found[0]!.score;
  const sum = found.reduce((total, each) => total + Math.exp(each.score - best), 0);
  return found.map(({ score, ...rest }) => ({
    ...rest,
    probability: Math.exp(score - best) / sum,
    text: rest.characters.map((each) => shown(each.code)).join(""),
  }));
}
