import { type Device, PagedBus } from "../../cpu/index.ts";
import {
  type Answer,
  layBoth,
  type MapState,
  type MemoryMap,
  type Seats,
  type Segment,
  seatsOf,
} from "../../memory/index.ts";

/** A device or latch at addresses of the CPU. */
export interface Placed {
  from: number;
  to: number;
  device: Device;
}

/** Bytes of the memory whose accesses go through somebody else. Words are bytes of the bus's memory. */
export interface Watch {
  /** In ascending order, both ends included. */
  ranges: readonly { from: number; to: number }[];
  read(word: number): number;
  write(word: number, value: number): void;
}

/** What is read where nothing answers: pull-ups. */
const OPEN = 0xff;

/** The CPU's addresses on all memory chips end to end, as the memory map says in each state, some of their bytes watched. */
export class TestSpace {
  readonly bus: PagedBus;
  /** Where each memory part begins in the bus's memory. */
  readonly seats: Seats;
  /** Changes what is seen of the state that the latches should hold. */
  distort: ((state: MapState) => MapState) | undefined;
  private readonly map: MemoryMap;
  private readonly placed: readonly Placed[];
  private watched: Watch | undefined;
  private held: MapState;
  private laid: readonly Segment[] = [];
  /** Watching devices, by how far the memory's bytes are from the CPU's addresses. */
  private readonly eyes = new Map<number, Device>();

  constructor(
    map: MemoryMap,
    placed: (space: TestSpace) => readonly Placed[],
    vector: (clock: number) => number = () => OPEN,
  ) {
    this.map = map;
    const { seats, bytes } = seatsOf(map);
    this.seats = seats;
    this.bus = new PagedBus(new Uint8Array(bytes), OPEN, () => {
      // What asks is looked at anew.
      this.bus.deadline = this.bus.clock;
      return vector(this.bus.clock);
    });
    this.held = map.powerOn;
    this.placed = placed(this);
    this.lay(true);
  }

  /** What the latches should hold. */
  get state(): MapState {
    return this.held;
  }

  set state(state: MapState) {
    if (state === this.held) return;
    this.held = state;
    this.lay(false);
  }

  /** What the latches do instead, where they are faulty. */
  get seen(): MapState {
    return this.distort ? this.distort(this.held) : this.held;
  }

  get watch(): Watch | undefined {
    return this.watched;
  }

  set watch(watch: Watch | undefined) {
    this.watched = watch;
    this.lay(true);
  }

  /** The CPU writes where a latch or a table may be. */
  written(address: number, value: number, port = false): void {
    this.state = this.map.after(this.held, address, value, port);
  }

  private lay(all: boolean): void {
    const view = this.map.view(this.seen);
    if (!all && view === this.laid) return;
    const before = new Set(all ? [] : this.laid);
    // Segments of views that are kept are the same objects; those of another view are compared by what answers.
    const same = new Set<string>();
    if (!all) for (const each of before) same.add(keyOf(each));
    this.laid = view;
    for (const segment of view) if (all || !same.has(keyOf(segment))) this.laySegment(segment);
  }

  private laySegment(segment: Segment): void {
    const { from, to, read, write } = segment;
    layBoth(segment, (answer, access) => this.layAnswer(from, to, answer, access));
    const waits = (read ?? write)?.waits ?? 0;
    for (const { from: first, to: last, device } of this.placed)
      if (first <= to && last >= from) this.bus.mapDevice(Math.max(first, from), Math.min(last, to), device, { waits });
  }

  private layAnswer(from: number, to: number, answer: Answer | undefined, access: "read" | "write" | "both"): void {
    const seat = answer && this.seats.get(answer.part);
    if (!answer || seat === undefined) {
      this.bus.unmap(from, to, access);
      return;
    }
    const shift = seat + answer.offset - from;
    const { waits } = answer;
    this.bus.mapMemory(from, to, shift + from, { access, waits });
    for (const range of this.watched?.ranges ?? []) {
      const first = Math.max(from, range.from - shift);
      const last = Math.min(to, range.to - shift);
      if (first <= last) this.bus.mapDevice(first, last, this.eye(shift), { access, waits });
    }
  }

  private eye(shift: number): Device {
    const known = this.eyes.get(shift);
    if (known) return known;
    const device: Device = {
      read: (address) => this.watched!.read(address + shift),
      write: (address, value) => this.watched!.write(address + shift, value),
    };
    this.eyes.set(shift, device);
    return device;
  }
}

const answerKey = (answer: Answer | undefined) => (answer ? `${answer.part}+${answer.offset}:${answer.waits}` : "");
const keyOf = ({ from, to, read, write }: Segment) => `${from}-${to} ${answerKey(read)} ${answerKey(write)}`;
