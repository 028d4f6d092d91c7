import type { Bench } from "../../bench/index.ts";
import type { PagedBus } from "../../cpu/index.ts";
import { BugError } from "../../errors/index.ts";
import { memoryMapOf } from "../../memory/index.ts";
import { type Attached, hasEnded, TestMachine } from "../machine/machine.ts";
import { speakerOf } from "../plan/voice.ts";
import type { TestProgram, Voice } from "../types.ts";
import { looped, type Watched, watchedTimers } from "./devices.ts";

/** Cycles between two looks at what was said. */
const SLICE = 1_000_000;
const LINE_FEED = 10;
/** What a Z80 reads as a vector where no device gives one. */
const OPEN = 0xff;
/** RETI, its first byte lowest. */
const RETI = 0x4ded;

/** Devices up to the first that is being served: those behind it are kept back. */
function chain(devices: readonly Watched[]): readonly Watched[] {
  const first = devices.findIndex((each) => each.serving?.());
  return first < 0 ? devices : devices.slice(0, first + 1);
}

/** A line of a report, and when it was out. */
export interface SaidLine {
  text: string;
  clock: number;
}

/** The program's port: each character takes its time on the line, and comes back where a loop plug is. */
class Mouth implements Attached {
  said = "";
  readonly lines: SaidLine[] = [];
  readonly at: readonly number[];
  readonly ports: boolean;
  private lineFrom = 0;
  private free = 0;
  private got = -1;
  private readonly voice: Voice;
  private readonly character: number;
  private readonly plugged: boolean;

  constructor(voice: Voice, character: number, plugged: boolean) {
    this.at = [voice.data, voice.status];
    this.ports = voice.ports;
    this.voice = voice;
    this.character = character;
    this.plugged = plugged;
  }

  read(address: number, { clock }: PagedBus): number {
    if (address === this.voice.data) {
      const byte = Math.max(0, this.got);
      this.got = -1;
      return byte;
    }
    if (clock < this.free) return 0;
    const { ready, received } = this.voice;
    return ready | (this.plugged && this.got >= 0 ? received : 0);
  }

  write(address: number, value: number, bus: PagedBus): void {
    if (address !== this.voice.data) return;
    const { clock } = bus;
    this.got = value;
    this.said += String.fromCharCode(value & 0x7f);
    this.free = Math.max(this.free, clock) + this.character;
    if (value !== LINE_FEED) return;
    this.lines.push({ text: this.said.slice(this.lineFrom).trim(), clock });
    this.lineFrom = this.said.length;
    bus.deadline = clock;
  }
}

const attached = (device: Watched): Attached => ({
  at: device.at,
  ports: device.ports,
  read: (address, bus) => {
    const { clock } = bus;
    const asked = device.asks(clock);
    const value = device.read(address, clock);
    // A read may answer an interrupt.
    if (asked && !device.asks(clock)) bus.deadline = clock;
    return value;
  },
  write: (address, value, bus) => {
    device.write(address, value, bus.clock);
    bus.deadline = bus.clock;
  },
});

/**
 * A machine with a port that takes characters as fast as its line does, timers, and other ports with loop plugs: enough to run
 * any test program. The whole machine, with drives and terminals, is the room `rehearse`.
 */
export class Board extends TestMachine {
  private readonly mouth: Mouth;
  private readonly devices: readonly Watched[];

  /**
   * `character` is how many cycles one takes on the line; `roms` are images by the file that the bench names; `instead` gives
   * another device for one, to put a fault into it.
   */
  constructor(
    bench: Bench,
    program: TestProgram,
    character: number,
    roms?: ReadonlyMap<string, Uint8Array>,
    instead: (device: Watched) => Watched = (device) => device,
  ) {
    const map = memoryMapOf(bench);
    if (!map) throw new BugError("a test program's bench has a memory map");
    // Loop plugs are on all other ports, and on this one if there is no other.
    const others = bench.ports
      .filter((each) => each.name !== program.voice.port)
      .map((each) => speakerOf(bench, each))
      .filter((each) => typeof each !== "string");
    const mouth = new Mouth(program.voice, character, others.length === 0);
    const devices = [...watchedTimers(bench), ...others.map(({ voice }) => looped(voice, character))].map(instead);
    super(map, program, [mouth, ...devices.map(attached)], (clock) => {
      const first = chain(devices).find((each) => each.asks(clock));
      return first?.acknowledge?.() ?? OPEN;
    });
    this.mouth = mouth;
    this.devices = devices;
    if (roms) this.fill(roms);
    this.start();
  }

  /** What the program has printed. */
  get said(): string {
    return this.mouth.said;
  }

  get lines(): readonly SaidLine[] {
    return this.mouth.lines;
  }

  /** Runs until the report ends, or for so many cycles; says whether it ended. */
  run(cycles: number): boolean {
    const { bus, cpu, devices } = this;
    const until = bus.clock + cycles;
    while (bus.clock < until) {
      const { clock } = bus;
      let due = Math.min(until, clock + SLICE);
      for (const each of devices) due = Math.min(due, each.next(clock));
      const serving = devices.find((each) => each.serving?.());
      if (serving) this.serve(serving);
      else {
        bus.deadline = Math.max(due, clock + 1);
        cpu.run(bus.deadline);
      }
      cpu.drive(
        cpu.name === "Z80" ? "INT" : "IRQ",
        chain(devices).some((each) => each.asks(bus.clock)),
      );
      if (hasEnded(this.said) || cpu.condition === "stopped") break;
    }
    return hasEnded(this.said);
  }

  /** One instruction of a Z80 while a device watches for RETI. */
  private serve(device: Watched): void {
    const { bus, cpu } = this;
    const { clock } = bus;
    const opcode = bus.read(cpu.pc) | (bus.read((cpu.pc + 1) & 0xffff) << 8);
    // A look takes no time, however slow the memory.
    bus.clock = clock;
    cpu.step();
    if (opcode === RETI) device.returned?.();
  }

  /** Puts ROM images where they are seen at power-on. */
  private fill(roms: ReadonlyMap<string, Uint8Array>): void {
    const { map } = this;
    for (const { from, read } of map.view(map.powerOn)) {
      const region = read && map.computer.regions.find((each) => each.name === read.region);
      const image = region?.kind === "rom" && region.file !== undefined ? roms.get(region.file) : undefined;
      if (!image || !region || read!.mirror) continue;
      const at = this.seat(read!.part) + read!.offset - (from - region.from);
      this.memory.set(image.subarray(0, region.to - region.from + 1), at);
    }
  }
}
