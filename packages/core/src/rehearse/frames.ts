import { type Frame, readFrame } from "../line/index.ts";
import type { Ear, Level, Wire } from "./wire.ts";

/** How an end is set: its frame, and a bit in cycles of the CPU. */
export interface Setting {
  frame: Frame;
  bit: number;
}

const FRAMES = new Map<string, Frame>();

/** A frame by its text; made once. */
export function frameOf(text: string): Frame {
  const known = FRAMES.get(text);
  if (known) return known;
  const frame = readFrame(text);
  FRAMES.set(text, frame);
  return frame;
}

function parityBit(frame: Frame, byte: number): Level {
  if (frame.parity === "mark") return 1;
  if (frame.parity === "space") return 0;
  let ones = frame.parity === "odd" ? 1 : 0;
  for (let bit = 0; bit < frame.data; bit++) ones ^= (byte >> bit) & 1;
  return ones as Level;
}

/** Puts a character on a wire from `start` on, lowest bit first; gives the end of its last stop bit. */
export function sendFrame(wire: Wire, { frame, bit }: Setting, byte: number, start: number): number {
  wire.set(start, 0);
  for (let index = 0; index < frame.data; index++) wire.set(start + (index + 1) * bit, ((byte >> index) & 1) as Level);
  if (frame.parity !== "none") wire.set(start + (frame.data + 1) * bit, parityBit(frame, byte));
  wire.set(start + (frame.bits - frame.stop) * bit, 1);
  return start + frame.bits * bit;
}

/** A character as it was received, whole or not. */
export interface Heard {
  byte: number;
  parity: boolean;
  framing: boolean;
  /** All bits and the stop bit were space. */
  broken: boolean;
}

/**
 * A receiver: waits for a change to space, looks at the middle of each bit by its own clock, and is done in the middle of
 * the stop bit. What comes at another rate, in another frame or upside down gives the characters it would give on iron.
 */
export class Receiver {
  /** `start`: of the character under way, −1 where none is. `from`: where the search for the next one begins. */
  state = { start: -1, from: 0 };
  private readonly ear: Ear;

  constructor(ear: Ear) {
    this.ear = ear;
  }

  /** When a character that has begun will be complete; Infinity where none is known to begin. */
  next(setting: Setting): number {
    const start = this.begun(setting);
    return start < 0 ? Number.POSITIVE_INFINITY : start + setting.frame.lastSample * setting.bit;
  }

  /** The next character that is complete at `now`. */
  take(setting: Setting, now: number): Heard | undefined {
    if (this.next(setting) > now) return undefined;
    const { frame, bit } = setting;
    const { start } = this.state;
    const level = (index: number): Level => this.ear.level(start + (index + 0.5) * bit);
    let byte = 0;
    for (let index = 0; index < frame.data; index++) byte |= level(index + 1) << index;
    const parity = frame.parity !== "none" && level(frame.data + 1) !== parityBit(frame, byte);
    const last = start + frame.lastSample * bit;
    const framing = this.ear.level(last) === 0;
    const broken = framing && byte === 0 && (frame.parity === "none" || level(frame.data + 1) === 0);
    this.state.start = -1;
    this.state.from = last;
    return { byte, parity, framing, broken };
  }

  /** Starts anew: what is under way is not received. */
  reset(now: number): void {
    this.state.start = -1;
    this.state.from = now;
  }

  private begun({ bit }: Setting): number {
    const { state } = this;
    while (state.start < 0) {
      const fall = this.ear.fall(state.from);
      if (fall === Number.POSITIVE_INFINITY) return -1;
      // Shorter than half a bit: not a start.
      if (this.ear.level(fall + bit / 2) === 0) state.start = fall;
      else state.from = fall + bit / 2;
    }
    return state.start;
  }
}
