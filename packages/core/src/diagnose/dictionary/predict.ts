import { type MapState, type MemoryMap, type Seats, seatsOf, segmentAt } from "../../memory/index.ts";
import { wordsOf } from "../fault/cells.ts";
import { faultThrough, type MachineFault } from "../fault/machine.ts";
import { seenThrough } from "../fault/map-faults.ts";
import type { Mark, PlannedTest, Step } from "../plan/types.ts";
import type { Finding, Space, Stretch, Test, TestProgram } from "../types.ts";

/**
 * What a program's tests would find with a fault in the machine, worked out at some addresses only and without the CPU: those that
 * were reported, and some more that stand for all. So every candidate of a bench is tried in a moment, whatever its size.
 */

/** One turn of one element, or one step of a test by marks. */
export interface Group {
  test: string;
  element: number;
  /** Which pattern of a march; 0 in other tests. */
  turn: number;
  findings: Finding[];
  /** How many findings there are in all, told or not. */
  count: number;
}

export interface Prediction {
  groups: Map<string, Group>;
}

export const groupKey = (test: string, element: number, turn: number): string => `${test}${element}.${turn}`;

/** Steps of a test, where its program carries them. */
const stepsOf = (test: Test): readonly Step[] => (test as Partial<PlannedTest>).steps ?? [];

/** Which pattern a march's finding belongs to: the one that was wanted, or whose complement was. */
export function turnOf(test: Test, wanted: number | undefined): number {
  const turn = (test.backgrounds ?? []).findIndex((each) => each === wanted || (each ^ 0xff) === wanted);
  return Math.max(0, turn);
}

interface Visit {
  /** Place in an ascending walk. */
  order: number;
  address: number;
  view?: number;
  /** Bytes of the memory that a read and a write reach. */
  reads: number;
  writes: number;
  /** Stands for others, and is not at an end. */
  generic: boolean;
}

/** Addresses that stand for all of a stretch, besides its ends. */
const SAMPLES = 12;
const NOBODY = -1;
const OPEN = 0xff;

/** Where every address of a space is walked over, by the bytes of the memory that it reaches on a good machine. */
interface Run {
  from: number;
  to: number;
  address: number;
  view?: number;
  order: number;
}

/** A step with its addresses resolved to bytes of the memory. */
type Resolved =
  | { kind: "wait" }
  | { kind: "write"; word: number; byte: number }
  | { kind: "read"; test: string; element: number; word: number; fixed?: number; mark: Mark; mask: number }
  | {
      kind: "march";
      test: Test;
      step: Extract<Step, { kind: "march" }>;
      visits: readonly Visit[];
      runs: readonly Run[];
    };

export class Predictor {
  private readonly map: MemoryMap;
  private readonly tests: readonly Test[];
  private readonly seats: Seats;
  private readonly scratch: Uint8Array;
  private readonly reported = new Map<string, Set<number>>();
  private readonly good: readonly Resolved[];
  /** States by what a register is told, so that views of the map are found again. */
  private readonly shown = new Map<MapState, Map<number, MapState>>();

  /** `findings`: what was reported; candidates are looked at there. */
  constructor(map: MemoryMap, program: TestProgram, findings: readonly Finding[]) {
    this.map = map;
    this.tests = program.tests;
    const { seats, bytes } = seatsOf(map);
    this.seats = seats;
    this.scratch = new Uint8Array(bytes);
    for (const { test, address } of findings) {
      if (address === undefined) continue;
      const known = this.reported.get(test) ?? new Set();
      known.add(address);
      this.reported.set(test, known);
    }
    this.good = this.resolve(undefined);
  }

  /** Groups of findings with a fault in the machine. */
  predict(fault: MachineFault): Prediction {
    const { scratch, seats, map } = this;
    scratch.fill(0xa5);
    const memory: Memory = {
      read: (word) => scratch[word]!,
      write: (word, value) => {
        scratch[word] = value;
      },
    };
    if (fault.on === "map")
      return new Walk(scratch, memory).run(this.resolve((state) => seenThrough(fault.fault, state)));
    const made = faultThrough(
      fault,
      scratch,
      (part) => seats.get(part)!,
      (part) => map.part(part).bytes,
    );
    const inside = (word: number) => made.ranges.some(({ from, to }) => word >= from && word <= to);
    const through: Memory = {
      read: (word, clock, before) => (inside(word) ? made.read(word, clock, before) : scratch[word]!),
      write: (word, value, clock) => {
        if (inside(word)) made.write(word, value, clock);
        else scratch[word] = value;
      },
    };
    return new Walk(scratch, through).run(
      this.good.map((each) => (each.kind === "march" ? { ...each, visits: this.withMet(each, fault) } : each)),
    );
  }

