import type { March } from "../march/types.ts";
import { type CellFault, cellOf, faultyWords, wordsOf } from "./cells.ts";
import { type FaultClass, faultsOf } from "./classes.ts";

/** A small memory on which every fault of a class is tried. */
export interface Trial {
  /** Words, at least 2; 4 hold every order in which two addresses and their neighbours can be met. */
  words: number;
  /** Bits of a word, 1 to 8. */
  width: number;
  /** Data backgrounds: r0 and w0 mean this word, r1 and w1 its complement. One of 0 for a memory of single bits. */
  backgrounds: readonly number[];
}

export const SINGLE_BITS: Trial = { words: 4, width: 1, backgrounds: [0] };

/** Clocks that a pause of a march lasts, beside one for each access; a leaking cell holds fewer. */
const PAUSE = 1000;
const HOLD = 500;

/** Where a march first read something else than it expects. */
export interface Miss {
  background: number;
  element: number;
  operation: number;
  word: number;
  expected: number;
  found: number;
}

/** Runs a march over a memory with a fault; undefined where it finds nothing. `down`: ⇕ is taken as ⇓. */
export function runMarch(
  march: March,
  trial: Trial,
  fault: CellFault | undefined,
  start: Uint8Array,
  down: boolean,
  before = 0,
): Miss | undefined {
  const memory = start.slice();
  const words = fault
    ? faultyWords(fault, memory)
    : {
        read: (word: number) => memory[word]!,
        write: (word: number, value: number) => {
          memory[word] = value;
        },
      };
  const mask = 2 ** trial.width - 1;
  let last = before;
  let clock = 0;
  for (const background of trial.backgrounds)
    for (const [number, element] of march.elements.entries()) {
      if (element.delay) clock += PAUSE;
      const falls = element.direction === "down" || (element.direction === "either" && down);
      for (let step = 0; step < trial.words; step++) {
        const word = falls ? trial.words - 1 - step : step;
        for (const [operation, { kind, value: bit }] of element.operations.entries()) {
          clock++;
          const value = (bit ? ~background : background) & mask;
          if (kind === "write") words.write(word, value, clock);
          else {
            const found = words.read(word, clock, last) & mask;
            if (found !== value) return { background, element: number, operation, word, expected: value, found };
            last = found;
          }
        }
      }
    }
  return undefined;
}

/**
 * Whether a march finds a fault whatever the memory held before, whichever way ⇕ goes, and whatever was read last. Only the
 * words of the fault can matter, and of those only the bits that it joins.
 */
export function isFound(march: March, trial: Trial, fault: CellFault): boolean {
  const words = wordsOf(fault);
  const cells =
    fault.kind === "decoder"
      ? words
      : words
          .flatMap((word) => Array.from({ length: trial.width }, (_, bit) => cellOf(word, bit)))
          .filter((cell) => touches(fault, cell));
  for (let contents = 0; contents < 2 ** cells.length; contents++) {
    const start = new Uint8Array(trial.words);
    for (const [index, cell] of cells.entries()) {
      if (!((contents >> index) & 1)) continue;
      if (fault.kind === "decoder") start[cell] = 0xff;
      else start[cell >> 3]! |= 1 << (cell & 7);
    }
    for (const down of [false, true])
      for (const before of fault.kind === "open" ? [0, 0xff] : [0])
        if (!runMarch(march, trial, fault, start, down, before)) return false;
  }
  return true;
}

function touches(fault: CellFault, cell: number): boolean {
  if (fault.kind === "decoder") return true;
  if ("cells" in fault) return fault.cells.includes(cell);
  return "cell" in fault ? fault.cell === cell : fault.aggressor === cell || fault.victim === cell;
}

export interface ClassCoverage {
  class: FaultClass;
  faults: number;
  found: number;
  /** The first fault that is not found. */
  missed?: CellFault;
}

/** Tries every fault of some classes on a small memory. */
export function coverageOf(march: March, trial: Trial, classes: readonly FaultClass[]): ClassCoverage[] {
  return classes.map((name) => {
    let faults = 0;
    let found = 0;
    let missed: CellFault | undefined;
    for (const fault of faultsOf(name, trial.words, trial.width, HOLD)) {
      faults++;
      if (isFound(march, trial, fault)) found++;
      else missed ??= fault;
    }
    return { class: name, faults, found, ...(missed ? { missed } : {}) };
  });
}
