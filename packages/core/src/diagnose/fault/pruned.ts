import type { CpuState } from "../../cpu/index.ts";
import { BugError } from "../../errors/index.ts";
import type { MapState, MemoryMap } from "../../memory/index.ts";
import type { Runnable } from "../machine/machine.ts";
import { type CellFault, type FaultyWords, faultyWords, wordsOf } from "./cells.ts";
import { FaultMachine, type MachineFault, textOf } from "./machine.ts";
import {
  type Ground,
  type Inside,
  type Joint,
  Log,
  type Loose,
  lastRead,
  type Range,
  Spy,
  stateNames,
  stateOf,
  Track,
  Walker,
} from "./trace.ts";

/** Bytes of a memory part that the program itself uses; `variable` where it writes them. */
export interface KeptBytes {
  part: string;
  from: number;
  to: number;
  variable: boolean;
}

/** What a program printed with a fault in the machine. */
export interface Outcome {
  report: string;
  /** False where the report never came to its end. */
  ended: boolean;
}

/** How the outcomes were worked out. */
export interface Effort {
  /** Faults whose words were only looked up; those for which the CPU ran in places; those run from start to end. */
  lookedUp: number;
  resumed: number;
  plain: number;
  /** Times that the CPU was set going in the middle, and tracks that are known. */
  detours: number;
  tracks: number;
}

/** Marks after a detour at which a known track is looked for before a new one is made. */
const PATIENCE = 3;
/** Marks that all tracks may have together, beside the first one's. */
const MOST_MARKS = 4_000_000;
/** A faulty run may take so many times the good one's cycles before it counts as lost. */
const LONGER = 4;

/** One run a fault, from the start to the end: the reference. */
export function runPlainly(
  map: MemoryMap,
  program: Runnable,
  fault: MachineFault | undefined,
  cycles: number,
): Outcome {
  const machine = new FaultMachine(map, program);
  if (fault) machine.inject(fault);
  const ended = machine.run(cycles);
  return { report: machine.said, ended };
}

/**
 * Fault simulation of one test program on one bench. The good run is done once; `simulate` then gives for each fault what a run
 * of its own would print. Faults of cells cost a look at their words' accesses and a short run of the CPU at each finding;
 * others are run plainly.
 */
export class FaultSimulator {
  readonly map: MemoryMap;
  readonly program: Runnable;
  /** The good run's. */
  readonly report: string;
  readonly cycles: number;
  readonly effort: Effort = { lookedUp: 0, resumed: 0, plain: 0, detours: 0, tracks: 1 };
  private readonly log = new Log();
  private readonly positions: number[] = [];
  private readonly tracks: Track[] = [];
  private readonly names: readonly string[];
  private readonly loose: readonly number[];
  private readonly ground: Ground;
  private readonly keptIn: ReadonlySet<string>;
  private readonly recorder: Walker;
  private readonly spy: Spy;
  private readonly detour: Walker;
  /** The fault's own words during a look-up; of all memory, so that words need no translation. */
  private readonly scratch: Uint8Array;
  private readonly start: Uint8Array;
  private readonly states = new Map<string, MapState>();
  private readonly known = new WeakMap<MapState, MapState>();
  private marks = 0;