  /** The byte of all memory that a read of an address finds on a good machine, in a test's space. */
  wordAt(test: Test, address: number, view: number | undefined): number | undefined {
    for (const each of this.good)
      if (each.kind === "march" && each.test === test)
        for (const { from, to, address: first, view: shown } of each.runs)
          if (shown === view && address >= first && address <= first + to - from) return from + address - first;
    return undefined;
  }

  /** Words of a part that marches go over, from its first byte. */
  marched(part: string): { from: number; to: number }[] {
    const seat = this.seats.get(part)!;
    const last = this.map.part(part).bytes - 1;
    return this.good.flatMap((each) =>
      each.kind !== "march"
        ? []
        : each.runs.flatMap(({ from, to }) => {
            const [first, end] = [Math.max(0, from - seat), Math.min(last, to - seat)];
            return first <= end ? [{ from: first, to: end }] : [];
          }),
    );
  }

  seatOf(part: string): number {
    return this.seats.get(part)!;
  }

  partAt(word: number): string | undefined {
    for (const [part, seat] of this.seats) if (word >= seat && word < seat + this.map.part(part).bytes) return part;
    return undefined;
  }

  /** All steps with their addresses resolved, where the latches do what `distort` says. */
  private resolve(distort: ((state: MapState) => MapState) | undefined): Resolved[] {
    const found: Resolved[] = [];
    const bent = new Map<MapState, MapState>();
    const seen = (state: MapState): MapState => {
      if (!distort) return state;
      const known = bent.get(state) ?? distort(state);
      bent.set(state, known);
      return known;
    };
    let state = this.map.powerOn;
    for (const test of this.tests)
      for (const step of stepsOf(test))
        if (step.kind === "pokes")
          for (const { at, port, value } of step.pokes) state = this.after(state, at, port, value);
        else if (step.kind === "wait") found.push({ kind: "wait" });
        else if (step.kind === "write marks" || step.kind === "read marks")
          for (const mark of step.marks) {
            if (mark.show) state = this.after(state, mark.show.at, step.port, mark.show.value);
            const real = seen(state);
            if (step.kind === "write marks")
              found.push({ kind: "write", word: this.reach(real, mark.address, "write"), byte: mark.byte });
            else {
              const own = this.map.latches.find((each) => each.at === mark.address && !each.port && each.readable);
              found.push({
                kind: "read",
                test: test.letter,
                element: step.element,
                word: this.reach(real, mark.address, "read"),
                mark,
                mask: step.mask,
                ...(own ? { fixed: real.latches[own.name] ?? 0 } : {}),
              });
            }
          }
        else if (step.kind === "march") {
          const { space, select } = step;
          const held = state;
          const showing = (view: number | undefined) =>
            select && view !== undefined ? this.after(held, select.at, select.port, view) : held;
          found.push({
            kind: "march",
            test,
            step,
            visits: this.visitsOf(test, space, (view) => seen(showing(view))),
            runs: this.runsOf(space, showing),
          });
          if (select) state = showing(space.stretches.at(-1)?.views?.last ?? 0);
        }
    return found;
  }

  private after(state: MapState, at: number, port: boolean, value: number): MapState {
    const known = this.shown.get(state) ?? new Map<number, MapState>();
    this.shown.set(state, known);
    const key = (at * 2 + (port ? 1 : 0)) * 256 + value;
    const next = known.get(key) ?? this.map.after(state, at, value, port);
    known.set(key, next);
    return next;
  }

  private reach(seen: MapState, address: number, way: "read" | "write"): number {
    const segment = segmentAt(this.map.view(seen), address);
    const answer = segment[way];
    const seat = answer && this.seats.get(answer.part);
    return !answer || seat === undefined ? NOBODY : seat + answer.offset + address - segment.from;
  }

