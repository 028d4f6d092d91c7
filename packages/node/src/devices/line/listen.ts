import { InputError } from "@rouse/core/errors";
import {
  inferLine,
  type LineHypothesis,
  nearestStandardRate,
  type ReadByte,
  readFrame,
  runsOfReading,
  STANDARD_RATES,
} from "@rouse/core/line";
import { MarkedBytes } from "./marked.ts";
import type { LinePort } from "./port.ts";

/** What was heard at one rate: the likeliest reading of it, and how much sense that makes, 0 to 1. */
export interface Heard {
  rate: number;
  bytes: number;
  answer?: { frame: string; text: string };
  sense: number;
  /** Where the waveform was rebuilt: what the line may be set to, the likeliest first. */
  ranked?: readonly Ranked[];
}

interface Ranked {
  rate: number;
  frame: string;
  inverted: boolean;
  /** 0 to 1. */
  probability: number;
}

export interface ListenOptions {
  /** Rates to read at, in turn, and to judge what comes as text. Unless said, the waveform is rebuilt where the system marks faults. */
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

/** Rates from which the waveform is rebuilt: from each, lines of a quarter of it and faster are told. */
const LADDER: readonly number[] = [115_200, 38_400, 9600, 2400, 600, 150];
/** So much sense at a rate ends the search; a wrong one, read as inverted, comes near 0.8 at times. */
const SETTLED = 0.9;
/** Logarithm of a ratio. */
const NEIGHBOUR = Math.log(1.45);
/** Too near to each other to be told from a higher rate: each is tried. */
const SLOWEST: readonly number[] = [110, 134.5, 75, 50];
/** A line is told from a reading at a rate so many times its own at most. */
const MOST_TIMES = 4.5;
/** Below this a hypothesis is looked at no further. */
const WORTH_A_LOOK = 0.3;
/** Marked bytes that are enough; a slow line breaks into several of them a character. */
const ENOUGH_MARKED = 200;
const MOST_RANKED = 5;

/**
 * Finds what a line is set to. Where the system marks characters whose stop bit is wrong, the line is read at a high rate,
 * its waveform rebuilt from the bytes, and the rate and frame inferred; a second reading at that rate settles the frame.
 * Elsewhere such characters are dropped unseen, and it is read at one rate after the other and judged as text.
 */
export async function hearLine(port: LinePort, options: ListenOptions = {}): Promise<Heard[]> {
  if (options.rates === undefined && port.markFaults) {
    const heard = await hearWaveform(port, options);
    if (heard) return heard;
  }
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

/** Undefined where the port does not mark faults after all. */
async function hearWaveform(port: LinePort, options: ListenOptions): Promise<Heard[] | undefined> {
  const heard: Heard[] = [];
  const tell = (each: Heard): void => {
    heard.push(each);
    options.onHeard?.(each);
  };
  const tried = new Set<number>();
  /** Reads at a rate that may be the line's own; true where it is, or where all is over. */
  const settles = async (rate: number, known?: readonly ReadByte[]): Promise<boolean> => {
    if (options.signal?.aborted) return true;
    if (tried.has(rate)) return false;
    tried.add(rate);
    const own = known ?? (await readMarked(port, rate, options));
    if (own === undefined || own === "not marked" || own.length === 0) return false;
    tell(heardOf(rate, own, answersOf(own, rate)));
    return heard.at(-1)!.sense >= SETTLED;
  };
  for (const rate of LADDER) {
    if (options.signal?.aborted) break;
    const read = await readMarked(port, rate, options);
    if (read === "not marked") return undefined;
    if (read === undefined) continue;
    // Whatever the rate, a line that talks leaves marks.
    if (read.length === 0) {
      tell({ rate, bytes: 0, sense: 0 });
      break;
    }
    const first = answersOf(read, rate)[0];
    const near = first && nearestStandardRate(first.rate);
    if (!first || near === undefined || first.probability < WORTH_A_LOOK || rate / near > MOST_TIMES) {
      tell({ rate, bytes: read.length, sense: 0 });
      continue;
    }
    if (near !== rate) tell({ rate, bytes: read.length, sense: 0 });
    for (const each of [near, ...neighboursOf(near)])
      if (await settles(each, each === rate ? read : undefined)) return heard;
  }
  if (heard.some((each) => each.bytes > 0)) for (const each of SLOWEST) if (await settles(each)) return heard;
  return heard;
}

/** Standard rates that a reading takes for this one at times, nearest first. */
function neighboursOf(rate: number): number[] {
  const nearness = (each: number): number => Math.abs(Math.log(each / rate));
  return STANDARD_RATES.filter((each) => each !== rate && nearness(each) < NEIGHBOUR).sort(
    (one, other) => nearness(one) - nearness(other),
  );
}

/** Stop bits are not seen: what follows a byte may be one or a pause. Hypotheses that differ by them alone are one. */
const withoutStops = (frame: string): string => frame.slice(0, 2);

function answersOf(bytes: readonly ReadByte[], rate: number): LineHypothesis[] {
  try {
    const merged: LineHypothesis[] = [];
    for (const each of inferLine(runsOfReading(bytes, rate))) {
      const same = merged.findIndex(
        (other) =>
          withoutStops(other.frame) === withoutStops(each.frame) &&
          other.inverted === each.inverted &&
          other.standardRate === each.standardRate,
      );
      if (same < 0) merged.push(each);
      else merged[same] = { ...merged[same]!, probability: merged[same]!.probability + each.probability };
    }
    return merged.sort((a, b) => b.probability - a.probability);
  } catch (error) {
    if (error instanceof InputError) return [];
    throw error;
  }
}

function heardOf(rate: number, bytes: readonly ReadByte[], answers: readonly LineHypothesis[]): Heard {
  const [best] = answers;
  // Fewer characters would say too little.
  if (!best || bytes.length < LEAST) return { rate, bytes: bytes.length, sense: 0 };
  const { characters } = best;
  const sound = characters.filter((each) => each.parity && each.framing && isText(each.code)).length;
  return {
    rate: best.standardRate ?? Math.round(best.rate),
    bytes: bytes.length,
    answer: { frame: best.frame, text: best.text },
    sense: best.probability * (sound / Math.max(1, characters.length)),
    ranked: answers.slice(0, MOST_RANKED).map(({ standardRate, rate: measured, frame, inverted, probability }) => ({
      rate: standardRate ?? Math.round(measured),
      frame,
      inverted,
      probability,
    })),
  };
}

/** What comes at a rate, with its marks; undefined where the adapter has not that rate. */
async function readMarked(
  port: LinePort,
  rate: number,
  options: ListenOptions,
): Promise<ReadByte[] | undefined | "not marked"> {
  const marks = new MarkedBytes();
  const found: ReadByte[] = [];
  let isMarked = true;
  const bytes = await readAt(port, rate, { ...options, enough: options.enough ?? ENOUGH_MARKED }, async () => {
    isMarked = (await port.markFaults?.()) ?? false;
    return isMarked;
  });
  if (!isMarked) return "not marked";
  if (bytes === undefined) return undefined;
  found.push(...marks.push(bytes));
  return found;
}

const unmarked = (): Promise<boolean> => Promise.resolve(true);

/** What comes at a rate; undefined where the adapter has not that rate. */
async function readAt(
  port: LinePort,
  rate: number,
  options: ListenOptions,
  opened: () => Promise<boolean> = unmarked,
): Promise<Uint8Array | undefined> {
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
  if (!(await opened())) end();
  // What came before the marks were on says nothing of faults.
  if (opened !== unmarked) {
    await port.discard();
    chunks.length = count = 0;
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
