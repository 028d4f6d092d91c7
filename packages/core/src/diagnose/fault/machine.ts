import type { CpuState } from "../../cpu/index.ts";
import type { MapState, MemoryMap } from "../../memory/index.ts";
import { hasEnded, LAST_LINE, type Runnable, TestMachine } from "../machine/machine.ts";
import { type CellFault, type FaultyWords, faultyWords, wordsOf } from "./cells.ts";
import { faultyLines, type LineFault, type Within } from "./lines.ts";
import { type MapFault, seenThrough } from "./map-faults.ts";

const NEW_LINE = 10;
/** Cycles between two looks at whether the report has ended. */
const SLICE = 1 << 16;

export const textOf = (sent: readonly number[]): string => String.fromCharCode(...sent);

/** One fault of a machine. `part` is a memory part of the map; words and cells are counted from its first byte. */
export type MachineFault =
  | { readonly on: "cells"; readonly part: string; readonly fault: CellFault }
  | { readonly on: "lines"; readonly part: string; readonly fault: LineFault; readonly within?: Within }
  /** The same lines of several parts at once: what drives them all. */
  | { readonly on: "all lines"; readonly parts: readonly string[]; readonly fault: LineFault }
  | { readonly on: "map"; readonly fault: MapFault };

/** A fault of memory, counted from the first byte of all memory, and the bytes that have to go through it. */
export interface Through extends Pick<FaultyWords, "read" | "write"> {
  ranges: { from: number; to: number }[];
}

/** A memory fault over all memory; `seat` says where a part begins in it. */
export function faultThrough(
  fault: Exclude<MachineFault, { on: "map" }>,
  memory: Uint8Array,
  seat: (part: string) => number,
  bytesOf: (part: string) => number,
): Through {
  if (fault.on === "cells") {
    const base = seat(fault.part);
    const words = faultyWords(fault.fault, memory, base);
    return {
      ...shifted(words, base),
      // An open cell gives what the read before gave: all reads of the part matter.
      ranges:
        fault.fault.kind === "open"
          ? [{ from: base, to: base + bytesOf(fault.part) - 1 }]
          : wordsOf(fault.fault).map((word) => ({ from: base + word, to: base + word })),
    };
  }
  const parts = (fault.on === "lines" ? [fault.part] : [...fault.parts])
    .map((name) => {
      const base = seat(name);
      const bytes = bytesOf(name);
      const words = faultyLines(fault.fault, memory, base, bytes, fault.on === "lines" ? fault.within : undefined);
      words.settle(0);
      return { base, to: base + bytes - 1, words: shifted(words, base) };
    })
    .sort((a, b) => a.base - b.base);
  const partAt = (word: number) => parts.find((each) => word >= each.base && word <= each.to)!.words;
  return {
    ranges: parts.map(({ base, to }) => ({ from: base, to })),
    read: (word, clock, before) => partAt(word).read(word, clock, before),
    write: (word, value, clock) => partAt(word).write(word, value, clock),
  };
}

/** All of a machine that a run changes, apart from its memory. */
export interface Moment {
  cpu: CpuState;
  clock: number;
  state: MapState;
}

/** A machine whose port is always ready and says nothing. ROMs are blank but for the program. */
export class FaultMachine extends TestMachine {
  /** Characters that the program sent. */
  readonly sent: number[];

  constructor(map: MemoryMap, program: Runnable) {
    const { data, status, ready, ports } = program.voice;
    const sent: number[] = [];
    super(map, program, [
      {
        at: [data, status],
        ports,
        read: (address) => (address === status ? ready : 0),
        write: (address, value) => {
          if (address === data) sent.push(value);
        },
      },
    ]);
    this.sent = sent;
    for (const { name, kind, bytes } of map.parts)
      if (kind === "rom") this.memory.fill(0xff, this.seat(name), this.seat(name) + bytes);
    this.start();
    this.bus.clock = 0;
  }

  /** What the program sent, as text. */
  get said(): string {
    return textOf(this.sent);
  }

  /** Whether the report has its last line. */
  get ended(): boolean {
    return this.sent.at(-1) === NEW_LINE && hasEnded(textOf(this.sent.slice(-LAST_LINE)));
  }

  /** Runs until the report ends; false where it has not after so many cycles, or the CPU stopped. */
  run(cycles: number): boolean {
    const { bus } = this;
    const last = bus.clock + cycles;
    while (!this.ended) {
      this.cpu.run(bus.clock + SLICE);
      if (this.cpu.condition !== "runs" || bus.clock > last) return this.ended;
    }
    return true;
  }

  get moment(): Moment {
    return { cpu: this.cpu.save(), clock: this.bus.clock, state: this.space.state };
  }

  set moment({ cpu, clock, state }: Moment) {
    this.cpu.restore(cpu);
    this.bus.clock = clock;
    this.space.state = state;
  }

  /** Puts a fault in; the contents of the memory are made such as the fault allows. */
  inject(fault: MachineFault): void {
    if (fault.on === "map") {
      this.space.distort = (state) => seenThrough(fault.fault, state);
      this.space.watch = undefined;
      return;
    }
    const made = faultThrough(
      fault,
      this.memory,
      (part) => this.seat(part),
      (part) => this.map.part(part).bytes,
    );
    const { bus } = this;
    let before = 0;
    this.space.watch = {
      ranges: made.ranges,
      read: (word) => {
        before = made.read(word, bus.clock, before);
        return before;
      },
      write: (word, value) => made.write(word, value, bus.clock),
    };
  }
}

const shifted = (words: FaultyWords, base: number): Pick<FaultyWords, "read" | "write"> => ({
  read: (word, clock, before) => words.read(word - base, clock, before),
  write: (word, value, clock) => words.write(word - base, value, clock),
});
