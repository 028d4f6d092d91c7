import type { Cpu, CpuState } from "../../cpu/index.ts";
import { BugError } from "../../errors/index.ts";
import type { MapState, MemoryMap } from "../../memory/index.ts";
import type { Runnable } from "../machine/machine.ts";
import { FaultMachine } from "./machine.ts";

/**
 * The run of a program on a good machine, written down once: every access to the memory under test, and at every so many of
 * them the registers. A fault changes nothing until a read of its own words gives another byte than here; only then does the
 * real CPU have to run, and only until its registers are again those of a run that is known.
 */

/** Accesses from one mark to the next. */
const SPACING = 64;
/** Cycles of one call of the CPU. */
const SLICE = 1 << 16;

/** Registers that a run may leave in disorder without any effect, where nothing reads them before they are written. */
const LOOSE: Readonly<Record<Cpu["name"], readonly string[]>> = {
  "6809": ["a", "b", "u"],
  "6502": ["a", "x", "y"],
  Z80: [
    ...[0, 1, 2, 3, 4, 5, 7, 8, 9, 10, 11].map((byte) => `main${byte}`),
    ...[0, 1, 2, 3, 4, 5, 7].map((byte) => `other${byte}`),
    "i",
  ],
};

/** Counters for R, which no test program reads; they differ after any detour. */
const IDLE = new Set(["fetches", "refreshAhead", "refreshTop", "flagsAt", "wz"]);

/** The accesses of the good run, in order. */
export class Log {
  count = 0;
  /** Word × 512 + 256 for a write + the byte. */
  private what = new Uint32Array(1 << 16);
  /** Clock of each. */
  private when = new Uint32Array(1 << 16);
  private starts = new Uint32Array(0);
  private order = new Uint32Array(0);

  add(word: number, write: boolean, value: number, clock: number): void {
    if (this.count === this.what.length) {
      this.what = grown(this.what);
      this.when = grown(this.when);
    }
    this.what[this.count] = word * 512 + (write ? 256 : 0) + value;
    this.when[this.count++] = clock;
  }

  at(position: number): number {
    return this.what[position]!;
  }

  clock(position: number): number {
    return this.when[position]!;
  }

  /** Sorts the accesses by word. */
  close(words: number): void {
    const starts = new Uint32Array(words + 1);
    for (let at = 0; at < this.count; at++) starts[(this.what[at]! >>> 9) + 1]!++;
    for (let word = 0; word < words; word++) starts[word + 1]! += starts[word]!;
    const next = starts.slice();
    this.order = new Uint32Array(this.count);
    for (let at = 0; at < this.count; at++) this.order[next[this.what[at]! >>> 9]!++] = at;
    this.starts = starts;
  }

  /** Positions of a word's accesses, in order; a view. */
  of(word: number): Uint32Array {
    return this.order.subarray(this.starts[word]!, this.starts[word + 1]!);
  }
}

const grown = (array: Uint32Array<ArrayBuffer>): Uint32Array<ArrayBuffer> => {
  const more = new Uint32Array(array.length * 2);
  more.set(array);
  return more;
};

/** What a walk found at its end. */
export type Stop = "mark" | "end" | "strayed";

/** Which bytes of the memory a walk is held to. */
export interface Ground {
  ranges: readonly Range[];
  /** Bytes that belong to the program as its registers do. */
  kept: readonly number[];
  /** How many of the registers may be loose. */
  loose: number;
}

/** The fault at work in a walk: its words, counted in all memory, and what reads and writes of them do. */
export interface Inside {
  words: readonly number[];
  /** First and last byte of the memory part, for what was read there before. */
  part: { from: number; to: number };
  read(word: number, clock: number, before: number): number;
  write(word: number, value: number, clock: number): void;
}

/**
 * A machine that is held to the log: every access must be the next one of it, and what a read gives comes from it, so that the
 * memory itself need not be there. Only a fault's own words are read and written for real.
 */
export class Walker {
  readonly machine: FaultMachine;
  position = 0;
  inside: Inside | undefined;
  /** What is done first to bytes that the program keeps its variables in; written from `firstsFrom` on. */
  firsts: number[] | undefined;
  private readonly firstsFrom: number;
  private readonly kept: ReadonlyMap<number, number>;
  private readonly log: Log;
  private due = SPACING;
  private strayed = false;
  private before = 0;

  constructor(map: MemoryMap, program: Runnable, log: Log, plan: Ground, record: boolean) {
    this.machine = new FaultMachine(map, program);
    this.log = log;
    this.kept = new Map(plan.kept.map((word, index) => [word, index]));
    this.firstsFrom = plan.loose;
    const { bus } = this.machine.space;
    const ranges = [...plan.ranges, ...plan.kept.map((word) => ({ from: word, to: word }))].sort(
      (a, b) => a.from - b.from,
    );
    const good = {
      read: (word: number) => {
        const value = bus.memory[word]!;
        this.note(word, false, value);
        return value;
      },
      write: (word: number, value: number) => {
        this.note(word, true, value);
        bus.memory[word] = value;
      },
    };
    const { read, write } = record
      ? good
      : { read: (word: number) => this.read(word), write: (word: number, value: number) => this.write(word, value) };
    this.machine.space.watch =
      this.kept.size === 0
        ? { ranges, read, write }
        : {
            ranges,
            read: (word) => (this.kept.has(word) ? this.readKept(word) : read(word)),
            write: (word, value) => {
              if (this.kept.has(word)) this.writeKept(word, value);
              else write(word, value);
            },
          };
  }

