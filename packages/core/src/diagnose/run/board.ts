import type { Bench } from "../../bench/index.ts";
import { type Cpu, Cpu6502, Cpu6809, CpuZ80, type Device, PagedBus } from "../../cpu/index.ts";
import { BugError } from "../../errors/index.ts";
import { type MapState, type MemoryMap, memoryMapOf } from "../../memory/index.ts";
import { speakerOf } from "../plan/voice.ts";
import type { TestProgram } from "../types.ts";
import { looped, type Watched, watchedTimers } from "./devices.ts";

const CPUS = { "6809": Cpu6809, "6502": Cpu6502, Z80: CpuZ80 } as const;
const PORTS = 0x100;

/** What a fault may change on its way between the CPU and the memory chips. */
export interface Meddler {
  /** The cells whose reads and writes it wants to see, first to last; all where nothing is said. */
  cells?: { from: number; to: number };
  /** Gives what the CPU reads in place of `value`; `cell` is the byte's place in all memory chips end to end. */
  read?(cell: number, value: number): number;
  /** Gives what is stored in place of `value`. */
  write?(cell: number, value: number): number;
  /** Gives the state of latches and translation that the board really takes. */
  state?(state: MapState): MapState;
}

export interface BoardOptions {
  meddler?: Meddler | undefined;
  roms?: ReadonlyMap<string, Uint8Array> | undefined;
}

/**
 * A bench's CPU over its memory map, with a port that takes characters as fast as its line does: just enough to run a test program.
 * The whole machine, with drives and terminals, is the room `rehearse`.
 */
export class Board {
  readonly map: MemoryMap;
  readonly bus: PagedBus;
  readonly cpu: Cpu;
  /** Where each part's bytes begin in the memory of the bus. */
  readonly seats: ReadonlyMap<string, number>;
  /** What the program has printed. */
  said = "";
  /** Its lines, and when each was out. */
  readonly lines: { text: string; clock: number }[] = [];
  private lineFrom = 0;
  state: MapState;
  private free = 0;
  private got = -1;
  private readonly echoes: boolean;
  private readonly program: TestProgram;
  private readonly devices: readonly Watched[];
  private readonly character: number;
  private readonly meddler: Meddler | undefined;

  /**
   * `character` is how many cycles one takes on the line; `roms` are images by the file that the bench names. Memory begins with
   * bytes that follow no rule.
   */
  constructor(bench: Bench, program: TestProgram, character: number, { meddler, roms }: BoardOptions = {}) {
    const map = memoryMapOf(bench);
    if (!map) throw new BugError("a test program's bench has a memory map");
    this.map = map;
    this.program = program;
    this.character = character;
    this.meddler = meddler;
    // Loop plugs are on all other ports, and on this one if there is no other.
    const others = bench.ports
      .filter((each) => each.name !== program.voice.port)
      .map((each) => speakerOf(bench, each))
      .filter((each) => typeof each !== "string");
    this.echoes = others.length === 0;
    this.devices = [...watchedTimers(bench), ...others.map(({ voice }) => looped(voice, character))];
    const seats = new Map<string, number>();
    let bytes = 0;
    for (const { name, kind, bytes: size } of map.parts)
      if (kind !== "io") {
        seats.set(name, bytes);
        bytes += size;
      }
    this.seats = seats;
    const memory = new Uint8Array(bytes);
    let seed = 0x1234_5678;
    for (let at = 0; at < bytes; at++) {
      // xorshift32
      seed ^= seed << 13;
      seed ^= seed >>> 17;
      seed ^= seed << 5;
      memory[at] = seed;
    }
    this.bus = new PagedBus(memory);
    this.cpu = new CPUS[program.cpu](this.bus);
    this.state = map.powerOn;
    this.lay();
    this.bus.mapPorts({
      read: (address) => this.register(address & (PORTS - 1), true)?.read(address) ?? 0xff,
      write: (address, value) => this.register(address & (PORTS - 1), true)?.write(address, value),
    });
    if (roms) this.fill(roms);
    this.load();
    this.cpu.reset();
    this.cpu.set("PC", program.entry);
  }

  /** Runs until the report ends, or for so many cycles; says whether it ended. */
  run(cycles: number): boolean {
    const until = this.bus.clock + cycles;
    while (this.bus.clock < until) {
      const { clock } = this.bus;
      let due = Math.min(until, clock + SLICE);
      for (const each of this.devices) due = Math.min(due, each.next(clock));
      this.bus.deadline = Math.max(due, clock + 1);
      this.cpu.run(this.bus.deadline);
      if (this.program.cpu !== "Z80")
        this.cpu.drive(
          "IRQ",
          this.devices.some((each) => each.asks(this.bus.clock)),
        );
      if (ENDED.test(this.said.slice(-12)) || this.cpu.condition === "stopped") break;
    }
    return ENDED.test(this.said.slice(-12));
  }

  /** Puts ROM images where they are seen at power-on. */
  private fill(roms: ReadonlyMap<string, Uint8Array>): void {
    for (const { from, read } of this.map.view(this.map.powerOn)) {
      const region = read && this.map.computer.regions.find((each) => each.name === read.region);
      const image = region?.kind === "rom" && region.file !== undefined ? roms.get(region.file) : undefined;
      if (!image || !region || read!.mirror) continue;
      const at = this.seats.get(read!.part)! + read!.offset - (from - region.from);
      this.bus.memory.set(image.subarray(0, region.to - region.from + 1), at);
    }
  }

  /** Puts the program where it belongs: into the ROMs, or into memory as it is seen at power-on. */
  private load(): void {
    for (const { address, bytes } of this.program.segments)
      for (const [index, byte] of bytes.entries()) {
        const cell = this.cellAt(address + index);
        if (cell !== undefined) this.bus.memory[cell] = byte;
      }
  }