  /**
   * @param kept bytes of memory parts that the program itself uses: it lies there, or keeps its few variables there. A fault of
   *   them is run plainly.
   * @param most cycles after which the good run counts as lost
   */
  constructor(map: MemoryMap, program: Runnable, kept: readonly KeptBytes[] = [], most = 2 ** 31) {
    this.map = map;
    this.program = program;
    const fresh = new FaultMachine(map, program);
    this.start = fresh.memory;
    this.scratch = this.start.slice();
    const left = kept.map(({ part, from, to, variable }) => ({
      from: fresh.seat(part) + from,
      to: fresh.seat(part) + to,
      variable,
    }));
    this.keptIn = new Set(kept.map(({ part }) => part));
    const { names, loose } = stateNames(fresh.cpu);
    const variables = [
      ...new Set(
        left.flatMap(({ from, to, variable }) =>
          variable ? Array.from({ length: to - from + 1 }, (_, index) => from + index) : [],
        ),
      ),
    ];
    this.names = names;
    this.loose = [...loose, ...variables.map((_, index) => names.length + index)];
    this.ground = {
      kept: variables,
      loose: loose.length,
      ranges: without(
        map.parts
          .filter(({ kind }) => kind !== "io" && kind !== "rom")
          .map(({ name, bytes }) => ({ from: fresh.seat(name), to: fresh.seat(name) + bytes - 1 })),
        left,
      ),
    };
    const good = this.record(most);
    this.report = good.report;
    this.cycles = good.cycles;
    this.recorder = new Walker(map, program, this.log, this.ground, false);
    this.spy = this.spied(this.recorder);
    this.detour = new Walker(map, program, this.log, this.ground, false);
  }

  /** What the program prints with a fault; the same as a run of its own gives. */
  simulate(fault: MachineFault): Outcome {
    // An open cell gives what was read before in its part, also from bytes that no log has.
    const unlogged = fault.on === "cells" && fault.fault.kind === "open" && this.keptIn.has(fault.part);
    if (fault.on === "cells" && !unlogged) {
      const outcome = this.look(fault.part, fault.fault);
      if (outcome) return outcome;
    }
    return this.plainly(fault);
  }

  /** The reference: one run from start to end. */
  plainly(fault: MachineFault): Outcome {
    this.effort.plain++;
    return runPlainly(this.map, this.program, fault, this.cycles * LONGER);
  }

  private record(most: number): { report: string; cycles: number } {
    const walker = new Walker(this.map, this.program, this.log, this.ground, true);
    const { machine } = walker;
    const spy = this.spied(walker);
    const track = new Track(0, this.width);
    this.tracks.push(track);
    walker.start(0, 0);
    let stop: string = "mark";
    while (stop === "mark") {
      this.positions.push(walker.position);
      this.mark(track, walker, spy);
      stop = walker.walk(most - machine.space.bus.clock);
    }
    if (stop !== "end")
      throw new BugError(`the program did not end within ${most} cycles: “${machine.said.slice(-60)}”`);
    track.noteFirsts(spy.taken());
    track.sent = machine.sent;
    track.ended = true;
    track.close(this.loose.length);
    this.log.close(this.start.length);
    this.marks = 0;
    return { report: machine.said, cycles: machine.space.bus.clock };
  }

  /** What a walk holds: registers, then the program's variables. */
  private get width(): number {
    return this.names.length + this.ground.kept.length;
  }

  private spied(walker: Walker): Spy {
    const { loose, kept } = this.ground;
    const registers = this.loose.slice(0, loose).map((each) => this.names[each]!);
    const spy = new Spy(walker.machine.cpu, registers, kept.length);
    walker.firsts = spy.firsts;
    return spy;
  }

  private held({ machine }: Walker, cpu: CpuState): number[] {
    return [...this.names.map((name) => cpu[name]!), ...this.ground.kept.map((word) => machine.memory[word]!)];
  }

  /** Writes down where a walk is. */
  private mark(track: Track, walker: Walker, spy: Spy): void {
    if (track.marks > 0) track.noteFirsts(spy.taken());
    const { cpu, clock, state } = walker.machine.moment;
    track.add(this.held(walker, cpu), clock, this.interned(state), walker.machine.sent.length);
    this.marks++;
    spy.clear();
  }

  /** The same object for the same state, so that states are told apart by identity. */
  private interned(state: MapState): MapState {
    const known = this.known.get(state);
    if (known) return known;
    const key = JSON.stringify(state);
    const kept = this.states.get(key) ?? state;
    this.states.set(key, kept);
    this.known.set(state, kept);
    return kept;
  }

  private look(part: string, fault: CellFault): Outcome | undefined {
    const path = new Path(this, part, fault);
    return path.follow();
  }