  /** Addresses at which a stretch is looked at; true for those that stand for others. */
  private addressesOf(test: Test, { from, to }: Stretch): Map<number, boolean> {
    const found = new Map<number, boolean>();
    for (const each of this.reported.get(test.letter) ?? []) if (each >= from && each <= to) found.set(each, false);
    for (const each of [from, from + 1, to - 1, to]) if (each >= from && each <= to) found.set(each, false);
    let seed = 0x9e37_79b9;
    for (let index = 0; index < SAMPLES; index++) {
      seed = (Math.imul(seed, 1_664_525) + 1_013_904_223) >>> 0;
      const address = from + Math.floor((seed / 2 ** 32) * (to - from + 1));
      if (!found.has(address)) found.set(address, true);
    }
    return found;
  }

  private visitsOf(test: Test, { stretches }: Space, showing: (view: number | undefined) => MapState): Visit[] {
    const found: Visit[] = [];
    let order = 0;
    for (const stretch of stretches) {
      const addresses = this.addressesOf(test, stretch);
      for (const view of numbers(stretch.views)) {
        const state = showing(view);
        for (const [address, generic] of addresses)
          found.push({
            order: order + address - stretch.from,
            address,
            reads: this.reach(state, address, "read"),
            writes: this.reach(state, address, "write"),
            generic,
            ...(view === undefined ? {} : { view }),
          });
        order += stretch.to - stretch.from + 1;
      }
    }
    return found.sort((a, b) => a.order - b.order);
  }

  private runsOf({ stretches }: Space, showing: (view: number | undefined) => MapState): Run[] {
    const runs: Run[] = [];
    let order = 0;
    for (const { from, to, views } of stretches)
      for (const view of numbers(views)) {
        for (const segment of this.map.view(showing(view))) {
          const first = Math.max(from, segment.from);
          const last = Math.min(to, segment.to);
          const seat = segment.read && this.seats.get(segment.read.part);
          if (first > last || seat === undefined) continue;
          const word = seat + segment.read!.offset + first - segment.from;
          runs.push({
            from: word,
            to: word + last - first,
            address: first,
            order: order + first - from,
            ...(view === undefined ? {} : { view }),
          });
        }
        order += to - from + 1;
      }
    return runs;
  }

  /** Visits of a march, with those to the bytes that a memory fault mixes up with them. */
  private withMet({ visits, runs }: Extract<Resolved, { kind: "march" }>, fault: MachineFault): readonly Visit[] {
    if (fault.on === "map") return visits;
    const found = new Map(visits.map((each) => [each.order, each]));
    const add = (word: number, run: Run | undefined) => {
      if (!run) return;
      const order = run.order + word - run.from;
      if (!found.has(order))
        found.set(order, {
          order,
          address: run.address + word - run.from,
          reads: word,
          writes: word,
          generic: false,
          ...(run.view === undefined ? {} : { view: run.view }),
        });
    };
    const meet = (word: number) =>
      add(
        word,
        runs.find(({ from, to }) => word >= from && word <= to),
      );
    if (fault.on === "cells") {
      const base = this.seats.get(fault.part)!;
      for (const word of wordsOf(fault.fault)) meet(base + word);
    } else {
      const toggles = togglesOf(fault);
      const late = fault.fault.kind === "slow";
      if (toggles.length === 0 && !late) return visits;
      for (const { reads, order } of visits) {
        const part = toggles.length === 0 ? undefined : this.partAt(reads);
        if (part !== undefined) {
          const base = this.seats.get(part)! + (fault.on === "lines" ? (fault.within?.from ?? 0) : 0);
          for (const toggle of toggles) meet(base + ((reads - base) ^ toggle));
        }
        // A late output gives what the address before gave.
        if (late)
          for (const next of [order - 1, order + 1]) {
            const run = runs.find((each) => next >= each.order && next <= each.order + each.to - each.from);
            if (run) add(run.from + next - run.order, run);
          }
      }
    }
    return found.size === visits.length ? visits : [...found.values()].sort((a, b) => a.order - b.order);
  }
}

