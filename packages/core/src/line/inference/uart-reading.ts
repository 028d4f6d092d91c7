import { InputError } from "../../errors/index.ts";
import { merged, type Run, type Waveform } from "./waveform.ts";

/**
 * A serial part that reads a line which is slower than it is set to. The model, after the 16450's data sheet (from memory):
 * 8N1; it waits for mark, then for a falling edge; samples the middle of each bit; if the stop bit is space it tells a framing
 * error. With any data bit set, it then takes that space for the next start bit; with none it tells a break, and waits
 * until the line is at mark again. Nothing tells how long the line stayed at mark, nor how long a break took.
 */
export interface ReadByte {
  value: number;
  /** The stop bit was space. Where the driver does not tell, a zero byte is taken for a break and all others as sound. */
  framing?: boolean;
}

const BITS = 10;

/** What such a part at `rate` bit/s reads from a waveform; for tests, and to choose a rate. */
export function readByUart(wave: Waveform, rate: number): ReadByte[] {
  const bytes: ReadByte[] = [];
  const { edges } = wave;
  let index = 0;
  const levelAt = (time: number): 0 | 1 => {
    while (index < edges.length && edges[index]! <= time) index++;
    while (index > 0 && edges[index - 1]! > time) index--;
    return index % 2 === 0 ? wave.initial : wave.initial === 1 ? 0 : 1;
  };
  /** The first edge at or after `time` that leads to `level`. */
  const edgeTo = (level: 0 | 1, time: number): number | undefined => {
    levelAt(time);
    for (let at = index; at < edges.length; at++) if ((at % 2 === 0) === (level !== wave.initial)) return edges[at]!;
    return undefined;
  };
  let start = levelAt(wave.start) === 1 ? edgeTo(0, wave.start) : undefined;
  if (start === undefined) {
    const mark = edgeTo(1, wave.start);
    start = mark === undefined ? undefined : edgeTo(0, mark);
  }
  while (start !== undefined && start + BITS / rate < wave.end) {
    const bit = (number: number) => levelAt(start! + (number + 0.5) / rate);
    if (bit(0) === 1) {
      // Shorter than half a bit: a glitch, and not told.
      start = edgeTo(0, start + 0.5 / rate);
      continue;
    }
    let value = 0;
    for (let data = 0; data < 8; data++) value |= bit(data + 1) << data;
    const stop = start + 9.5 / rate;
    const framing = levelAt(stop) === 0;
    bytes.push({ value, framing });
    if (!framing) start = edgeTo(0, stop);
    else if (value !== 0) start += 9 / rate;
    else {
      const mark = edgeTo(1, stop);
      start = mark === undefined ? undefined : edgeTo(0, mark);
    }
  }
  return bytes;
}

/**
 * Rebuilds a line's stretches from bytes read at `rate` bit/s. Those within a byte are known to a bit of the reader; mark
 * behind a byte, and a break, are at least as long as what was seen of them (`open`).
 */
export function runsOfReading(bytes: readonly ReadByte[], rate: number): Run[] {
  if (!(rate > 0)) throw new InputError("bad-rate", `${rate} is not a rate.`);
  const runs: Run[] = [{ level: 1, seconds: 1 / rate, open: true }];
  let shared = false;
  for (const { value, framing = value < 0x80 } of bytes) {
    // The start bit may be the stop bit of the byte before, already counted.
    const bits = [
      ...(shared ? [] : [0 as const]),
      ...Array.from({ length: 8 }, (_, bit) => ((value >> bit) & 1) as 0 | 1),
    ];
    for (const level of bits) runs.push({ level, seconds: 1 / rate, open: false });
    shared = framing && value !== 0;
    runs.push({ level: framing ? 0 : 1, seconds: 1 / rate, open: framing ? value === 0 : true });
    if (framing && value === 0) runs.push({ level: 1, seconds: 1 / rate, open: true });
  }
  return merged(runs);
}