  // What follows is for a path.

  /** A fault's words in all memory, as they are at power-on; undefined where the program itself is hit. */
  enter(part: string, fault: CellFault): { inside: Inside; model: FaultyWords; lists: Uint32Array[] } | undefined {
    const base = this.detour.machine.seat(part);
    const words = wordsOf(fault).map((word) => base + word);
    if (!words.every((word) => this.ground.ranges.some(({ from, to }) => word >= from && word <= to))) return undefined;
    for (const word of words) this.scratch[word] = this.start[word]!;
    const model = faultyWords(fault, this.scratch, base);
    return {
      model,
      lists: words.map((word) => this.log.of(word)),
      inside: {
        words,
        part: { from: base, to: base + this.map.part(part).bytes - 1 },
        read: (word, clock, before) => model.read(word - base, clock, before),
        write: (word, value, clock) => model.write(word - base, value, clock),
      },
    };
  }

  get good(): Track {
    return this.tracks[0]!;
  }

  /** The slot that a position of the log lies in. */
  slotOf(position: number): number {
    let slot = Math.min(Math.floor(position / 64), this.positions.length - 1);
    while (this.positions[slot]! > position) slot--;
    return slot;
  }

  positionOf(slot: number): number {
    return this.positions[slot]!;
  }

  access(position: number): { word: number; write: boolean; value: number } {
    const known = this.log.at(position);
    return { word: known >>> 9, write: (known & 256) !== 0, value: known & 0xff };
  }

  before(position: number, part: Range): number {
    return lastRead(this.log, position, part);
  }

  /** Clock of an access on a track; undefined where the track did something else in that slot, so that it is not known. */
  clockOn(track: Track, position: number, slot: number): number | undefined {
    const { good } = this;
    const start = track.clocks[slot - track.first]!;
    const shift = start - good.clocks[slot]!;
    const ends = track.clocks[slot + 1 - track.first];
    if (track !== good && (ends === undefined || ends - good.clocks[slot + 1]! !== shift)) return undefined;
    return this.log.clock(position) + shift;
  }

  contents(words: readonly number[]): number[] {
    return words.map((word) => this.scratch[word]!);
  }

  refill(words: readonly number[], contents: readonly number[]): void {
    for (const [index, word] of words.entries()) this.scratch[word] = contents[index]!;
  }

  /** Lets the CPU run from a mark on, with a fault at work, until it is on a known track or has ended. */
  leave(
    track: Track,
    slot: number,
    loose: readonly Loose[],
    shift: number,
    inside: Inside,
  ): { sent: number[]; joint?: Joint; shift: number; ended: boolean } | undefined {
    this.effort.detours++;
    const walker = this.detour;
    walker.inside = inside;
    this.place(walker, track, slot, loose, shift);
    const { machine } = walker;
    for (let marks = 1; ; marks++) {
      const stop = walker.walk(this.cycles * LONGER);
      if (stop === "strayed") return undefined;
      if (stop === "end") return { sent: [...machine.sent], shift: 0, ended: true };
      const at = this.slotOf(walker.position);
      // A mark that lies elsewhere than the log's is no mark of this log: an instruction made two accesses where one was.
      if (this.positions[at] !== walker.position) return undefined;
      let joint = this.join(walker, at);
      if (!joint && marks >= PATIENCE) joint = this.branch(walker, at);
      if (joint) {
        const joined = joint.track.clocks[joint.slot - joint.track.first]!;
        return { sent: [...machine.sent], joint, shift: machine.space.bus.clock - joined, ended: false };
      }
    }
  }

