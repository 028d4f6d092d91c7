import type { Frame, Waveform } from "@rouse/core/line";

/** Reproducible chance (a multiplicative congruential step with a mix of its bits). */
export function chance(seed: number): () => number {
  let state = (seed * 2_654_435_761 + 12_345) >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** A number about 0 with spread 1 (normal distribution). */
const normal = (random: () => number): number =>
  Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());

export interface SimulatedLine {
  codes: readonly number[];
  frame: Frame;
  /** Rate as it is, clock error included, bit/s. */
  rate: number;
  inverted: boolean;
  /** Share of bits turned over, stop and start bits among them. */
  wrongBits: number;
  /** Spread of each edge, in bits. */
  jitter: number;
  /** Share of characters that are followed by a pause of any length up to 30 bits. */
  pauses: number;
}

const parity = (code: number) => [...code.toString(2)].filter((each) => each === "1").length % 2;

/** The bits of a character in the order of the line. */
function bitsOfCharacter(code: number, frame: Frame): number[] {
  const data = Array.from({ length: frame.data }, (_, bit) => (code >> bit) & 1);
  const check = frame.parity === "none" ? [] : [frame.parity === "even" ? parity(code) : 1 - parity(code)];
  return [0, ...data, ...check, ...Array.from({ length: frame.stop }, () => 1)];
}

/** What a logic analyser would see of such a line. */
export function waveformOf(line: SimulatedLine, random: () => number): Waveform {
  const bitTime = 1 / line.rate;
  const high = line.inverted ? 0 : 1;
  let time = (20 + random()) * bitTime;
  let level = 1;
  const edges: number[] = [];
  const put = (bit: number) => {
    const seen = random() < line.wrongBits ? 1 - bit : bit;
    if (seen !== level) {
      const edge = time + normal(random) * line.jitter * bitTime;
      edges.push(Math.max(edge, edges.at(-1) ?? 0));
      level = seen;
    }
    time += bitTime;
  };
  for (const code of line.codes) {
    for (const bit of bitsOfCharacter(code, line.frame)) put(bit);
    if (random() < line.pauses) {
      if (level === 0) {
        edges.push(time);
        level = 1;
      }
      time += random() * 30 * bitTime;
    }
  }
  if (level === 0) edges.push(time);
  time += 20 * bitTime;
  return { start: 0, end: time, initial: high as 0 | 1, edges };
}

// Text of the kinds that computers send. All of it was written for this test.
const TEXT = [
  "Tern 1.2 ready\r\nlogin: guest\r\npassword: \r\nWelcome to the Larkfield open day. Type help for a list of words.\r\n",
  "DIRECTORY OF /D0\r\nSTARTUP   0412  TEXT\r\nMOTD      0188  TEXT\r\nEDIT      3120  CODE\r\n 214 BLOCKS FREE\r\n",
  "10 FOR I = 1 TO 20\r\n20 PRINT I; I*I; SQR(I)\r\n30 NEXT I\r\n40 GOTO 10\r\nRUN\r\n",
  "The museum keeps its old machines running so that people can see how they were used, and hear them too.\r\n",
  "E000 8E C0 00 6F 80 8C D0 00 26 F9 10 CE 7F FF BD E0 41\r\nE011 86 15 B7 FF 00 39\r\n*\r\n",
  "memory 48K, window at $C000, 8 banks; 2 tasks mapped (28 blocks). ok\r\n> list -l /d0/notes\r\n",
];

/** `count` characters of such text from a place of its own. */
export function someText(count: number, random: () => number): number[] {
  const text = TEXT[Math.floor(random() * TEXT.length)]!;
  const from = Math.floor(random() * text.length);
  return Array.from({ length: count }, (_, index) => text.charCodeAt((from + index) % text.length));
}
