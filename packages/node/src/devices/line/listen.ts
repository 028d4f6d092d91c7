import { InputError } from "@rouse/core/errors";
import { readFrame } from "@rouse/core/line";
import type { LinePort } from "./port.ts";

/** What was heard at one rate: the likeliest reading of it, and how much sense that makes, 0 to 1. */
export interface Heard {
  rate: number;
  bytes: number;
  answer?: { frame: string; text: string };
  sense: number;
}

export interface ListenOptions {
  /** Rates to read at, in turn; the usual ones, commonest first, unless said. */
  rates?: readonly number[];
  /** Bytes that are enough at one rate; 80 unless said. */
  enough?: number;
  /** Ms to wait at each rate; 3 000 unless said. */
  patience?: number;
  onHeard?: (heard: Heard) => void;
  signal?: AbortSignal;
}

/** Commonest first: common practice, no source. */
const USUAL_RATES: readonly number[] = [9600, 2400, 1200, 19_200, 4800, 300, 38_400, 115_200, 600, 57_600, 150, 110];
/** Fewer bytes say too little. */
const LEAST = 8;
/** An answer with so much sense from as many characters ends the search. */
const CLEAR = 0.95;
const CLEAR_CHARACTERS = 30;

const READ_FRAME = readFrame("8N1");

/**
 * Reads a line at one rate after the other, and judges the bytes as text in every frame of ten bits. Drivers drop characters whose stop
 * bit is wrong and tell nothing of it, so a waveform can't be rebuilt from
 * faster readings: only one at the line's own rate shows frame and text.
 */
export async function hearLine(port: LinePort, options: ListenOptions = {}): Promise<Heard[]> {
  const heard: Heard[] = [];
  for (const rate of options.rates ?? USUAL_RATES) {
    if (options.signal?.aborted) break;
    const bytes = await readAt(port, rate, options);
    if (!bytes) continue;
    const found = judge(bytes, rate);
    heard.push(found);
    options.onHeard?.(found);
    if (found.sense >= CLEAR && bytes.length >= CLEAR_CHARACTERS) break;
  }
  return heard;
}

/** What comes at a rate; undefined where the adapter has not that rate. */
async function readAt(port: LinePort, rate: number, options: ListenOptions): Promise<Uint8Array | undefined> {
  const { enough = 80, patience = 3000, signal } = options;
  const chunks: Uint8Array[] = [];
  let count = 0;
  let timer: NodeJS.Timeout | undefined;
  let end!: () => void;
  let fail!: (error: Error) => void;
  const over = new Promise<void>((resolve, reject) => {
    end = resolve;
    fail = reject;
  });
  const data = (bytes: Uint8Array) => {
    chunks.push(bytes);
    count += bytes.length;
    if (count >= enough) end();
  };
  const closed = (lost: boolean) => {
    if (lost) fail(new InputError("port-gone", `${port.path} is gone; is the adapter plugged in?`));
  };
  try {
    await port.open({ rate, frame: READ_FRAME, flow: "none" }, { data, closed });
  } catch (error) {
    if (error instanceof InputError && error.code === "no-rate") return undefined;
    throw error;
  }
  timer = setTimeout(end, patience);
  signal?.addEventListener("abort", end, { once: true });
  try {
    await over;
  } finally {
    clearTimeout(timer);
    signal?.removeEventListener("abort", end);
    await port.close();
  }
  return Buffer.concat(chunks);
}

/** What bit 7 is in each frame whose characters take ten bits; 7N2 shows as a bit 7 that is always set. */
const FRAMES: readonly (readonly [frame: string, right: (byte: number) => boolean])[] = [
  ["8N1", (byte) => byte < 0x80],
  ["7E1", (byte) => ones(byte) % 2 === 0],
  ["7O1", (byte) => ones(byte) % 2 === 1],
  ["7N2", (byte) => byte >= 0x80],
];

const ones = (byte: number): number => {
  let count = 0;
  for (let rest = byte; rest !== 0; rest &= rest - 1) count++;
  return count;
};

const isText = (code: number): boolean => (code >= 0x20 && code < 0x7f) || (code >= 7 && code <= 13) || code === 0x1b;
const isWord = (code: number): boolean =>
  code === 0x20 || (code >= 0x30 && code < 0x3a) || ((code & 0x5f) >= 0x41 && (code & 0x5f) <= 0x5a);

/**
 * Sense of bytes as text in each frame: the share that has its bit 7 right and is text, if they are of many kinds and
 * mostly letters, digits and spaces, as text is and a wrong rate's few patterns of bits are not.
 */
function judge(bytes: Uint8Array, rate: number): Heard {
  const heard: Heard = { rate, bytes: bytes.length, sense: 0 };
  if (bytes.length < LEAST) return heard;
  for (const [frame, right] of FRAMES) {
    const codes = Array.from(bytes, (byte) => byte & 0x7f);
    const good = codes.filter((code, at) => isText(code) && right(bytes[at]!));
    const kinds = new Set(good).size / Math.min(FEW_KINDS, bytes.length / 4);
    const words = good.filter(isWord).length / Math.max(1, good.length) / MOSTLY_WORDS;
    const sense = (good.length / bytes.length) * Math.min(1, kinds) * Math.min(1, words);
    if (sense <= heard.sense) continue;
    heard.sense = sense;
    heard.answer = {
      frame,
      text: codes.map((code) => (isText(code) && code !== 0x1b ? String.fromCharCode(code) : "·")).join(""),
    };
  }
  return heard;
}

/** Kinds of characters in a line of text or two at least, and share of letters, digits and spaces: common practice. */
const FEW_KINDS = 9;
const MOSTLY_WORDS = 0.6;

/** Below this it is as likely noise. */
const LEAST_SENSE = 0.7;

/** The reading that makes most sense; undefined where none makes any. */
export function bestHeard(heard: readonly Heard[]): Heard | undefined {
  const [first] = [...heard].sort((a, b) => b.sense - a.sense);
  return first && first.sense >= LEAST_SENSE ? first : undefined;
}
