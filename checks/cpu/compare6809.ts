import { Cpu6809, PagedBus } from "@rouse/core/cpu";
import { Plain6809, Undefined6809 } from "./plain6809.ts";
import { Random } from "./random.ts";

const REGISTERS = ["A", "B", "X", "Y", "U", "S", "PC", "DP", "CC"] as const;
const BYTES: readonly string[] = ["A", "B", "DP", "CC"];

export interface Compared {
  /** Defined instructions that both ran. */
  ran: number;
  /** Undefined opcodes and postbytes that both refused. */
  refused: number;
  /** Opcodes that were run, prefix included. */
  opcodes: ReadonlySet<number>;
  /** The first differences, as sentences. */
  differences: readonly string[];
}

/** Runs the fast and the plain 6809 side by side on random bytes, in chains of a few instructions from random states. */
export function compare6809(count: number, seed: number): Compared {
  const random = new Random(seed);
  const mine = new Uint8Array(0x10000);
  random.fill(mine);
  const theirs = mine.slice();
  const bus = new PagedBus(mine);
  bus.mapMemory(0, 0xffff, 0);
  const fast = new Cpu6809(bus);
  const plain = new Plain6809(theirs);
  const opcodes = new Set<number>();
  const differences: string[] = [];
  let refused = 0;
  let ran = 0;

  const scatter = () => {
    fast.reset();
    plain.waiting = "no";
    for (const name of REGISTERS) {
      const value = BYTES.includes(name) ? random.byte() : random.word();
      fast.set(name, value);
      plain[name] = value;
    }
    // Random bytes rarely begin with a prefix, and then mostly an undefined one.
    if (random.below(5) > 0) return;
    const next = [0x10 + random.below(2), 0x20 + random.below(0xe0)];
    next.forEach((byte, i) => {
      mine[(fast.pc + i) & 0xffff] = theirs[(fast.pc + i) & 0xffff] = byte;
    });
  };

  scatter();
  while (ran < count && differences.length < 20) {
    if (random.below(4) === 0) scatter();
    const at = plain.PC;
    const bytes = [0, 1, 2, 3, 4].map((i) => theirs[(at + i) & 0xffff]!);
    let cycles: number;
    try {
      cycles = plain.step();
    } catch (error) {
      if (!(error instanceof Undefined6809)) throw error;
      fast.step();
      if (fast.condition !== "stopped" || fast.pc !== at) differences.push(`${hex(bytes)}: ran, but is undefined`);
      refused++;
      scatter();
      continue;
    }
    const took = fast.step();
    ran++;
    opcodes.add(bytes[0] === 0x10 || bytes[0] === 0x11 ? bytes[0] * 256 + bytes[1]! : bytes[0]!);
    const wrong = REGISTERS.filter((name) => fast.get(name) !== plain[name]);
    const waits = fast.condition === "waits";
    if (wrong.length > 0 || took !== cycles || waits !== (plain.waiting !== "no"))
      differences.push(
        `${hex(bytes)}: ${took} and ${cycles} cycles; ${wrong
          .map((name) => `${name} ${fast.get(name).toString(16)} and ${plain[name].toString(16)}`)
          .join(", ")}`,
      );
    if (Buffer.compare(mine, theirs) !== 0) {
      differences.push(`${hex(bytes)}: the memories differ`);
      mine.set(theirs);
    }
    if (waits || wrong.length > 0) scatter();
  }
  return { ran, refused, opcodes, differences };
}

const hex = (bytes: readonly number[]): string => bytes.map((byte) => byte.toString(16).padStart(2, "0")).join(" ");
