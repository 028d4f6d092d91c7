import { type Device, PagedBus } from "../cpu/index.ts";
import {
  type Answer,
  layBoth,
  type MapState,
  type MemoryMap,
  type Seats,
  type Segment,
  seatsOf,
  segmentAt,
} from "../memory/index.ts";

/** A device or latch at addresses of the CPU. */
export interface Placed {
  from: number;
  to: number;
  device: Device;
}

/** Part of laying a block: at once from `offset` of the memory where it is plain memory, else as its segment says. */
interface Step {
  segment: Segment;
  /** −1: not plain. */
  offset: number;
}

/** More physical blocks than any translation has. */
const BLOCKS = 0x1_0000;
const WHILE_ON = 0x100;

/**
 * The CPU's addresses on the bus as the memory map says, and the latches and translation maps that decide it. A system that
 * changes maps at each turn of a process does so thousands of times a second: each logical block is laid by itself, by a
 * plan that is made once for each physical block behind it.
 */
export class AddressSpace {
  readonly bus: PagedBus;
  /** Where each part's bytes begin in the bus's memory. */
  readonly seats: Seats;
  private readonly map: MemoryMap;
  private readonly placed: readonly Placed[];
  private latches: MapState["latches"];
  private on = false;
  private task = 0;
  private writes = 0;
  /** Physical block of each logical one, map after map. */
  private readonly maps: Int32Array;
  private readonly logical: number;
  /** Physical block that is laid behind each logical one; −1 while translation is off. */
  private readonly laid: Int32Array;
  /** What values of the translation latch do; those above FF while it is on. */
  private readonly doings = new Map<number, { on: boolean; task: number; writes: number }>();
  private plans = new Map<number, readonly Step[]>();
  /** Devices as they are reached at mirrors, by how far those lie from the first place. */
  private readonly mirrors = new Map<Device, Map<number, Device>>();

  constructor(map: MemoryMap, placed: readonly Placed[], vector: () => number) {
    this.map = map;
    const { seats, bytes } = seatsOf(map);
    this.seats = seats;
    this.bus = new PagedBus(new Uint8Array(bytes), 0xff, vector);
    this.placed = placed;
    this.latches = map.powerOn.latches;
    this.logical = map.translation?.logical ?? 0;
    this.maps = new Int32Array(this.logical * (map.translation?.tasks ?? 0));
    this.laid = new Int32Array(this.logical).fill(-1);
    this.state = map.powerOn;
  }

  /** What latches and maps hold now; a copy. */
  get state(): MapState {
    const { latches, on, task, writes, logical } = this;
    if (!this.map.translation) return { latches };
    const maps = Array.from({ length: this.maps.length / logical }, (_, index) =>
      Array.from(this.maps.subarray(index * logical, (index + 1) * logical)),
    );
    return { latches, translation: { on, task, writes, maps } };
  }

  set state({ latches, translation }: MapState) {
    this.latches = latches;
    if (translation) {
      this.on = translation.on;
      this.task = translation.task;
      this.writes = translation.writes;
      for (const [index, each] of translation.maps.entries()) this.maps.set(each, index * this.logical);
    }
    this.layAll();
  }

  /** The CPU writes to a latch. */
  latch(address: number, value: number, port: boolean): void {
    const after = this.map.after({ latches: this.latches }, address, value, port).latches;
    if (after === this.latches) return;
    this.latches = after;
    this.layAll();
  }

  /** The CPU writes an entry of the map that is written. */
  writeEntry(block: number, physical: number): void {
    this.maps[this.writes * this.logical + block] = physical;
    if (this.on && this.writes === this.task) this.layBlock(block);
  }

  /** The CPU writes the latch of the translation. */
  writeTranslation(value: number): void {
    // What a value does is asked of the map once.
    const key = value + (this.on ? WHILE_ON : 0);
    let does = this.doings.get(key);
    if (!does) {
      const { state } = this;
      does = this.map.after(state, this.map.translation!.latch!.at!, value).translation!;
      this.doings.set(key, does);
    }
    const wasOn = this.on;
    this.on = does.on;
    this.task = does.task;
    this.writes = does.writes;
    if (wasOn !== does.on) this.layAll();
    else if (does.on) for (let block = 0; block < this.logical; block++) this.layBlock(block);
  }