  private place(walker: Walker, track: Track, slot: number, loose: readonly Loose[], shift: number): void {
    const { machine } = walker;
    const registers = Array.from({ length: this.width }, (_, register) => track.register(slot, register));
    for (const { register, value, until } of loose) if (until >= slot) registers[register] = value;
    const mark = slot - track.first;
    machine.moment = {
      cpu: stateOf(this.names, registers, machine.cpu.save()),
      clock: track.clocks[mark]! + shift,
      state: track.states[mark]!,
    };
    for (const [index, word] of this.ground.kept.entries())
      machine.memory[word] = registers[this.names.length + index]!;
    machine.sent.length = 0;
    walker.start(this.positions[slot]!, slot);
  }

  /** A known track whose registers at a mark are those of a walk, but for some that have no effect. */
  private join(walker: Walker, slot: number): Joint | undefined {
    const { cpu, state } = walker.machine.moment;
    const known = this.interned(state);
    const held = this.held(walker, cpu);
    for (const track of this.tracks) {
      if (!track.holds(slot) || track.states[slot - track.first] !== known) continue;
      const loose: Loose[] = [];
      const fits = held.every((value, register) => {
        if (value === track.register(slot, register)) return true;
        const may = this.loose.indexOf(register);
        const until = may < 0 ? -1 : track.until(slot, may);
        if (until < slot) return false;
        loose.push({ register, value, until });
        return true;
      });
      if (fits) return { track, slot, loose };
    }
    return undefined;
  }

  /** A new track from where a walk is, without a fault, until it meets a known one. */
  private branch(from: Walker, slot: number): Joint | undefined {
    if (this.marks > MOST_MARKS) return undefined;
    const walker = this.recorder;
    const { machine } = walker;
    const track = new Track(slot, this.width);
    machine.moment = from.machine.moment;
    for (const word of this.ground.kept) machine.memory[word] = from.machine.memory[word]!;
    machine.sent.length = 0;
    this.spy.clear();
    walker.start(from.position, slot);
    this.mark(track, walker, this.spy);
    while (true) {
      const stop = walker.walk(this.cycles * LONGER);
      if (stop === "strayed") return undefined;
      if (stop === "end") {
        track.ended = true;
        break;
      }
      if (this.positions[this.slotOf(walker.position)] !== walker.position) return undefined;
      const at = this.slotOf(walker.position);
      // Looking at the registers is not the program's reading them.
      const joint = this.spy.unseen(() => this.join(walker, at));
      if (joint) {
        track.next = joint;
        track.endClock = machine.space.bus.clock;
        break;
      }
      this.mark(track, walker, this.spy);
    }
    track.noteFirsts(this.spy.taken());
    track.sent = [...machine.sent];
    track.close(this.loose.length);
    this.tracks.push(track);
    this.effort.tracks++;
    return { track, slot, loose: [] };
  }
}

/** One fault's way through the log. */
class Path {
  private readonly simulator: FaultSimulator;
  private readonly part: string;
  private readonly fault: CellFault;
  private track: Track;
  private slot = 0;
  private loose: readonly Loose[] = [];
  /** How much later than on the track everything is. */
  private shift = 0;
  private readonly sent: number[] = [];
  private detours = 0;

  constructor(simulator: FaultSimulator, part: string, fault: CellFault) {
    this.simulator = simulator;
    this.part = part;
    this.fault = fault;
    this.track = simulator.good;
  }

