import type { Pty, Ptys } from "./pty.ts";

/** How often each fault strikes a byte. */
export interface Faults {
  drop?: number;
  double?: number;
  flip?: number;
  /** Ms of silence after a byte, during which all that comes waits. */
  stall?: { chance: number; ms: number };
}

/** Numbers in [0, 1) from a seed: a counter, its bits mixed by two rounds of shift and multiply (from memory). */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
    mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
    return ((mixed ^ (mixed >>> 15)) >>> 0) / 2 ** 32;
  };
}

/** What the faults make of a chunk. */
function spoil(bytes: Uint8Array, faults: Faults, random: () => number): Uint8Array {
  const out: number[] = [];
  for (const byte of bytes) {
    if (random() < (faults.drop ?? 0)) continue;
    const there = random() < (faults.flip ?? 0) ? byte ^ (1 << Math.floor(random() * 8)) : byte;
    out.push(there);
    if (random() < (faults.double ?? 0)) out.push(there);
  }
  return Uint8Array.from(out);
}

/** Two ptys joined by a line with faults in both directions. */
export async function faultyLine(ptys: Ptys, faults: Faults, seed: number): Promise<[Pty, Pty]> {
  const random = seeded(seed);
  const ends: Pty[] = [];
  const way = (to: number) => {
    let free: Promise<void> = Promise.resolve();
    return (bytes: Uint8Array) => {
      const there = spoil(bytes, faults, random);
      const stall = faults.stall && random() < 1 - (1 - faults.stall.chance) ** bytes.length ? faults.stall.ms : 0;
      free = free.then(async () => {
        if (stall > 0) await new Promise((resolve) => setTimeout(resolve, stall));
        ends[to]?.send(there);
      });
    };
  };
  ends.push(await ptys.open("near", way(1)), await ptys.open("far", way(0)));
  return [ends[0]!, ends[1]!];
}