  private readKept(word: number): number {
    this.first(word, 1);
    return this.machine.memory[word]!;
  }

  private writeKept(word: number, value: number): void {
    this.first(word, 2);
    this.machine.memory[word] = value;
  }

  private first(word: number, what: number): void {
    const at = this.firstsFrom + this.kept.get(word)!;
    if (this.firsts && !this.firsts[at]) this.firsts[at] = what;
  }

  /** Puts the walk at a place of the log. */
  start(position: number, slot: number): void {
    this.position = position;
    this.due = (slot + 1) * SPACING;
    this.strayed = false;
    this.before = this.inside ? lastRead(this.log, position, this.inside.part) : 0;
  }

  /** Runs to the next mark, or to the end of the program. Throws BugError where it runs for longer than `cycles`. */
  walk(cycles: number): Stop {
    const { cpu, space } = this.machine;
    const last = space.bus.clock + cycles;
    while (true) {
      cpu.run(space.bus.clock + SLICE);
      if (this.strayed) return "strayed";
      if (this.position >= this.due) {
        this.due = (Math.floor(this.position / SPACING) + 1) * SPACING;
        return "mark";
      }
      if (this.machine.ended) return "end";
      if (cpu.condition !== "runs" || space.bus.clock > last) return "strayed";
    }
  }

  private note(word: number, write: boolean, value: number): void {
    const { bus } = this.machine.space;
    this.log.add(word, write, value, bus.clock);
    if (++this.position >= this.due) bus.deadline = bus.clock;
  }

  /** The next access of the log, if this one is it. */
  private next(word: number, write: boolean): number {
    const { bus } = this.machine.space;
    const known = this.position < this.log.count ? this.log.at(this.position) : 0;
    if (this.position >= this.log.count || known >>> 8 !== word * 2 + (write ? 1 : 0)) {
      this.strayed = true;
      bus.deadline = bus.clock;
    }
    if (++this.position >= this.due) bus.deadline = bus.clock;
    return known & 0xff;
  }

  private read(word: number): number {
    const known = this.next(word, false);
    const { inside } = this;
    if (!inside) return known;
    const got = inside.words.includes(word) ? inside.read(word, this.machine.space.bus.clock, this.before) : known;
    if (word >= inside.part.from && word <= inside.part.to) this.before = got;
    return got;
  }

  private write(word: number, value: number): void {
    const { bus } = this.machine.space;
    if (this.next(word, true) !== value) {
      this.strayed = true;
      bus.deadline = bus.clock;
    }
    if (this.inside?.words.includes(word)) this.inside.write(word, value, bus.clock);
  }
}

/** What the last read from a part before a position gave; 0 before the first. */
export function lastRead(log: Log, position: number, part: Range): number {
  for (let at = position - 1; at >= 0; at--) {
    const known = log.at(at);
    const word = known >>> 9;
    if (!(known & 256) && word >= part.from && word <= part.to) return known & 0xff;
  }
  return 0;
}

export interface Range {
  from: number;
  to: number;
}

/** Where a track goes on as another one. `loose`: registers that differ without effect. */
export interface Joint {
  track: Track;
  slot: number;
  loose: readonly Loose[];
}

/** A register that is not what the track says, until it is written in the slot `until`. */
export interface Loose {
  register: number;
  value: number;
  until: number;
}

const FOREVER = 2 ** 30;
const LIVE = -1;

/** A run along the log, with the registers at each mark. Slots are counted over the whole log: mark n is behind access 64 n. */
export class Track {
  readonly first: number;
  readonly clocks: number[] = [];
  readonly states: MapState[] = [];
  /** Characters sent up to each mark, and all of them. */
  readonly sentBy: number[] = [];
  sent: number[] = [];
  next: Joint | undefined;
  ended = false;
  /** Where it joins another: when, by its own clock. */
  endClock = 0;
  private readonly width: number;
  private registers: Int32Array;
  /** By mark and loose register: what came first in the slot, then the slot of its next write or LIVE. */
  private readonly firsts: number[][] = [];
  private untils: Int32Array[] = [];

  constructor(first: number, width: number) {
    this.first = first;
    this.width = width;
    this.registers = new Int32Array(width * 16);
  }

  get marks(): number {
    return this.clocks.length;
  }

  add(registers: readonly number[], clock: number, state: MapState, sent: number): void {
    const at = this.marks * this.width;
    if (at === this.registers.length) {
      const more = new Int32Array(this.registers.length * 2);
      more.set(this.registers);
      this.registers = more;
    }
    this.registers.set(registers, at);
    this.clocks.push(clock);
    this.states.push(state);
    this.sentBy.push(sent);
  }

