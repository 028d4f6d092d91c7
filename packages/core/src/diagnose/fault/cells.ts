import { BugError } from "../../errors/index.ts";

/**
 * Faults of memory cells and of the decoder before them, as the literature defines them (van de Goor, Testing Semiconductor
 * Memories, 1991; the definitions from memory). Memory is words of up to 8 bits; a cell is one bit: word × 8 + bit.
 */
export type CellFault =
  /** SAF: the cell holds one value always. */
  | { readonly kind: "stuck"; readonly cell: number; readonly value: 0 | 1 }
  /** TF: the cell cannot go to `to`; it may hold it at power-on. */
  | { readonly kind: "transition"; readonly cell: number; readonly to: 0 | 1 }
  /** SOF: the cell cannot be reached; a read gives what the read before gave on that bit. */
  | { readonly kind: "open"; readonly cell: number }
  /** DRF: the cell falls to `rest` when nothing wrote or read it for more than `hold` cycles of the clock. */
  | { readonly kind: "leak"; readonly cell: number; readonly rest: 0 | 1; readonly hold: number }
  /** CFin: when the aggressor goes to `edge`, the victim turns over. */
  | { readonly kind: "inversion"; readonly aggressor: number; readonly edge: 0 | 1; readonly victim: number }
  /** CFid: when the aggressor goes to `edge`, the victim becomes `value`. */
  | {
      readonly kind: "idempotent";
      readonly aggressor: number;
      readonly edge: 0 | 1;
      readonly victim: number;
      readonly value: 0 | 1;
    }
  /** CFst: while the aggressor holds `level`, the victim is `value`. */
  | {
      readonly kind: "state";
      readonly aggressor: number;
      readonly level: 0 | 1;
      readonly victim: number;
      readonly value: 0 | 1;
    }
  /** BF: two cells joined: both read as wired AND or OR of what was written to them. */
  | { readonly kind: "bridge"; readonly cells: readonly [number, number]; readonly wired: "and" | "or" }
  /**
   * AF: the bits in `bits` of the word `address` (and of `second`) are those of other words. No word at all reads as
   * `floats`; several are written together and read as wired AND or OR.
   */
  | {
      readonly kind: "decoder";
      readonly routes: readonly { readonly address: number; readonly words: readonly number[] }[];
      readonly bits: number;
      readonly wired: "and" | "or";
      readonly floats: 0 | 1;
    };

export type CellKind = CellFault["kind"];

export const cellOf = (word: number, bit: number): number => word * 8 + bit;
const wordOf = (cell: number): number => Math.floor(cell / 8);
const maskOf = (cell: number): number => 1 << (cell % 8);

/** Words whose accesses a fault changes or is changed by, lowest first. A read of any other word is as it should be. */
export function wordsOf(fault: CellFault): number[] {
  const found =
    fault.kind === "decoder"
      ? fault.routes.flatMap(({ address, words }) => [address, ...words])
      : cellsOf(fault).map(wordOf);
  return [...new Set(found)].sort((a, b) => a - b);
}

function cellsOf(fault: Exclude<CellFault, { kind: "decoder" }>): readonly number[] {
  if ("cells" in fault) return fault.cells;
  return "cell" in fault ? [fault.cell] : [fault.aggressor, fault.victim];
}

/** One faulty memory at work: reads and writes of words go through it, over the bytes that a good memory would hold. */
export interface FaultyWords {
  /** @param before what the read before this one gave, whichever word it was: an open cell needs it */
  read(word: number, clock: number, before: number): number;
  write(word: number, value: number, clock: number): void;
  /** Puts the contents right that a fault does not allow; after the memory was laid from outside. */
  settle(clock: number): void;
  /** What it remembers beside the contents of the memory: the clock of the last access that it minds, else 0. */
  fresh: number;
}

/** A fault over `memory`, where the word 0 is the byte `base`. */
export function faultyWords(fault: CellFault, memory: Uint8Array, base = 0): FaultyWords {
  const made = make(fault, memory, base);
  made.settle(0);
  return made;
}

