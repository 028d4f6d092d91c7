import type { CpuName } from "../../assemble/index.ts";
import type { Segment } from "../../bytes/index.ts";
import { type Cpu, Cpu6502, Cpu6809, type CpuState, CpuZ80, type Device } from "../../cpu/index.ts";
import { BugError } from "../../errors/index.ts";
import { type MapState, type MemoryMap, segmentAt } from "../../memory/index.ts";
import type { Voice } from "../types.ts";
import { type CellFault, type FaultyWords, faultyWords, wordsOf } from "./cells.ts";
import { faultyLines, type LineFault, type Within } from "./lines.ts";
import { type MapFault, seenThrough } from "./map-faults.ts";
import { type Placed, TestSpace } from "./space.ts";

const NEW_LINE = 10;
const ENDED = /(^|\n)END \S+\r\n$/;
const LAST_LINE = 16;
/** Cycles between two looks at whether the report has ended. */
const SLICE = 1 << 16;

export const textOf = (sent: readonly number[]): string => String.fromCharCode(...sent);

/** What the simulation needs of a test program. */
export interface Runnable {
  cpu: CpuName;
  entry: number;
  segments: readonly Segment[];
  voice: Voice;
}

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

/**
 * The bench as a test program finds it: the CPU, its memory map with latches and translation, and a port that is always ready
 * and that says nothing. Memory holds bytes that follow no rule.
 */
export class TestMachine {
  readonly cpu: Cpu;
  readonly space: TestSpace;
  /** Characters that the program sent. */
  readonly sent: number[] = [];
  readonly map: MemoryMap;
  readonly program: Runnable;

  constructor(map: MemoryMap, program: Runnable) {
    this.map = map;
    this.program = program;
    this.space = new TestSpace(map, (space) => this.placed(space));
    const { bus } = this.space;
    bus.mapPorts(this.ports());
    this.cpu = program.cpu === "6809" ? new Cpu6809(bus) : program.cpu === "6502" ? new Cpu6502(bus) : new CpuZ80(bus);
    this.fill();
    this.cpu.reset();
    this.cpu.set("PC", program.entry);
    bus.clock = 0;
  }

  get memory(): Uint8Array {
    return this.space.bus.memory;
  }

  /** What the program sent, as text. */
  get said(): string {
    return textOf(this.sent);
  }

  /** Whether the report has its last line. */
  get ended(): boolean {
    return this.sent.at(-1) === NEW_LINE && ENDED.test(textOf(this.sent.slice(-LAST_LINE)));
  }

  /** Runs until the report ends; false where it has not after so many cycles, or the CPU stopped. */
  run(cycles: number): boolean {
    const { bus } = this.space;
    const last = bus.clock + cycles;
    while (!this.ended) {
      this.cpu.run(bus.clock + SLICE);
      if (this.cpu.condition !== "runs" || bus.clock > last) return this.ended;
    }
    return true;
  }

  get moment(): Moment {
    return { cpu: this.cpu.save(), clock: this.space.bus.clock, state: this.space.state };
  }

  set moment({ cpu, clock, state }: Moment) {
    this.cpu.restore(cpu);
    this.space.bus.clock = clock;
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
    const { bus } = this.space;
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

  /** Where a memory part begins among the memory's bytes. Throws BugError for a part that holds no memory. */
  seat(part: string): number {
    const seat = this.space.seats.get(part);
    if (seat === undefined) throw new BugError(`no memory ${part}`);
    return seat;
  }

  /** RAM from a seed, ROM as unprogrammed, the program over it. */
  private fill(): void {
    const { memory } = this;
    let seed = 0x1234_5678;
    for (let at = 0; at < memory.length; at++) {
      // xorshift32
      seed ^= seed << 13;
      seed ^= seed >>> 17;
      seed ^= seed << 5;
      memory[at] = seed;
    }
    for (const { name, kind, bytes } of this.map.parts)
      if (kind === "rom") memory.fill(0xff, this.seat(name), this.seat(name) + bytes);
    const view = this.map.view(this.map.powerOn);
    for (const { address, bytes } of this.program.segments)
      for (const [index, byte] of bytes.entries()) {
        const { from, read } = segmentAt(view, address + index);
        const seat = read && this.space.seats.get(read.part);
        if (!read || seat === undefined) throw new BugError(`no memory at ${address + index} for the program`);
        memory[seat + read.offset + address + index - from] = byte;
      }
  }

  /** The program's port and the latches, as they are at the numbers of Z80 ports. */
  private ports(): Device {
    const { voice } = this.program;
    return {
      read: (port) => (voice.ports && (port & 0xff) === voice.status ? voice.ready : 0xff),
      write: (port, value) => {
        if (voice.ports && (port & 0xff) === voice.data) this.sent.push(value);
        else this.space.written(port & 0xff, value, true);
      },
    };
  }

  /** The same at addresses. */
  private placed(space: TestSpace): Placed[] {
    const { voice } = this.program;
    const { latches, translation } = this.map;
    const latch: Device = {
      read: (address) => {
        const own = latches.find((each) => each.at === address && !each.port && each.readable);
        return own ? (space.seen.latches[own.name] ?? 0) : 0xff;
      },
      write: (address, value) => space.written(address, value),
    };
    const at = new Set(latches.flatMap((each) => (each.at === undefined || each.port ? [] : [each.at])));
    if (translation?.latch?.at !== undefined) at.add(translation.latch.at);
    if (translation?.at !== undefined)
      for (let entry = 0; entry < translation.logical; entry++) at.add(translation.at + entry);
    const placed: Placed[] = [...at].map((each) => ({ from: each, to: each, device: latch }));
    if (voice.ports) return placed;
    const port: Device = {
      read: (address) => (address === voice.status ? voice.ready : 0),
      write: (address, value) => {
        if (address === voice.data) this.sent.push(value);
      },
    };
    for (const each of new Set([voice.data, voice.status])) placed.push({ from: each, to: each, device: port });
    return placed;
  }
}

const shifted = (words: FaultyWords, base: number): Pick<FaultyWords, "read" | "write"> => ({
  read: (word, clock, before) => words.read(word - base, clock, before),
  write: (word, value, clock) => words.write(word - base, value, clock),
});
