import type { Frame } from "../frame.ts";
import { codeProbabilities } from "./text-model.ts";
import type { Bits } from "./waveform.ts";

/** Share of bits that may be wrong. */
const WRONG = 0.02;
const RIGHT_LOG = Math.log(1 - WRONG);
const WRONG_LOG = Math.log(WRONG);
/** After a character the next one follows at once, or the line falls idle; an idle line stays so. Common practice, no source. */
const NEXT_LOG = Math.log(0.85);
const PAUSE_LOG = Math.log(0.15);
const STAY_LOG = Math.log(0.92);
const WAKE_LOG = Math.log(0.08);
/** One more bit of a stretch whose length is not known. */
const LONGER_LOG = Math.log(0.5);

/** A character as decoded; `at` counts bits from the start. */
export interface Decoded {
  at: number;
  code: number;
  /** Whether its parity and its stop bits are as the frame wants them. */
  parity: boolean;
  framing: boolean;
}

const parityOf = (pattern: number): number => {
  let bits = pattern;
  bits ^= bits >> 4;
  bits ^= bits >> 2;
  bits ^= bits >> 1;
  return bits & 1;
};

const TABLES = new Map<string, Float64Array>();

/**
 * Log probability of each pattern of data and parity bits (first bit sent lowest), wrong bits included: the codes'
 * probabilities, with each bit turned over with the probability of a wrong bit.
 */
function patterns(frame: Frame): Float64Array {
  const known = TABLES.get(frame.text);
  if (known) return known;
  const codes = codeProbabilities(frame.data as 7 | 8);
  const bits = frame.data + (frame.parity === "none" ? 0 : 1);
  let table = new Float64Array(1 << bits);
  for (const [code, probability] of codes.entries()) {
    const top = frame.parity === "none" ? 0 : parityOf(code) ^ (frame.parity === "odd" ? 1 : 0);
    table[code | (top << frame.data)] = probability;
  }
  for (let bit = 0; bit < bits; bit++) {
    const from = table;
    table = from.map((each, pattern) => each * (1 - WRONG) + from[pattern ^ (1 << bit)]! * WRONG);
  }
  const logs = table.map(Math.log);
  TABLES.set(frame.text, logs);
  return logs;
}

/**
 * The most likely reading of the bits as characters of a frame, and its log likelihood. `idle` is the level of the idle
 * line. Dynamic programming over bit positions: at each, the line is idle for a bit, or a character starts.
 */
export function readCharacters(bits: Bits, frame: Frame, idle: 0 | 1): { fit: number; characters: Decoded[] } {
  const table = patterns(frame);
  const payload = frame.data + (frame.parity === "none" ? 0 : 1);
  const length = payload + 1 + frame.stop;
  const count = bits.level.length;
  // The line is idle behind the capture, so that a last stop bit that was cut off is no fault.
  const mark = (position: number): 0 | 1 => (position >= count ? 1 : bits.level[position] === idle ? 1 : 0);
  const isOpen = (position: number): boolean => position >= count || bits.open[position] === 1;
  const size = count + 1;
  const nowhere = () => new Float64Array(size).fill(Number.NEGATIVE_INFINITY);
  /** Best log likelihood up to a position with a character just ended there, and with the line idle before it. */
  const ended = nowhere();
  const idling = nowhere();
  /** Where that character began and what it was; whether it, or the idle bit, came from an idle line. */
  const from = new Int32Array(size);
  const read = new Int32Array(size);
  const characterAfterIdle = new Uint8Array(size);
  const idleAfterIdle = new Uint8Array(size);
  idling[0] = 0;
  let wasIdle = 0;

  const reach = (to: number, origin: number, score: number, pattern: number) => {
    const end = Math.min(to, count);
    if (score > ended[end]!) {
      ended[end] = score;
      from[end] = origin;
      read[end] = pattern;
      characterAfterIdle[end] = wasIdle;
    }
  };
  /** Follows a character from its bit number `index` on; stretches of unknown length branch. */
  const follow = (origin: number, position: number, index: number, pattern: number, score: number, stops: number) => {
    const bit = mark(position);
    let next = score;
    let grown = pattern;
    let held = stops;
    if (index === 0) next += bit === 0 ? RIGHT_LOG : WRONG_LOG;
    else if (index <= payload) grown |= bit << (index - 1);
    else {
      next += bit === 1 ? RIGHT_LOG : WRONG_LOG;
      if (bit === 0) held = 1;
    }
    if (index + 1 === length) {
      reach(position + 1, origin, next + table[grown]!, grown | (held << 16));
      return;
    }
    follow(origin, position + 1, index + 1, grown, next, held);
    if (isOpen(position) && position < count) follow(origin, position, index + 1, grown, next + LONGER_LOG, held);
  };

  /** How far ahead the next stretch of unknown length is; a character that ends before it has one reading only. */
  let nextOpen = count;
  const openFrom = new Int32Array(size);
  for (let position = count - 1; position >= 0; position--) {
    if (bits.open[position] === 1) nextOpen = position;
    openFrom[position] = nextOpen;
  }
  const levels = bits.level;
  for (let position = 0; position < count; position++) {
    const level = levels[position] === idle ? 1 : 0;
    const bit = level === 1 ? RIGHT_LOG : WRONG_LOG;
    const [stays, pauses] = [idling[position]! + STAY_LOG, ended[position]! + PAUSE_LOG];
    idling[position + 1] = Math.max(stays, pauses) + bit;
    idleAfterIdle[position + 1] = stays >= pauses ? 1 : 0;
    const [wakes, follows] = [idling[position]! + WAKE_LOG, ended[position]! + NEXT_LOG];
    wasIdle = wakes >= follows ? 1 : 0;
    const score = Math.max(wakes, follows);
    if (openFrom[position]! < position + length) {
      follow(position, position, 0, 0, score, 0);
      continue;
    }
    let pattern = 0;
    for (let bit = 0; bit < payload; bit++) if (levels[position + 1 + bit] === idle) pattern |= 1 << bit;
    let fit = score + (level === 0 ? RIGHT_LOG : WRONG_LOG) + table[pattern]!;
    let held = 0;
    for (let bit = payload + 1; bit < length; bit++) {
      if (levels[position + bit] === idle) fit += RIGHT_LOG;
      else {
        fit += WRONG_LOG;
        held = 1;
      }
    }
    reach(position + length, position, fit, pattern | (held << 16));
  }
  const characters: Decoded[] = [];
  let atIdle = idling[count]! >= ended[count]!;
  for (let position = count; position > 0; ) {
    if (atIdle) {
      atIdle = idleAfterIdle[position] === 1;
      position--;
      continue;
    }
    const pattern = read[position]!;
    atIdle = characterAfterIdle[position] === 1;
    const code = pattern & ((1 << frame.data) - 1);
    const sent = (pattern >> frame.data) & 1;
    const wanted = parityOf(code) ^ (frame.parity === "odd" ? 1 : 0);
    characters.push({
      at: from[position]!,
      code,
      parity: frame.parity === "none" || sent === wanted,
      framing: pattern >> 16 === 0,
    });
    position = from[position]!;
  }
  return { fit: Math.max(idling[count]!, ended[count]!), characters: characters.reverse() };
}
