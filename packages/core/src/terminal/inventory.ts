import { visible } from "../bytes/index.ts";
import { type ControlFunction, controlOf, escapeOf, sequenceOf } from "./functions.ts";
import { Scanner, type ScanSink } from "./scanner.ts";

/** One function in a capture: how often, and where. */
export interface FunctionUse extends ControlFunction {
  times: number;
  /** Offsets of its first uses, at most 8. */
  at: number[];
  /** The first use as it came, made safe to show: "\x1B[5;10H". */
  example: string;
}

export interface Inventory {
  /** By first place. */
  functions: FunctionUse[];
  /** Graphic characters, and how many of them are lower-case letters. */
  characters: number;
  lowerCase: number;
  /** How often the grammar is broken, and the first places, at most 8. */
  faults: { times: number; at: number[] };
  /** Where a function began that the capture does not end, if any. */
  unfinished?: number;
}

const MOST_PLACES = 8;
const MOST_SHOWN = 40;

/** Names, counts and places every control function of a capture (ECMA-48, 5th edition). */
export function inventory(capture: Uint8Array, options: { bits?: 7 | 8 } = {}): Inventory {
  const uses = new Map<ControlFunction, FunctionUse>();
  const faults: number[] = [];
  let broken = 0;
  let [characters, lowerCase] = [0, 0];
  const note = (found: ControlFunction, at: number): void => {
    const before = uses.get(found);
    if (!before) uses.set(found, { ...found, times: 1, at: [at], example: "" });
    else {
      before.times++;
      if (before.at.length < MOST_PLACES) before.at.push(at);
    }
  };
  const sink: ScanSink = {
    text(bytes, from, to) {
      characters += to - from;
      for (let i = from; i < to; i++) {
        const byte = bytes[i]! & 0x7f;
        if (byte >= 0x61 && byte <= 0x7a) lowerCase++;
      }
    },
    control: (byte, at) => note(controlOf(byte), at),
    escape: (intermediates, final, at) => note(escapeOf(intermediates, final), at),
    sequence: ({ lead, intermediates, final }, at) => note(sequenceOf(lead, intermediates, final), at),
    string: (opener, _data, _length, at) => note(controlOf(opener), at),
    fault(at) {
      broken++;
      if (faults.length < MOST_PLACES) faults.push(at);
    },
  };
  const scanner = new Scanner(sink, options);
  scanner.write(capture);
  const functions = [...uses.values()].sort((a, b) => a.at[0]! - b.at[0]!);
  for (const each of functions) each.example = exampleAt(capture, each.at[0]!, options);
  return {
    functions,
    characters,
    lowerCase,
    faults: { times: broken, at: faults },
    ...(scanner.openSince === undefined ? {} : { unfinished: scanner.openSince }),
  };
}

/** The one function that begins at `at`. */
function exampleAt(capture: Uint8Array, at: number, options: { bits?: 7 | 8 }): string {
  let ended = false;
  const end = (): void => {
    ended = true;
  };
  const scanner = new Scanner(
    { text: end, control: (_byte, place) => place === 0 && end(), escape: end, sequence: end, string: end, fault: end },
    options,
  );
  let to = at;
  while (to < capture.length && !ended && to - at < MOST_SHOWN) {
    scanner.write(capture, to, to + 1);
    to++;
  }
  const text = visible(String.fromCharCode(...capture.subarray(at, to)));
  return ended ? text : `${text}…`;
}
