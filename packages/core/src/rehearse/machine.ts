import type { Bench, BenchComputer } from "../bench/index.ts";
import type { Cpu, Device, Line, PagedBus } from "../cpu/index.ts";
import { InputError } from "../errors/index.ts";
import { type MemoryMap, memoryMapOf } from "../memory/index.ts";
import { Controller } from "./controller.ts";
import { disksOf } from "./disks.ts";
import type { DiskDrive } from "./drive.ts";
import { fillMemory } from "./memory.ts";
import { cpuOf, timerOf } from "./parts.ts";
import { AddressSpace, type Placed } from "./space.ts";
import { Tick } from "./tick.ts";
import type { RehearsalFiles, RehearsalOptions } from "./types.ts";
import type { Host, Unit } from "./unit.ts";
import { type Wiring, wire } from "./wiring.ts";

const TYPING = 10;
/** Z80: a port's number is its low byte. */
const PORTS = 0x100;

/** The bench as a machine: everything wired up and switched on. What runs it is in rehearsal.ts. */
export class Machine implements Host {
  readonly computer: BenchComputer;
  readonly hertz: number;
  readonly map: MemoryMap;
  readonly space: AddressSpace;
  readonly bus: PagedBus;
  readonly cpu: Cpu;
  readonly wiring: Wiring;
  readonly drives: readonly DiskDrive[];
  readonly controller: Controller | undefined;
  /** Everything that does things by itself. */
  readonly units: readonly Unit[];
  readonly assumed: readonly string[];
  /** Units by the interrupt input that they drive together. */
  private readonly lines: readonly { line: Line; units: readonly Unit[]; driven: boolean | undefined }[];
  /** Set where `next` or `asks` of a unit may have changed. */
  private touched = false;
  /** What was written last to latches that can be read back. */
  latchBytes = new Map<string, number>();

  constructor(bench: Bench, files: RehearsalFiles, { phase = 0, typing = TYPING }: RehearsalOptions) {
    const { computer } = bench;
    const map = memoryMapOf(bench);
    if (!computer || !map)
      throw new InputError("no-memory", "A rehearsal needs the computer's memory: computer.memory.");
    const clock = computer.cpu?.clock;
    if (!clock) throw new InputError("no-clock", "A rehearsal needs the CPU's clock: computer.cpu.clock.");
    this.computer = computer;
    this.map = map;
    this.hertz = clock.value;
    const disks = disksOf(bench, files.images, this.hertz, phase);
    this.drives = disks.drives;
    this.wiring = wire(bench, this, this.hertz / typing);
    const controller = computer.controller && new Controller(this, computer.controller, this.drives);
    this.controller = controller;
    const tick = computer.tick && new Tick(this, computer.tick);
    const timers = computer.timers.map((bench) => ({ bench, timer: timerOf(this, bench) }));
    const { ports, stations } = this.wiring;

    const isZ80 = /Z-?80|Z84/i.test(computer.cpu?.chip?.cpu?.instructionSet ?? computer.cpu?.part ?? "");
    const inMemory = (at: number) =>
      !isZ80 || at >= PORTS || computer.regions.some(({ kind, from, to }) => kind === "io" && from <= at && at <= to);
    const placed: Placed[] = [];
    const numbered: (Device | undefined)[] = Array(PORTS).fill(undefined);
    const place = (at: number, registers: number, device: Device, port: boolean, first = at): void => {
      const own: Device = port
        ? {
            read: (address) => device.read((address & (PORTS - 1)) - first),
            write: (address, value) => device.write((address & (PORTS - 1)) - first, value),
          }
        : {
            read: (address) => device.read(address - first),
            write: (address, value) => device.write(address - first, value),
          };
      if (port) for (let each = 0; each < registers; each++) numbered[(at + each) & (PORTS - 1)] = own;
      else placed.push({ from: at, to: Math.min(0xffff, at + registers - 1), device: own });
    };
    for (const { port, uart } of ports) {
      const at = port.at!;
      const isPort = !inMemory(at);
      if (port.control === undefined) place(at, uart.registers, uart, isPort);
      else {
        place(at, 1, uart, isPort);
        place(port.control, 1, uart, isPort, port.control - 1);
      }
    }
    if (controller)
      place(computer.controller!.at, controller.registers, controller, computer.controller!.port ?? false);
    if (tick) place(computer.tick!.at, 1, tick, !inMemory(computer.tick!.at));
    for (const { bench: each, timer } of timers)
      place(each.at, timer.registers, timer, each.port ?? !inMemory(each.at));
    this.placeLatches(place);

    this.units = [
      ...timers.map(({ timer }) => timer),
      ...ports.map(({ uart }) => uart),
      ...(tick ? [tick] : []),
      ...stations,
      ...(controller ? [controller] : []),
    ];
    const own: Line = isZ80 ? "INT" : "IRQ";
    const lineOf = new Map<Unit, Line>(timers.map(({ bench: each, timer }) => [timer, each.line ?? own]));
    const names = new Set<Line>([own, ...lineOf.values()]);
    this.lines = [...names].map((line) => ({
      line,
      units: this.units.filter((each) => (lineOf.get(each) ?? own) === line),
      driven: undefined as boolean | undefined,
    }));

    this.space = new AddressSpace(map, placed, () => this.vector(own));
    this.bus = this.space.bus;
    this.cpu = cpuOf(computer, this.bus);
    for (const { line } of this.lines)
      if (!this.cpu.lines.includes(line))
        throw new InputError("no-line", `The ${this.cpu.name} has no interrupt input ${line}, which a timer drives.`);
    this.bus.mapPorts({
      read: (address) => numbered[address & (PORTS - 1)]?.read(address) ?? 0xff,
      write: (address, value) => numbered[address & (PORTS - 1)]?.write(address, value),
    });
    const roms = fillMemory(map, this.bus.memory, this.space.seats, files.roms);
    this.assumed = [...roms, ...disks.assumed, ...this.wiring.assumed];
    this.wiring.followControls();
    this.cpu.reset();
    if (computer.cpu?.start !== undefined) this.cpu.set("PC", computer.cpu.start);
  }

