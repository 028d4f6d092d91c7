import { Cpu6809, type Device, PagedBus } from "@rouse/core/cpu";

/**
 * The Larkfield 9 as docs/demo.md describes it, just enough of it to run Tern in a test: no drive mechanics, only a fixed
 * time for each block.
 */

const CLOCK = 1_500_000;
/** Cycles of a character: ten bits at 2,400 bit/s. */
const CHARACTER = (10 * CLOCK) / 2400;
const TICK = 32_768;
const BLOCK_TIME = CLOCK / 50;
const KIB_4 = 4096;
const BLOCKS = 28;
const ROM = BLOCKS * KIB_4;
/** Devices are looked at this often, in cycles. */
const SLICE = 250;

/** A 6850 with a person behind it: `type` sends, `shown` is what came back. */
class Terminal implements Device {
  shown = "";
  private control = 0;
  private received = -1;
  private free = 0;
  private nextKey = 0;
  private keys: number[] = [];
  private readonly bus: PagedBus;

  constructor(bus: PagedBus) {
    this.bus = bus;
  }

  type(text: string): void {
    this.keys.push(...new TextEncoder().encode(text));
  }

  /** Whether it asks for an interrupt. */
  update(): boolean {
    if (this.received < 0 && this.keys.length > 0 && this.bus.clock >= this.nextKey) {
      this.received = this.keys.shift()!;
      this.nextKey = this.bus.clock + CHARACTER;
    }
    const receive = (this.control & 0x80) !== 0 && this.received >= 0;
    const send = (this.control & 0x60) === 0x20 && this.bus.clock >= this.free;
    return receive || send;
  }

  read(address: number): number {
    if (address & 1) {
      const byte = Math.max(0, this.received);
      this.received = -1;
      return byte;
    }
    return (this.update() ? 0x80 : 0) | (this.bus.clock >= this.free ? 2 : 0) | (this.received >= 0 ? 1 : 0);
  }

  write(address: number, value: number): void {
    if (address & 1) {
      this.shown += String.fromCharCode(value);
      this.free = Math.max(this.free, this.bus.clock) + CHARACTER;
    } else this.control = value;
  }
}

/** The block controller at $FF10. */
class Controller implements Device {
  private readonly bus: PagedBus;
  private readonly disk: Uint8Array;
  private readonly blocks: number;
  private readonly at = new Uint8Array(3);
  private until = 0;
  private next = 256;
  private error = 0;
  private first = 0;
  reads = 0;

  constructor(bus: PagedBus, disk: Uint8Array, blocks: number) {
    this.bus = bus;
    this.disk = disk;
    this.blocks = blocks;
  }

  read(address: number): number {
    const busy = this.bus.clock < this.until;
    if ((address & 7) === 0) return (busy ? 0x80 : this.next < 256 ? 0x40 : 0) | this.error;
    return (address & 7) === 4 && !busy && this.next < 256 ? this.disk[this.first + this.next++]! : 0xff;
  }

  write(address: number, value: number): void {
    const register = address & 7;
    if (register >= 1 && register <= 3) this.at[register - 1] = value;
    if (register !== 0) return;
    const block = (this.at[1]! << 8) | this.at[2]!;
    this.first = block * 256;
    const there = this.at[0] === 8 && value === 1 && block < this.blocks;
    this.error = there ? 0 : this.at[0] === 8 ? 5 : 3;
    this.next = there ? 0 : 256;
    this.until = this.bus.clock + BLOCK_TIME;
    this.reads++;
  }
}

export class Larkfield9 {
  readonly bus = new PagedBus(new Uint8Array(ROM + 0x2000));
  readonly cpu = new Cpu6809(this.bus);
  readonly console = new Terminal(this.bus);
  readonly second = new Terminal(this.bus);
  readonly controller: Controller;
  private readonly maps = [new Uint8Array(16), new Uint8Array(16)];
  private latch = 0;
  private bank = 0;
  private ticked = 0;
  private cleared = 0;

  /** `blocks` is how many of the disk's blocks the drive reaches. */
  constructor(
    disk: Uint8Array,
    { monitor, vectors }: { monitor: Uint8Array; vectors: Uint8Array },
    blocks = disk.length / 256,
  ) {
    this.controller = new Controller(this.bus, disk, blocks);
    this.bus.memory.set(monitor, ROM);
    this.bus.memory.set(vectors, ROM + 0x1f80);
    this.bus.mapMemory(0xe000, 0xfeff, ROM, { access: "read" });
    this.bus.mapMemory(0xff80, 0xffff, ROM + 0x1f80, { access: "read" });
    this.bus.mapDevice(0xff00, 0xff01, this.console);
    this.bus.mapDevice(0xff04, 0xff05, this.second);
    this.bus.mapDevice(0xff08, 0xff08, {
      read: () => (this.ticks() > this.cleared ? 0x80 : 0),
      write: () => {
        this.cleared = this.ticks();
      },
    });
    this.bus.mapDevice(0xff10, 0xff14, this.controller);
    this.bus.mapDevice(0xff60, 0xff6f, {
      read: () => 0xff,
      write: (address, value) => {
        this.maps[(this.latch >> 1) & 1]![address & 15] = value & 31;
        this.translate();
      },
    });
    this.bus.mapDevice(0xff70, 0xff70, {
      read: () => 0xff,
      write: (_, value) => {
        this.latch = value;
        this.translate();
      },
    });
    this.bus.mapDevice(0xff7f, 0xff7f, {
      read: () => 0xff,
      write: (_, value) => {
        this.bank = value & 7;
        this.translate();
      },
    });
    this.translate();
    this.cpu.reset();
  }

  /** Runs until `done`, or for `seconds` at most; says whether it was done. */
  run(seconds: number, done: () => boolean = () => false): boolean {
    const end = this.bus.clock + seconds * CLOCK;
    while (this.bus.clock < end) {
      this.bus.deadline = this.bus.clock + SLICE;
      this.cpu.run(this.bus.clock + SLICE);
      const interrupt = [this.console.update(), this.second.update(), this.ticks() > this.cleared];
      this.cpu.drive("IRQ", interrupt.includes(true));
      if (done()) return true;
    }
    return false;
  }

  /** Types at a terminal and gives what it shows from then on until `expected` has come, behind the echo if there is one. */
  say(terminal: Terminal, text: string, expected: string, seconds = 20, echo = true): string {
    const from = terminal.shown.length;
    terminal.type(text);
    const came = () => terminal.shown.indexOf(expected, from + (echo ? text.length : 0)) >= 0;
    if (!this.run(seconds, came)) throw new Error(`“${expected}” did not come: ${terminal.shown.slice(from)}`);
    return terminal.shown.slice(from);
  }

  get seconds(): number {
    return this.bus.clock / CLOCK;
  }

  private ticks(): number {
    this.ticked = Math.floor(this.bus.clock / TICK);
    return this.ticked;
  }

  private translate(): void {
    for (let block = 0; block < 14; block++) {
      const wired = block < 12 ? block : 12 + 2 * this.bank + (block - 12);
      const physical = this.latch & 0x80 ? this.maps[this.latch & 1]![block]! : wired;
      const at = block * KIB_4;
      if (physical < BLOCKS) this.bus.mapMemory(at, at + KIB_4 - 1, physical * KIB_4);
      else this.bus.unmap(at, at + KIB_4 - 1);
    }
  }
}