  /** The byte of the memory chips that a read of an address finds now. */
  cellAt(address: number): number | undefined {
    const answer = this.map.whoAnswers(this.state, address).read;
    const seat = answer && this.seats.get(answer.part);
    return seat === undefined ? undefined : seat + answer!.offset;
  }

  /** Lays the memory and the registers as latches and translation say. */
  private lay(): void {
    const real = this.meddler?.state?.(this.state) ?? this.state;
    for (const { from, to, read, write } of this.map.view(real)) {
      const readSeat = read && this.seats.get(read.part);
      const writeSeat = write && this.seats.get(write.part);
      if (readSeat === undefined) this.bus.unmap(from, to, "read");
      else if (this.meddles(readSeat + read!.offset, to - from, "read"))
        this.through(from, to, readSeat + read!.offset, "read");
      else this.bus.mapMemory(from, to, readSeat + read!.offset, { access: "read", waits: read!.waits });
      if (writeSeat === undefined) this.bus.unmap(from, to, "write");
      else if (this.meddles(writeSeat + write!.offset, to - from, "write"))
        this.through(from, to, writeSeat + write!.offset, "write");
      else this.bus.mapMemory(from, to, writeSeat + write!.offset, { access: "write", waits: write!.waits });
    }
    for (const at of this.registers) this.bus.mapDevice(at, at, this.device);
  }

  private meddles(cell: number, more: number, access: "read" | "write"): boolean {
    const { meddler } = this;
    if (!meddler?.[access]) return false;
    const { from, to } = meddler.cells ?? { from: 0, to: Number.POSITIVE_INFINITY };
    return cell <= to && cell + more >= from;
  }

  private through(from: number, to: number, cell: number, access: "read" | "write"): void {
    const { memory } = this.bus;
    const meddler = this.meddler!;
    const seen = meddler.cells;
    if (seen && (cell < seen.from || cell + to - from > seen.to)) {
      // Only a piece of it goes through the meddler.
      const first = Math.max(from, from + seen.from - cell);
      const last = Math.min(to, from + seen.to - cell);
      if (first > from) this.bus.mapMemory(from, first - 1, cell, { access });
      if (last < to) this.bus.mapMemory(last + 1, to, cell + last + 1 - from, { access });
      this.through(first, last, cell + first - from, access);
      return;
    }
    const device: Device = {
      read: (address) => meddler.read!(cell + address - from, memory[cell + address - from]!),
      write: (address, value) => {
        memory[cell + address - from] = meddler.write!(cell + address - from, value);
      },
    };
    this.bus.mapDevice(from, to, device, { access });
  }

  /** Addresses of latches, maps and the port's registers in the CPU's memory. */
  private get registers(): number[] {
    const { translation, latches } = this.map;
    const { voice } = this.program;
    const own = latches.flatMap(({ at, port }) => (at === undefined || port ? [] : [at]));
    if (translation?.latch?.at !== undefined) own.push(translation.latch.at);
    if (translation?.at !== undefined)
      for (let each = 0; each < translation.logical; each++) own.push(translation.at + each);
    if (!voice.ports) own.push(voice.data, voice.status);
    const inMemory = this.program.cpu === "Z80" ? [] : this.devices.flatMap(({ at }) => at);
    return [...own, ...inMemory];
  }

  private readonly device: Device = {
    read: (address) => this.register(address, false)?.read(address) ?? 0xff,
    write: (address, value) => this.register(address, false)?.write(address, value),
  };

  private register(address: number, port: boolean): Device | undefined {
    const { voice } = this.program;
    if (voice.ports === port && address === voice.data) return this.data;
    if (voice.ports === port && address === voice.status) return this.status;
    const watched = port === (this.program.cpu === "Z80") && this.devices.find(({ at }) => at.includes(address));
    if (watched)
      return {
        read: () => watched.read(address, this.bus.clock),
        write: (_, value) => {
          watched.write(address, value, this.bus.clock);
          this.bus.deadline = this.bus.clock;
        },
      };
    return port ? { read: () => 0xff, write: (at, value) => this.latch(at & (PORTS - 1), value, true) } : this.latches;
  }

  private readonly latches: Device = {
    read: (address) => {
      const latch = this.map.latches.find((each) => each.at === address && !each.port);
      return latch?.readable ? (this.state.latches[latch.name] ?? 0) : 0xff;
    },
    write: (address, value) => this.latch(address, value, false),
  };

  private latch(address: number, value: number, port: boolean): void {
    const next = this.map.after(this.state, address, value, port);
    if (next === this.state) return;
    this.state = next;
    this.lay();
  }

  private readonly status: Device = {
    read: () => {
      const { ready, received } = this.program.voice;
      const free = this.bus.clock >= this.free;
      return (free ? ready : 0) | (free && this.echoes && this.got >= 0 ? received : 0);
    },
    write: () => {},
  };

  private readonly data: Device = {
    read: () => {
      const byte = Math.max(0, this.got);
      this.got = -1;
      return byte;
    },
    write: (_, value) => {
      this.got = value;
      this.said += String.fromCharCode(value & 0x7f);
      this.free = Math.max(this.free, this.bus.clock) + this.character;
      if (value !== LINE_FEED) return;
      this.lines.push({ text: this.said.slice(this.lineFrom).trim(), clock: this.bus.clock });
      this.lineFrom = this.said.length;
      this.bus.deadline = this.bus.clock;
    },
  };
}

/** Cycles between two looks at what was said. */
const SLICE = 1_000_000;
const LINE_FEED = 10;
const ENDED = /END (GOOD|BAD)\r\n$/;