  /** What was done first to each loose register since the mark before: 0 nothing, 1 read, 2 written. */
  noteFirsts(firsts: readonly number[]): void {
    this.firsts.push([...firsts]);
  }

  register(slot: number, register: number): number {
    return this.registers[(slot - this.first) * this.width + register]!;
  }

  holds(slot: number): boolean {
    return slot >= this.first && slot < this.first + this.marks;
  }

  /** Slot in which a loose register is next written, or LIVE. */
  until(slot: number, loose: number): number {
    return this.untils[loose]![slot - this.first]!;
  }

  close(loose: number): void {
    this.untils = Array.from({ length: loose }, (_, register) => {
      const untils = new Int32Array(this.marks);
      let later = this.ended ? FOREVER : this.next ? this.next.track.until(this.next.slot, register) : LIVE;
      for (let mark = this.marks - 1; mark >= 0; mark--) {
        const first = this.firsts[mark]?.[register] ?? 0;
        if (first === 1) later = LIVE;
        else if (first === 2) later = this.first + mark;
        untils[mark] = later;
      }
      return untils;
    });
    this.firsts.length = 0;
  }
}

/** Notes what is done first to some registers of a CPU from one mark to the next: 0 nothing yet, 1 read, 2 written. */
export class Spy {
  readonly firsts: number[];
  /** Where a Z80's exchanges have put what was in each register; by the register that it is in now. */
  private readonly moved = new Map<number, number>();

  /** `more`: entries behind the registers', which others write. */
  constructor(cpu: Cpu, names: readonly string[], more: number) {
    this.firsts = [...names, ...Array.from({ length: more })].map(() => 0);
    const fields = cpu as unknown as Record<string, unknown>;
    const sets = { bytes: "main", others: "other" } as const;
    const plain: Record<string, Record<string, number>> = {};
    for (const [field, set] of Object.entries(sets))
      if (names.some((name) => name.startsWith(set))) {
        plain[field] = { ...(fields[field] as Record<string, number>) };
        fields[field] = plain[field];
      }
    for (const [index, name] of names.entries()) {
      const [field] = Object.entries(sets).find(([, set]) => name.startsWith(set)) ?? [];
      const target = field === undefined ? (fields as Record<string, number>) : plain[field]!;
      const key = field === undefined ? name : name.replace(/^\D+/, "");
      let value = target[key]!;
      Object.defineProperty(target, key, {
        get: () => {
          this.note(index, 1);
          return value;
        },
        set: (next: number) => {
          this.note(index, 2);
          value = field === undefined ? next : next & 0xff;
        },
      });
    }
    if (plain.bytes && plain.others) this.followSwaps(fields, names);
  }

  /** An exchange of the sets is neither a read nor a write: what is in them goes on, elsewhere. */
  private followSwaps(fields: Record<string, unknown>, names: readonly string[]): void {
    const swap = fields.swap as (first: number, end: number) => void;
    fields.swap = (first: number, end: number) => {
      const held = [...this.firsts];
      swap.call(fields, first, end);
      for (const [index, each] of held.entries()) this.firsts[index] = each;
      for (let byte = first; byte < end; byte++) {
        const [one, two] = [names.indexOf(`main${byte}`), names.indexOf(`other${byte}`)];
        if (one < 0 || two < 0) continue;
        const [first1, second] = [this.moved.get(one) ?? one, this.moved.get(two) ?? two];
        this.moved.set(one, second).set(two, first1);
      }
    };
  }

  private note(register: number, what: number): void {
    const at = this.moved.size === 0 ? register : (this.moved.get(register) ?? register);
    if (this.firsts[at] === 0) this.firsts[at] = what;
  }

  /** What was done since the mark before. What an exchange has left in another register counts as read. */
  taken(): number[] {
    return this.firsts.map((first, register) =>
      [...this.moved].some(([now, was]) => was === register && now !== was) ? 1 : first,
    );
  }

  clear(): void {
    this.firsts.fill(0);
    this.moved.clear();
  }

  /** Does something whose reads and writes do not count. */
  unseen<T>(what: () => T): T {
    const held = [...this.firsts];
    const result = what();
    for (const [index, each] of held.entries()) this.firsts[index] = each;
    return result;
  }
}

/** Names of what a CPU's state holds that has to agree, and which of them may be loose. */
export function stateNames(cpu: Cpu): { names: string[]; loose: number[] } {
  const names = Object.keys(cpu.save()).filter((name) => !IDLE.has(name));
  const loose = LOOSE[cpu.name].map((name) => {
    const at = names.indexOf(name);
    if (at < 0) throw new BugError(`${cpu.name}: no register ${name}`);
    return at;
  });
  return { names, loose };
}

export const stateOf = (names: readonly string[], registers: readonly number[], rest: CpuState): CpuState => ({
  ...rest,
  ...Object.fromEntries(names.map((name, index) => [name, registers[index]!])),
});
