import { InputError } from "@rouse/core/errors";
import { inferLine, type LineHypothesis, readFrame, STANDARD_RATES, type Waveform } from "@rouse/core/line";
import { chance, someText, waveformOf } from "./simulate.ts";

const FRAMES = "8N1 7E1 7O1 7N1 7N2 7E2 7O2 8N2 8E1 8O1 8E2 8O2".split(" ");

/** No answer where a character or two hold too few edges to say anything. */
function answersOf(wave: Waveform): readonly LineHypothesis[] {
  try {
    return inferLine(wave);
  } catch (error) {
    if (error instanceof InputError && error.code === "too-little-line") return [];
    throw error;
  }
}

/** A random setting: rate, frame, polarity, clock error within 3 %, text; and what is inferred from it. */
export function tryOne(seed: number, characters: number, wrongBits = 0.02) {
  const random = chance(seed);
  const pick = <T>(some: readonly T[]): T => some[Math.floor(random() * some.length)]!;
  const standardRate = pick(STANDARD_RATES);
  const frame = pick(FRAMES);
  const inverted = random() < 0.5;
  const rate = standardRate * (1 + (random() * 2 - 1) * 0.03);
  const pauses = random() < 0.5 ? 0 : 0.1;
  const codes = someText(characters, random);
  const wave = waveformOf({ codes, frame: readFrame(frame), rate, inverted, wrongBits, jitter: 0.02, pauses }, random);
  const started = performance.now();
  const answers = answersOf(wave);
  const ms = performance.now() - started;
  const [first] = answers;
  const right = first?.standardRate === standardRate && first.frame === frame && first.inverted === inverted;
  return {
    right,
    rateError: first ? first.rate / rate - 1 : Number.NaN,
    setting: { standardRate, frame, inverted, pauses },
    answers,
    codes,
    ms,
  };
}
