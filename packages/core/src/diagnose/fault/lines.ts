import type { FaultyWords } from "./cells.ts";

/**
 * Faults of a whole memory part or of one of its chips: pins, traces and what drives them. Words are bytes of the part from 0;
 * `bits` is a mask over the byte: those of the chip, or all for what serves every chip of the part.
 */
export type LineFault =
  /** A data line, pin or output that gives one value always; what is written is kept behind it and never seen. */
  | { readonly kind: "data"; readonly bits: number; readonly value: 0 | 1 }
  /** Two data lines joined, for reads and for writes. */
  | { readonly kind: "data-short"; readonly lines: readonly [number, number]; readonly wired: "and" | "or" }
  /** Address bits of the word that are always `value`: two where one pin carries row and column. */
  | { readonly kind: "address"; readonly lines: readonly number[]; readonly value: 0 | 1; readonly bits: number }
  /** Pairs of address bits joined. */
  | {
      readonly kind: "address-short";
      readonly pairs: readonly (readonly [number, number])[];
      readonly wired: "and" | "or";
      readonly bits: number;
    }
  /** Words that never answer: a select that is dead. Reads give `floats`. */
  | { readonly kind: "select"; readonly from: number; readonly to: number; readonly floats: number }
  /** Writes never arrive: a write line that is open. */
  | { readonly kind: "no-write"; readonly bits: number }
  /** The output is late when it has to go to `edge`: then the CPU still reads what the read before gave. */
  | { readonly kind: "slow"; readonly bits: number; readonly edge: 0 | 1 }
  /**
   * Nothing refreshes: the cells of a row fall to what they are without charge when no access came to the row for more than
   * `hold` cycles. Rows are the low bits of the word; every other row rests at 1.
   */
  | { readonly kind: "refresh"; readonly bits: number; readonly rows: number; readonly hold: number };

/** A line fault of one row of a part's chips; the words outside it are as they should be. */
export interface Within {
  readonly from: number;
  readonly to: number;
}

/**
 * A line fault over the bytes of a part that begin at `base` of `memory`, or over the row `within` of it. Words of `read` and
 * `write` are counted from the part's first byte.
 */
export function faultyLines(
  fault: LineFault,
  memory: Uint8Array,
  base: number,
  bytes: number,
  within: Within = { from: 0, to: bytes - 1 },
): FaultyWords {
  const { from, to } = within;
  const made = overWords(fault, memory, base + from, to - from + 1);
  if (from === 0 && to === bytes - 1) return made;
  const inside = (word: number) => word >= from && word <= to;
  return {
    fresh: 0,
    settle: (clock) => made.settle(clock),
    read: (word, clock, before) => (inside(word) ? made.read(word - from, clock, before) : memory[base + word]!),
    write: (word, value, clock) => {
      if (inside(word)) made.write(word - from, value, clock);
      else memory[base + word] = value;
    },
  };
}

function overWords(fault: LineFault, memory: Uint8Array, base: number, bytes: number): FaultyWords {
  const get = (word: number) => memory[base + word]!;
  const put = (word: number, value: number) => {
    memory[base + word] = value;
  };
  const settle = () => {};
  const stateless = (read: FaultyWords["read"], write: FaultyWords["write"]): FaultyWords => ({
    fresh: 0,
    read,
    write,
    settle,
  });
  switch (fault.kind) {
    case "data":
      return stateless((word) => (fault.value ? get(word) | fault.bits : get(word) & ~fault.bits), put);
    case "data-short": {
      const [a, b] = fault.lines;
      const both = (1 << a) | (1 << b);
      const join = (value: number) => {
        const high = fault.wired === "and" ? (value & both) === both : (value & both) !== 0;
        return high ? value | both : value & ~both;
      };
      return stateless(
        (word) => join(get(word)),
        (word, value) => put(word, join(value)),
      );
    }
    case "address":
    case "address-short": {
      const moved = movedBy(fault, bytes);
      const { bits } = fault;
      // A word beyond the part's end is a cell of the chip that no region shows: it holds what is written, apart.
      const beyond = new Map<number, number>();
      const held = (word: number) => (word < bytes ? get(word) : (beyond.get(word) ?? 0));
      return stateless(
        (word) => (get(word) & ~bits) | (held(moved(word)) & bits),
        (word, value) => {
          put(word, (get(word) & bits) | (value & ~bits));
          const other = moved(word);
          const after = (held(other) & ~bits) | (value & bits);
          if (other < bytes) put(other, after);
          else beyond.set(other, after);
        },
      );
    }
    case "select": {
      const dead = (word: number) => word >= fault.from && word <= fault.to;
      return stateless(
        (word) => (dead(word) ? fault.floats : get(word)),
        (word, value) => {
          if (!dead(word)) put(word, value);
        },
      );
    }
    case "no-write":
      return stateless(get, (word, value) => put(word, (get(word) & fault.bits) | (value & ~fault.bits)));
    case "slow": {
      let last = 0;
      return stateless((word) => {
        const held = get(word);
        const late = (fault.edge ? held & ~last : ~held & last) & fault.bits;
        last = held;
        return held ^ late;
      }, put);
    }
    case "refresh":
      return unrefreshed(fault, memory, base, bytes);
  }
}

function movedBy(fault: LineFault & { kind: "address" | "address-short" }, bytes: number): (word: number) => number {
  // Lines above the part's own would lead to another part; they are left out.
  const size = 2 ** Math.ceil(Math.log2(bytes));
  if (fault.kind === "address") {
    const mask = fault.lines.reduce((sum, line) => sum | (2 ** line < size ? 1 << line : 0), 0);
    return (word) => (fault.value ? word | mask : word & ~mask);
  }
  const pairs = fault.pairs
    .filter((pair) => pair.every((line) => 2 ** line < size))
    .map(([a, b]) => (1 << a) | (1 << b));
  return (word) =>
    pairs.reduce((so, both) => {
      const high = fault.wired === "and" ? (so & both) === both : (so & both) !== 0;
      return high ? so | both : so & ~both;
    }, word);
}

function unrefreshed(
  { bits, rows, hold }: LineFault & { kind: "refresh" },
  memory: Uint8Array,
  base: number,
  bytes: number,
): FaultyWords {
  const fresh = new Float64Array(rows);
  /** An access to a row charges all its cells again, as they are by then. */
  const charge = (word: number, clock: number) => {
    const row = word % rows;
    if (clock - fresh[row]! > hold)
      for (let each = row; each < bytes; each += rows)
        memory[base + each] = row & 1 ? memory[base + each]! | bits : memory[base + each]! & ~bits;
    fresh[row] = clock;
  };
  return {
    fresh: 0,
    settle: (clock) => {
      fresh.fill(clock);
    },
    read: (word, clock) => {
      charge(word, clock);
      return memory[base + word]!;
    },
    write: (word, value, clock) => {
      charge(word, clock);
      memory[base + word] = value;
    },
  };
}
