import type { MemoryMap } from "./map.ts";
import type { Answer, Segment } from "./segments.ts";

/** Where each memory part begins with all of them end to end. */
export type Seats = ReadonlyMap<string, number>;

/** The seats of a map's parts, and how many bytes all of them make. */
export function seatsOf({ parts }: MemoryMap): { seats: Seats; bytes: number } {
  const seats = new Map<string, number>();
  let bytes = 0;
  for (const { name, kind, bytes: size } of parts)
    if (kind !== "io") {
      seats.set(name, bytes);
      bytes += size;
    }
  return { seats, bytes };
}

/** Fills memory as it may be at power-on: with bytes that follow no rule, but are the same each time. */
export function scramble(memory: Uint8Array): void {
  let seed = 0x1234_5678;
  for (let at = 0; at < memory.length; at++) {
    // xorshift32
    seed ^= seed << 13;
    seed ^= seed >>> 17;
    seed ^= seed << 5;
    memory[at] = seed;
  }
}

/** Calls `lay` with what answers a segment: once for both directions where it is the same, else for each. */
export function layBoth(
  { read, write }: Segment,
  lay: (answer: Answer | undefined, access: "read" | "write" | "both") => void,
): void {
  if (read && write && read.part === write.part && read.offset === write.offset && read.waits === write.waits)
    lay(read, "both");
  else {
    lay(read, "read");
    lay(write, "write");
  }
}