interface Memory {
  read(word: number, clock: number, before: number): number;
  write(word: number, value: number, clock: number): void;
}

/** One candidate's way through the tests. */
class Walk {
  private clock = 0;
  private last = 0;
  private readonly scratch: Uint8Array;
  private readonly memory: Memory;
  private readonly groups = new Map<string, Group>();

  constructor(scratch: Uint8Array, memory: Memory) {
    this.scratch = scratch;
    this.memory = memory;
  }

  run(steps: readonly Resolved[]): Prediction {
    for (const step of steps)
      if (step.kind === "wait") this.clock += LONG;
      else if (step.kind === "write") {
        if (step.word !== NOBODY) this.memory.write(step.word, step.byte, this.clock);
      } else if (step.kind === "read") {
        const got = (step.fixed ?? this.read(step.word)) & step.mask;
        const { view: number, show, address, byte } = step.mark;
        // A number is told only where the program has just shown it.
        const view = show ? number : undefined;
        if (got !== byte) this.find(step.test, step.element, 0, 1, address, view, byte, got);
      } else this.march(step);
    return { groups: this.groups };
  }

  private read(word: number): number {
    if (word === NOBODY) return OPEN;
    this.last = this.memory.read(word, this.clock, this.last);
    return this.last;
  }

  private march({ test, step, visits, runs }: Extract<Resolved, { kind: "march" }>): void {
    const { space, march, backgrounds } = step;
    const generic = visits.reduce((sum, each) => sum + (each.generic ? 1 : 0), 0);
    const stands = generic > 0 ? space.bytes / generic : 0;
    const down = [...visits].reverse();
    for (const [turn, background] of backgrounds.entries())
      for (const [index, { direction, operations, delay }] of march.elements.entries()) {
        if (delay) this.clock += LONG;
        for (const visit of direction === "down" ? down : visits)
          for (const { kind, value } of operations) {
            const wanted = value ? background ^ 0xff : background;
            if (kind === "write") {
              if (visit.writes !== NOBODY) this.memory.write(visit.writes, wanted, this.clock);
              continue;
            }
            const got = this.read(visit.reads);
            if (got !== wanted)
              this.find(
                test.letter,
                index + 1,
                turn,
                visit.generic ? stands : 0,
                visit.address,
                visit.view,
                wanted,
                got,
              );
          }
      }
    // What the march leaves behind everywhere, for what reads there next.
    const left = march.elements.at(-1)!.operations.at(-1)!.value;
    const value = backgrounds.at(-1)! ^ (left ? 0xff : 0);
    const kept = visits.map(({ writes }) => (writes === NOBODY ? 0 : this.scratch[writes]!));
    for (const { from, to } of runs) this.scratch.fill(value, from, to + 1);
    for (const [index, { writes }] of visits.entries()) if (writes !== NOBODY) this.scratch[writes] = kept[index]!;
  }

  private find(
    test: string,
    element: number,
    turn: number,
    stands: number,
    address: number,
    view: number | undefined,
    wanted: number,
    got: number,
  ): void {
    const key = groupKey(test, element, turn);
    const group = this.groups.get(key) ?? { test, element, turn, findings: [], count: 0 };
    this.groups.set(key, group);
    group.findings.push({ test, element, address, wanted, got, ...(view === undefined ? {} : { view }) });
    group.count += stands;
  }
}

/** Longer than anything that leaks holds. */
const LONG = 1e12;

function numbers(views: { first: number; last: number } | undefined): (number | undefined)[] {
  if (!views) return [undefined];
  return Array.from({ length: views.last - views.first + 1 }, (_, index) => views.first + index);
}

/** What to add to a word, by exclusive OR, to get all words that a line fault mixes it up with. */
function togglesOf(fault: Exclude<MachineFault, { on: "map" | "cells" }>): number[] {
  const line = fault.fault;
  const lines = line.kind === "address" ? line.lines : line.kind === "address-short" ? line.pairs.flat() : [];
  return Array.from({ length: 2 ** lines.length - 1 }, (_, index) =>
    lines.reduce((sum, each, bit) => sum | (((index + 1) >> bit) & 1 ? 1 << each : 0), 0),
  );
}