  /** The entry of a block in the map that is written. */
  entry(block: number): number {
    return this.maps[this.writes * this.logical + block]!;
  }

  /** A byte of memory as the CPU would read it, without touching a device; undefined where a device or nothing answers. */
  peek(address: number): number | undefined {
    const { from, read } = segmentAt(this.map.view(this.state), address);
    if (!read || read.kind === "io") return undefined;
    if (this.placed.some((each) => address >= each.from && address <= each.to)) return undefined;
    return this.bus.memory[this.seats.get(read.part)! + read.offset + address - from]!;
  }

  private layAll(): void {
    this.plans = new Map();
    for (const segment of this.map.view(this.state)) this.lay(segment);
    for (let block = 0; block < this.logical; block++)
      this.laid[block] = this.on ? this.maps[this.task * this.logical + block]! : -1;
  }

  private layBlock(block: number): void {
    const physical = this.maps[this.task * this.logical + block]!;
    if (this.laid[block] === physical) return;
    this.laid[block] = physical;
    const key = block * BLOCKS + physical;
    let plan = this.plans.get(key);
    if (!plan) {
      plan = this.planOf(block);
      this.plans.set(key, plan);
    }
    for (const { segment, offset } of plan)
      if (offset < 0) this.lay(segment);
      else this.bus.mapMemory(segment.from, segment.to, offset);
  }

  private planOf(block: number): Step[] {
    return this.segmentsOf(block).map((segment) => {
      const { from, to, read, write } = segment;
      const seat = read && this.seats.get(read.part);
      const isPlain =
        seat !== undefined &&
        read!.part === write?.part &&
        read!.offset === write.offset &&
        read!.waits + write.waits === 0 &&
        !this.placed.some((each) => each.from <= to && each.to >= from);
      return { segment, offset: isPlain ? seat + read!.offset : -1 };
    });
  }

  /** What answers within a logical block now. It depends on nothing but the latches and the block behind it. */
  private segmentsOf(block: number): Segment[] {
    const size = this.map.translation!.block;
    const [first, last] = [block * size, block * size + size - 1];
    return this.map.view(this.state).flatMap((segment): Segment[] => {
      const from = Math.max(first, segment.from);
      const to = Math.min(last, segment.to);
      if (from > to) return [];
      const moved = (answer: Answer) => ({ ...answer, offset: answer.offset + from - segment.from });
      return [
        {
          ...segment,
          from,
          to,
          ...(segment.read ? { read: moved(segment.read) } : {}),
          ...(segment.write ? { write: moved(segment.write) } : {}),
        },
      ];
    });
  }

  private lay(segment: Segment): void {
    const { from, to } = segment;
    layBoth(segment, (answer, access) => this.layAnswer(from, to, answer, access));
    for (const placed of this.placed) this.overlay(placed, segment);
  }

  private layAnswer(from: number, to: number, answer: Answer | undefined, access: "read" | "write" | "both"): void {
    const seat = answer && this.seats.get(answer.part);
    if (!answer || seat === undefined) this.bus.unmap(from, to, access);
    else this.bus.mapMemory(from, to, seat + answer.offset, { access, waits: answer.waits });
  }

  /** Devices lie over whatever is there; inside a device region they follow it to its mirrors. */
  private overlay(placed: Placed, { from, to, read, write }: Segment): void {
    const io = read?.kind === "io" ? read : write?.kind === "io" ? write : undefined;
    const shift = io ? from - this.home(io) : 0;
    const start = Math.max(from, placed.from + shift);
    const end = Math.min(to, placed.to + shift);
    if (start <= end) this.bus.mapDevice(start, end, this.shifted(placed.device, shift), io ? { waits: io.waits } : {});
  }

  private shifted(device: Device, shift: number): Device {
    if (shift === 0) return device;
    const mirrors = this.mirrors.get(device) ?? new Map<number, Device>();
    this.mirrors.set(device, mirrors);
    const mirror = mirrors.get(shift) ?? {
      read: (address: number) => device.read(address - shift),
      write: (address: number, value: number) => device.write(address - shift, value),
    };
    mirrors.set(shift, mirror);
    return mirror;
  }

  /** The address at which a device region's answer has its first, unmirrored place. */
  private home(answer: Answer): number {
    const region = this.map.computer.regions.find((each) => each.name === answer.region)!;
    return region.from + answer.offset - (region.offset ?? 0);
  }
}