function make(fault: CellFault, memory: Uint8Array, base: number): FaultyWords {
  const get = (word: number) => memory[base + word]!;
  const put = (word: number, value: number) => {
    memory[base + word] = value;
  };
  const bit = (cell: number) => (get(wordOf(cell)) & maskOf(cell) ? 1 : 0);
  const force = (cell: number, value: 0 | 1) => {
    const held = get(wordOf(cell));
    put(wordOf(cell), value ? held | maskOf(cell) : held & ~maskOf(cell));
  };
  /** A fault that a cell is held by: it shows at once, and after every write. */
  const held = (settle: () => void) => ({
    fresh: 0 as const,
    settle,
    read: get,
    write: (word: number, value: number) => {
      put(word, value);
      settle();
    },
  });
  switch (fault.kind) {
    case "stuck": {
      return held(() => force(fault.cell, fault.value));
    }
    case "transition":
      return {
        fresh: 0,
        settle: () => {},
        read: get,
        write: (word, value) => {
          const held = bit(fault.cell);
          put(word, value);
          if (word === wordOf(fault.cell) && held !== fault.to) force(fault.cell, held);
        },
      };
    case "open":
      return {
        fresh: 0,
        settle: () => {},
        read: (word, _, before) => {
          if (word !== wordOf(fault.cell)) return get(word);
          const mask = maskOf(fault.cell);
          return (get(word) & ~mask) | (before & mask);
        },
        write: put,
      };
    case "leak":
      return leaking(fault, put, get, force);
    case "inversion":
    case "idempotent": {
      const word = wordOf(fault.aggressor);
      return {
        fresh: 0,
        settle: () => {},
        read: get,
        // All bits of a word are written first; then the coupling acts, also where the victim is in the same word.
        write: (at, value) => {
          const held = bit(fault.aggressor);
          put(at, value);
          if (at !== word) return;
          const now = bit(fault.aggressor);
          if (now === held || now !== fault.edge) return;
          force(fault.victim, fault.kind === "idempotent" ? fault.value : bit(fault.victim) ? 0 : 1);
        },
      };
    }
    case "state": {
      return held(() => {
        if (bit(fault.aggressor) === fault.level) force(fault.victim, fault.value);
      });
    }
    case "bridge": {
      const [a, b] = fault.cells;
      return {
        fresh: 0,
        settle: () => {},
        read: (word) => {
          const held = get(word);
          const joined = fault.wired === "and" ? bit(a) & bit(b) : bit(a) | bit(b);
          const mask = (word === wordOf(a) ? maskOf(a) : 0) | (word === wordOf(b) ? maskOf(b) : 0);
          return joined ? held | mask : held & ~mask;
        },
        write: put,
      };
    }
    case "decoder":
      return routed(fault, put, get);
  }
}

function leaking(
  fault: CellFault & { kind: "leak" },
  put: (word: number, value: number) => void,
  get: (word: number) => number,
  force: (cell: number, value: 0 | 1) => void,
): FaultyWords {
  const word = wordOf(fault.cell);
  const made: FaultyWords = {
    fresh: 0,
    settle: (clock) => {
      made.fresh = clock;
    },
    read: (at, clock) => {
      if (at === word) {
        if (clock - made.fresh > fault.hold) force(fault.cell, fault.rest);
        made.fresh = clock;
      }
      return get(at);
    },
    write: (at, value, clock) => {
      put(at, value);
      if (at === word) made.fresh = clock;
    },
  };
  return made;
}

function routed(
  fault: CellFault & { kind: "decoder" },
  put: (word: number, value: number) => void,
  get: (word: number) => number,
): FaultyWords {
  const routes = new Map(fault.routes.map(({ address, words }) => [address, words]));
  const mask = fault.bits;
  if (mask < 1 || mask > 0xff) throw new BugError(`decoder fault: no bits ${mask}`);
  return {
    fresh: 0,
    settle: () => {},
    read: (word) => {
      const words = routes.get(word);
      if (!words) return get(word);
      const [first, ...others] = words;
      const there =
        first === undefined
          ? fault.floats * 0xff
          : others.reduce((so, each) => (fault.wired === "and" ? so & get(each) : so | get(each)), get(first));
      return (get(word) & ~mask) | (there & mask);
    },
    write: (word, value) => {
      const words = routes.get(word);
      if (!words) {
        put(word, value);
        return;
      }
      put(word, (value & ~mask) | (get(word) & mask));
      for (const each of words) put(each, (get(each) & ~mask) | (value & mask));
    },
  };
}
