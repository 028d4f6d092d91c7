import { fileURLToPath } from "node:url";
import { CpuZ80, PagedBus } from "@rouse/core/cpu";
import { buildExtentEntry, STANDARD_8_INCH } from "@rouse/core/volume/extent-entry";
import { describe, expect, it } from "vitest";
import { onePiece } from "./assembled.ts";
import { larkfieldZDisk, larkfieldZRom } from "./larkfield-z.ts";

/** The system of the Larkfield Z, running on a plain model of its machine: no drive mechanics, no errors on the line. */

const FOLDER = fileURLToPath(new URL("larkfield-z", import.meta.url));
const disk = larkfieldZDisk(FOLDER);
const rom = larkfieldZRom(FOLDER);
const PROMPT = "next: ";

const CLOCK = 4_000_000;
/** Cycles of a character: ten bits at 9,600 bit/s; and of a sector. */
const CHARACTER = (10 * CLOCK) / 9600;
const SECTOR_TIME = CLOCK / 200;

class LarkfieldZ {
  shown = "";
  private readonly bus = new PagedBus(new Uint8Array(0x11000));
  private readonly cpu = new CpuZ80(this.bus);
  private readonly disk: Uint8Array;
  private readonly keys: number[] = [];
  private readonly at = { track: 0, sector: 0, first: 0, next: 128, error: 0, until: 0 };
  private free = 0;

  constructor(image: Uint8Array) {
    this.disk = image;
    this.bus.memory.set(rom, 0x10000);
    this.bus.mapMemory(0, 0xffff, 0);
    this.bus.mapMemory(0xf000, 0xffff, 0x10000, { access: "read" });
    this.bus.mapPorts({
      read: (port) => this.input(port & 0xff),
      write: (port, value) => this.output(port & 0xff, value),
    });
    this.cpu.reset();
    this.cpu.set("PC", 0xf000); // the board puts a jump to the ROM on the bus at power-on
  }

  /** Types, and gives what is shown until `expected` has come behind the echo. */
  say(text: string, expected: string): string {
    const from = this.shown.length;
    this.keys.push(...new TextEncoder().encode(text));
    const end = this.bus.clock + 20 * CLOCK;
    while (this.shown.indexOf(expected, from + text.length) < 0) {
      if (this.bus.clock > end) throw new Error(`“${expected}” did not come: ${this.shown.slice(from)}`);
      this.bus.deadline = this.bus.clock + 1000;
      this.cpu.run(this.bus.clock + 1000);
    }
    return this.shown.slice(from);
  }

  private input(port: number): number {
    const { at } = this;
    if (port === 0x10) return this.keys.shift() ?? 0;
    if (port === 0x11) return (this.bus.clock >= this.free ? 1 : 0) | (this.keys.length > 0 ? 2 : 0);
    if (port === 0x20) return (this.bus.clock < at.until ? 0x80 : at.next < 128 ? 0x40 : 0) | at.error;
    if (port === 0x23 && at.next < 128) return this.disk[at.first + at.next++] ?? 0xe5;
    return 0xff;
  }

  private output(port: number, value: number): void {
    const { at } = this;
    if (port === 0x10) {
      this.shown += String.fromCharCode(value);
      this.free = this.bus.clock + CHARACTER;
    } else if (port === 0x21) at.track = value;
    else if (port === 0x22) at.sector = value;
    else if (port === 0x20) {
      at.error = value === 1 && at.track < 77 && at.sector >= 1 && at.sector <= 26 ? 0 : 1;
      at.first = (at.track * 26 + at.sector - 1) * 128;
      at.next = at.error ? 128 : 0;
      at.until = this.bus.clock + SECTOR_TIME;
    }
  }
}

const started = (image = disk): LarkfieldZ => {
  const machine = new LarkfieldZ(image);
  machine.say("", "FILES\r\n");
  machine.say("", PROMPT);
  return machine;
};

describe("the system of the Larkfield Z", () => {
  it("starts, does what START.SUB says, and lists its files", () => {
    const { shown } = started();
    expect(shown).toContain("Larkfield Z, monitor 1\r\nLarkfield Z, system 1\r\n");
    expect(shown).toContain("\u001b[H\u001b[2J");
    expect(shown).toContain("Welcome to the Larkfield Z.");
    expect(shown).toContain("FILES   .COM   SHOW    .COM   DUMP    .COM   SUMS    .COM   WIPE    .COM");
  });

  it("shows a text, and lets a line be corrected", () => {
    const machine = started();
    expect(machine.say("shiw\b\bow care.txt\r", PROMPT)).toContain(
      "A disk that squeaks in the drive comes out at once.",
    );
    expect(machine.say("show care\r", PROMPT)).toContain("There is no such file.");
    expect(machine.say("shout\r", PROMPT)).toContain("There is no such program");
  });

  it("dumps a program as it stands on the disk", () => {
    expect(started().say("dump wipe.com\r", PROMPT)).toMatch(/0000 {2}21 0D 01 06 07 7E CD 03 E0 23 10 F9 C9 1B 5B 48/);
  });

  it("reads a file of several extents to its end", () => {
    const long = Uint8Array.from({ length: 40_000 }, (_, at) => (at * 7 + (at >> 9)) & 0xff);
    const file = (path: string, bytes: Uint8Array) => ({ path, type: "file" as const, bytes });
    const image = buildExtentEntry(
      [
        file("START.SUB", new TextEncoder().encode("; FILES\r\n")),
        file("LONG.DAT", long),
        file("SUMS.COM", onePiece(FOLDER, "programs/sums.asm")),
      ],
      STANDARD_8_INCH,
      disk.slice(0, 2 * 26 * 128),
    );
    // Whole records of 128 bytes are read; the builder fills the last one with 1A.
    const filled = Math.ceil(long.length / 128) * 128 - long.length;
    const sum = (long.reduce((total, byte) => total + byte, 0) + filled * 0x1a) & 0xffff;
    expect(started(image).say("sums long.dat\r", PROMPT)).toContain(sum.toString(16).toUpperCase().padStart(4, "0"));
  });

  it("waits for another disk where this one starts nothing", () => {
    const machine = new LarkfieldZ(new Uint8Array(disk.length));
    expect(machine.say("", "again.")).toContain("This disk starts nothing.");
  });
});