  now(): number {
    return this.bus.clock;
  }

  changed(): void {
    this.touched = true;
    this.bus.deadline = this.bus.clock;
  }

  /** Runs to `until` cycles at most, or to the next thing that happens. */
  slice(until: number): void {
    this.cpu.run(Math.max(this.due(until), this.bus.clock + 1));
    this.settle();
  }

  /** The same by single instructions; true where the next one is at one of `stops`. */
  walk(until: number, stops: ReadonlySet<number>): boolean {
    const { bus, cpu } = this;
    const due = this.due(until);
    let stands = false;
    this.touched = false;
    do {
      cpu.step();
      stands = stops.has(cpu.pc);
    } while (!stands && !this.touched && bus.clock < due && cpu.condition === "runs");
    this.settle();
    return stands;
  }

  private due(until: number): number {
    let due = until;
    for (const unit of this.units) due = Math.min(due, unit.next);
    return due;
  }

  /** One instruction, and all that falls due meanwhile. */
  step(): void {
    this.cpu.step();
    this.settle();
  }

  /** Does what is due now and drives the interrupt inputs. */
  settle(): void {
    const { clock } = this.bus;
    for (const unit of this.units) if (unit.next <= clock) unit.advance(clock);
    this.wiring.followControls();
    for (const each of this.lines) {
      let asks = false;
      for (const unit of each.units) asks ||= unit.asks;
      if (asks !== each.driven) {
        each.driven = asks;
        this.cpu.drive(each.line, asks);
      }
    }
  }

  /** Lets the interrupt inputs be driven anew. */
  forgetLines(): void {
    for (const each of this.lines) each.driven = undefined;
  }

  private vector(own: Line): number {
    for (const unit of this.lines.find(({ line }) => line === own)!.units)
      if (unit.asks) {
        const vector = unit.vector?.();
        if (vector !== undefined) return vector;
      }
    return 0xff;
  }

  private placeLatches(place: (at: number, registers: number, device: Device, port: boolean) => void): void {
    const { translation, latches } = this.map;
    const written = this.computer.translation;
    // Two latches may share a byte, one above the other.
    for (const at of new Set(latches.flatMap((each) => (each.at === undefined ? [] : [`${each.at} ${each.port}`])))) {
      const own = latches.filter((each) => `${each.at} ${each.port}` === at);
      const { at: address, port } = own[0]!;
      const readable = own.some((each) => each.readable);
      place(
        address!,
        1,
        {
          read: () => (readable ? (this.latchBytes.get(at) ?? own[0]!.powerOn) : 0xff),
          write: (_, value) => {
            if (readable) this.latchBytes.set(at, value);
            this.space.latch(address!, value, port);
          },
        },
        port,
      );
    }
    if (translation?.at !== undefined)
      place(
        translation.at,
        translation.logical,
        {
          read: (block) => (written?.readable ? this.space.entry(block) & 0xff : 0xff),
          write: (block, value) => this.space.writeEntry(block, value),
        },
        false,
      );
    if (translation?.latch?.at !== undefined)
      place(
        translation.latch.at,
        1,
        {
          read: () => (written?.latch?.readable ? (this.latchBytes.get("translation") ?? 0) : 0xff),
          write: (_, value) => {
            this.latchBytes.set("translation", value);
            this.space.writeTranslation(value);
          },
        },
        false,
      );
  }
}