  /** Undefined where only a run of its own can say. */
  follow(): Outcome | undefined {
    const { simulator } = this;
    const entered = simulator.enter(this.part, this.fault);
    if (!entered) return undefined;
    const { inside, model, lists } = entered;
    const next = lists.map(() => 0);
    const timed = this.fault.kind === "leak";
    const open = this.fault.kind === "open";
    let marked = -1;
    let contents: number[] = [];
    let fresh = 0;
    /** The last access of the fault's own part that was read here, and what it gave. */
    let own = { position: -1, value: 0 };
    while (true) {
      const list = earliest(lists, next);
      if (list < 0) break;
      const position = lists[list]![next[list]!]!;
      const slot = simulator.slotOf(position);
      this.advance(slot);
      if (marked !== slot) {
        marked = slot;
        contents = simulator.contents(inside.words);
        fresh = model.fresh;
      }
      const clock = timed ? simulator.clockOn(this.track, position, slot) : 0;
      const { word, write, value } = simulator.access(position);
      let fits = clock !== undefined;
      if (fits && write) inside.write(word, value, clock! + this.shift);
      else if (fits) {
        const before = open ? this.beforeOf(position, inside.part, own) : 0;
        const got = inside.read(word, clock! + this.shift, before);
        own = { position, value: got };
        fits = got === value;
      }
      if (fits) {
        next[list]!++;
        continue;
      }
      simulator.refill(inside.words, contents);
      model.fresh = fresh;
      this.detours++;
      const left = simulator.leave(this.track, slot, this.loose, this.shift, inside);
      if (!left) return undefined;
      this.tell(slot);
      this.sent.push(...left.sent);
      if (left.ended) return this.outcome();
      this.track = left.joint!.track;
      this.slot = left.joint!.slot;
      this.loose = left.joint!.loose;
      this.shift = left.shift;
      marked = -1;
      const reached = simulator.positionOf(this.slot);
      for (const [index, each] of lists.entries())
        while (next[index]! < each.length && each[next[index]!]! < reached) next[index]!++;
    }
    while (this.track.next) this.advance(this.track.first + this.track.marks);
    if (!this.track.ended) return undefined;
    this.sent.push(...this.track.sent.slice(this.track.sentBy[this.slot - this.track.first]!));
    return this.outcome();
  }

  private outcome(): Outcome {
    if (this.detours > 0) this.simulator.effort.resumed++;
    else this.simulator.effort.lookedUp++;
    return { report: textOf(this.sent), ended: true };
  }

  private beforeOf(position: number, part: Range, own: { position: number; value: number }): number {
    const { simulator } = this;
    // What this fault's own cell gave is not what the log says.
    for (let at = position - 1; at >= 0; at--) {
      if (at === own.position) return own.value;
      const { word, write, value } = simulator.access(at);
      if (!write && word >= part.from && word <= part.to) return value;
    }
    return 0;
  }

  /** Goes on along the track, and over to those that it becomes, so that a slot lies on it. */
  private advance(slot: number): void {
    while (!this.track.holds(slot)) {
      const { next } = this.track;
      if (!next) throw new BugError(`no track leads to ${slot}`);
      this.sent.push(...this.track.sent.slice(this.track.sentBy[this.slot - this.track.first]!));
      const joined = next.track.clocks[next.slot - next.track.first]!;
      this.shift += this.track.endClock - joined;
      const carried = this.loose.filter(({ until }) => until >= next.slot);
      const hidden = next.loose.filter(({ register }) => !carried.some((each) => each.register === register));
      this.loose = [...carried, ...hidden];
      this.track = next.track;
      this.slot = next.slot;
    }
  }

  /** Says what the track said up to a slot. */
  private tell(slot: number): void {
    const { sent, sentBy, first } = this.track;
    for (let at = sentBy[this.slot - first]!; at < sentBy[slot - first]!; at++) this.sent.push(sent[at]!);
    this.slot = slot;
  }
}

/** The list whose next position comes first, or −1. */
function earliest(lists: readonly Uint32Array[], next: readonly number[]): number {
  let best = -1;
  for (const [index, list] of lists.entries()) {
    const position = list[next[index]!];
    if (position !== undefined && (best < 0 || position < lists[best]![next[best]!]!)) best = index;
  }
  return best;
}

/** What is left of some ranges. */
function without(ranges: readonly Range[], cut: readonly Range[]): Range[] {
  let left = [...ranges];
  for (const { from, to } of cut)
    left = left.flatMap((each) =>
      to < each.from || from > each.to
        ? [each]
        : [
            ...(from > each.from ? [{ from: each.from, to: from - 1 }] : []),
            ...(to < each.to ? [{ from: to + 1, to: each.to }] : []),
          ],
    );
  return left.sort((a, b) => a.from - b.from);
}
