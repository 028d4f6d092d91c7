import type { CpuName } from "../../assemble/index.ts";
import type { Segment } from "../../bytes/index.ts";
import { type Cpu, Cpu6502, Cpu6809, CpuZ80, type Device, type PagedBus } from "../../cpu/index.ts";
import { BugError } from "../../errors/index.ts";
import { type MemoryMap, scramble, segmentAt } from "../../memory/index.ts";
import type { Voice } from "../types.ts";
import { type Placed, TestSpace } from "./space.ts";

const CPUS = { "6809": Cpu6809, "6502": Cpu6502, Z80: CpuZ80 } as const;
const PORTS = 0x100;

/** What a machine needs of a test program. */
export interface Runnable {
  cpu: CpuName;
  entry: number;
  segments: readonly Segment[];
  voice: Voice;
}

/** A device with registers: the program's port, a timer, another port. */
export interface Attached {
  /** Its registers: addresses, or where `ports` says so numbers of Z80 ports. */
  readonly at: readonly number[];
  readonly ports: boolean;
  read(address: number, bus: PagedBus): number;
  write(address: number, value: number, bus: PagedBus): void;
}

/** At least as many characters as the last line of a report has. */
export const LAST_LINE = 16;
/** Whether a report, or its last characters, has its last line. */
export const hasEnded = (said: string): boolean => /(^|\n)END \S+\r\n$/.test(said.slice(-LAST_LINE));

/**
 * The bench as a test program finds it: the CPU, its memory map with latches and translation, and what is attached. Memory holds
 * bytes that follow no rule. What a program's port does, and for how long it runs, is for those who build on it.
 */
export class TestMachine {
  readonly map: MemoryMap;
  readonly program: Runnable;
  readonly space: TestSpace;
  readonly cpu: Cpu;

  /** `attached`: the first that has a register answers there, before any latch. `vector`: what a Z80 gets as it takes an interrupt. */
  constructor(map: MemoryMap, program: Runnable, attached: readonly Attached[], vector?: (clock: number) => number) {
    this.map = map;
    this.program = program;
    this.space = new TestSpace(map, (space) => placed(space, map, attached), vector);
    this.bus.mapPorts(portsOf(this.space, attached));
    this.cpu = new CPUS[program.cpu](this.bus);
    scramble(this.memory);
  }

  get bus(): PagedBus {
    return this.space.bus;
  }

  get memory(): Uint8Array {
    return this.bus.memory;
  }

  /** Where a memory part begins among the memory's bytes. Throws BugError for a part that holds no memory. */
  seat(part: string): number {
    const seat = this.space.seats.get(part);
    if (seat === undefined) throw new BugError(`no memory ${part}`);
    return seat;
  }

  /** Puts the program where it is seen at power-on, over what is there, and the CPU at its first instruction. */
  protected start(): void {
    const view = this.map.view(this.map.powerOn);
    for (const { address, bytes } of this.program.segments)
      for (const [index, byte] of bytes.entries()) {
        const { from, read } = segmentAt(view, address + index);
        const seat = read && this.space.seats.get(read.part);
        if (!read || seat === undefined) throw new BugError(`no memory at ${address + index} for the program`);
        this.memory[seat + read.offset + address + index - from] = byte;
      }
    this.cpu.reset();
    this.cpu.set("PC", this.program.entry);
  }
}

/** What answers at the numbers of Z80 ports. */
function portsOf(space: TestSpace, attached: readonly Attached[]): Device {
  const { bus } = space;
  const own = attached.filter((each) => each.ports);
  const at = (port: number) => own.find((each) => each.at.includes(port));
  return {
    read: (address) => {
      const port = address % PORTS;
      return at(port)?.read(port, bus) ?? 0xff;
    },
    write: (address, value) => {
      const port = address % PORTS;
      const found = at(port);
      if (found) found.write(port, value, bus);
      else space.written(port, value, true);
    },
  };
}

/** What answers at addresses, beside memory: latches, the translation's maps, and what is attached. */
function placed(space: TestSpace, { latches, translation }: MemoryMap, attached: readonly Attached[]): Placed[] {
  const { bus } = space;
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
  const devices = new Map<number, Device>([...at].map((each) => [each, latch]));
  for (const each of [...attached].reverse()) {
    if (each.ports) continue;
    const device: Device = {
      read: (address) => each.read(address, bus),
      write: (address, value) => each.write(address, value, bus),
    };
    for (const address of each.at) devices.set(address, device);
  }
  return [...devices].map(([address, device]) => ({ from: address, to: address, device }));
}
