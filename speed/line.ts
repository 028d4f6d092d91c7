import { inferLine, readFrame } from "@rouse/core/line";
import { chance, someText, waveformOf } from "../checks/line/simulate.ts";
import { atMost, type Measured, medianMs } from "./types.ts";

/** Rate inference: 40 characters with 2 % wrong bits, and without. */
export async function run(): Promise<readonly Measured[]> {
  return [0, 0.02].map((wrongBits) => {
    const random = chance(7);
    const wave = waveformOf(
      {
        codes: someText(40, random),
        frame: readFrame("7E1"),
        rate: 2451,
        inverted: true,
        wrongBits,
        jitter: 0.02,
        pauses: 0.1,
      },
      random,
    );
    const infer = () => {
      inferLine(wave);
    };
    medianMs(3, infer);
    return atMost(`rate inference from 40 characters, ${wrongBits * 100} % wrong bits`, medianMs(21, infer), 200, "ms");
  });
}
