/**
 * A part of the machine that does things by itself. Times are cycles of the CPU since power-on; they may lie between two.
 * Everything that changes is in `state`, a plain object, so that a moment can be kept and returned to.
 */
export interface Unit {
  state: object;
  /** When it does something by itself next; Infinity where only a program or another unit can make it. */
  readonly next: number;
  /** Does all that is due up to `now`. After that `next` lies behind `now`. */
  advance(now: number): void;
  /** Whether it asks the CPU for an interrupt. */
  readonly asks: boolean;
  /** The byte it puts on the bus when a Z80 takes its interrupt; it then no longer asks. Undefined where it gives none. */
  vector?(): number | undefined;
}

/** What a unit sees of the CPU's side. */
export interface Host {
  readonly hertz: number;
  /** Cycles since power-on. */
  now(): number;
  /** To be called when `next` or `asks` may have changed during an access by the CPU. */
  changed(): void;
}

/** A deep copy of plain objects, arrays and typed arrays. */
export function copyOf<T>(value: T): T {
  if (typeof value !== "object" || value === null) return value;
  if (ArrayBuffer.isView(value)) return (value as unknown as Uint8Array).slice() as unknown as T;
  if (Array.isArray(value)) return value.map(copyOf) as unknown as T;
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, copyOf(each)])) as T;
}

/** Puts a copy of what was kept back into the object that a unit works on. Both have the same shape. */
export function restoreInto(target: object, kept: object): void {
  const into = target as Record<string, unknown>;
  for (const [key, value] of Object.entries(kept)) {
    const there = into[key];
    if (ArrayBuffer.isView(value)) (there as Uint8Array).set(value as unknown as Uint8Array);
    else if (Array.isArray(value) && Array.isArray(there)) there.splice(0, there.length, ...value.map(copyOf));
    else if (typeof value === "object" && value !== null && typeof there === "object" && there !== null)
      restoreInto(there, value);
    else into[key] = copyOf(value);
  }
}
