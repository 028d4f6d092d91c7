import { charactersPerSecond, type Frame } from "./frame.ts";

/** How fast a line is and what each end can bear. Times in seconds. */
export interface FlowSituation {
  rate: number;
  frame: Frame;
  /** Longest time in which the listener takes no character away. */
  away: number;
  /** Characters the listener keeps meanwhile: its part's own, or an interrupt routine's. */
  buffer: number;
  /** How the listener stops the talker, where both ends do it. */
  flow: "none" | "lines" | "characters";
}

export interface FlowOutcome {
  /** Characters that may arrive while the listener is away. */
  arriving: number;
  /** Characters lost in one such time, at the full speed of the line. */
  lost: number;
  /** Longest time away at which nothing is lost without flow control, s. */
  bearable: number;
  /** Characters that still arrive after the listener has asked for a stop. */
  afterStop: number;
  /** Pause after each character that makes it safe without flow control, s; 0 where none is needed. */
  perCharacter: number;
  /** Pause after each line, where the listener is away only at the ends of lines (it scrolls), s. */
  perLine: number;
}

/**
 * Characters under way when a stop is asked for: one in the talker's shift register and one in its holding register;
 * with XOFF, the talker must receive that character first, behind one that is being sent. Common practice, no source.
 */
const AFTER_STOP = { none: 0, lines: 2, characters: 4 } as const;

/**
 * Will it lose characters? The worst moment to go away is just before a character is complete: from then on one more
 * completes every character time, and the buffer holds `buffer` of them.
 */
export function flowOutcome({ rate, frame, away, buffer, flow }: FlowSituation): FlowOutcome {
  const character = 1 / charactersPerSecond(rate, frame);
  // A whole number of character times in floating point may come out a hair above it.
  const arriving = away <= 0 ? 0 : 1 + Math.floor(away / character - 1e-9);
  const afterStop = AFTER_STOP[flow];
  const lost = flow === "none" ? Math.max(0, arriving - buffer) : Math.max(0, Math.min(arriving, afterStop) - buffer);
  const bearable = buffer * character;
  return {
    arriving,
    lost,
    bearable,
    afterStop,
    perCharacter: Math.max(0, away / buffer - character),
    perLine: Math.max(0, away - bearable),
  };
}

/** Characters a second that pass with these pauses, for lines of `length` characters and their CR and LF. */
export function pacedSpeed(rate: number, frame: Frame, length: number, perCharacter: number, perLine: number): number {
  const characters = length + 2;
  return characters / (characters * (1 / charactersPerSecond(rate, frame) + perCharacter) + perLine);
}

/** How long things take on a screen at this rate, s. */
export interface ScreenTimes {
  /** One character, a full line, and the whole screen painted from top to bottom. */
  character: number;
  line: number;
  screen: number;
  /** A screen of short lines scrolled through: CR and LF after half a line, `rows` times. */
  scroll: number;
}

export function screenTimes(rate: number, frame: Frame, columns: number, rows: number): ScreenTimes {
  const character = 1 / charactersPerSecond(rate, frame);
  return {
    character,
    line: columns * character,
    screen: columns * rows * character,
    scroll: rows * (columns / 2 + 2) * character,
  };
}

/** Seconds until a text of `bytes` characters stands on the screen, `lines` of it ending with a pause of `perLine`. */
export const textTime = (rate: number, frame: Frame, bytes: number, lines = 0, perLine = 0): number =>
  bytes / charactersPerSecond(rate, frame) + lines * perLine;
