import type { BenchController } from "../bench/index.ts";
import type { Device } from "../cpu/index.ts";
import { type DiskDrive, REASON, type Served } from "./drive.ts";
import type { Host, Unit } from "./unit.ts";

const READ = 1;
const WRITE = 2;
const BUSY = 0x80;
const READY = 0x40;
const FAILED = 0x01;

/** The most bytes of a block that its buffer holds. */
const MOST_BYTES = 8192;

/** The disk controller of docs/rehearsal.md: asked by block number, or by track, side and sector. It has a buffer of one block. */
export class Controller implements Unit, Device {
  readonly asks = false;
  readonly registers: number;
  state = {
    /** What was written to each register. */
    asked: [] as number[],
    busyUntil: 0,
    next: 0,
    size: 0,
    status: 0,
    /** Block under way and what is done with it: 0 nothing, else the command. */
    block: -1,
    drive: -1,
    command: 0,
    buffer: new Uint8Array(MOST_BYTES),
    filled: 0,
  };
  private readonly host: Host;
  private readonly at: BenchController["registers"];
  private readonly drives: readonly DiskDrive[];

  constructor(host: Host, bench: BenchController, drives: readonly DiskDrive[]) {
    this.host = host;
    this.at = bench.registers;
    this.drives = drives;
    this.registers = Math.max(...Object.values(bench.registers)) + 1;
    this.state.asked = Array(this.registers).fill(0);
  }

  readonly next = Number.POSITIVE_INFINITY;
  advance(): void {}

  get busy(): boolean {
    return this.host.now() < this.state.busyUntil;
  }

  read(register: number): number {
    const { state, at } = this;
    if (register === at.command) return (this.busy ? BUSY : state.next < state.size ? READY : 0) | state.status;
    if (register === at.data && state.command !== WRITE && !this.busy && state.next < state.size)
      return state.buffer[state.next++]!;
    return 0xff;
  }

  write(register: number, value: number): void {
    const { state, at } = this;
    if (register === at.data) this.fill(value);
    else if (register !== at.command) state.asked[register] = value;
    else if (!this.busy) this.begin(value);
  }

  private begin(command: number): void {
    const { state } = this;
    const now = this.host.now();
    state.command = command;
    state.next = state.size = state.status = 0;
    const found = command === READ || command === WRITE ? this.found() : undefined;
    if (!found) {
      this.fail(REASON.noDrive, now);
      return;
    }
    const { drive, block } = found;
    state.drive = this.drives.indexOf(drive);
    state.block = block;
    if (block < 0) this.fail(REASON.noBlock, now);
    else if (command === READ) {
      this.served(drive.read(block, now));
      if (state.status === 0) {
        state.buffer.set(drive.content(block));
        state.size = drive.blocks.size(block);
      }
      state.filled = 0;
    } else if (block >= drive.blocks.blocks) this.fail(REASON.noBlock, now);
    else {
      state.size = drive.blocks.size(block);
      // The bytes may have come before the command, or come now.
      state.next = Math.min(state.filled, state.size);
      if (state.next === state.size) this.writeBlock();
    }
  }

  private fill(value: number): void {
    const { state } = this;
    if (this.busy) return;
    if (state.command === WRITE && state.next < state.size) {
      state.buffer[state.next++] = value;
      if (state.next === state.size) this.writeBlock();
    } else if (state.filled < MOST_BYTES) {
      state.command = 0;
      state.buffer[state.filled++] = value;
    }
  }

  private writeBlock(): void {
    const { state } = this;
    this.served(this.drives[state.drive]!.write(state.block, state.buffer.subarray(0, state.size), this.host.now()));
    state.command = state.filled = state.next = state.size = 0;
  }

  private served({ reason, done }: Served): void {
    this.state.busyUntil = done;
    if (reason !== REASON.none) this.fail(reason, done);
  }

  private fail(reason: number, until: number): void {
    this.state.status = FAILED | (reason << 1);
    this.state.busyUntil = until;
  }

  /** The drive and the block that the registers ask for; the block is −1 where there is no such place. */
  private found(): { drive: DiskDrive; block: number } | undefined {
    const { at } = this;
    const value = (register: number | undefined) => (register === undefined ? 0 : this.state.asked[register]!);
    const drive =
      at.address === undefined
        ? this.drives[0]
        : this.drives.find(({ image }) => image.drive?.address === value(at.address));
    if (!drive) return undefined;
    if (at.track === undefined) return { drive, block: (value(at.high) << 8) | value(at.low) };
    const { geometry } = drive.blocks;
    const place = {
      track: value(at.track) - geometry.firstTrack,
      side: value(at.side) as 0 | 1,
      sector: value(at.sector) - geometry.firstSector,
    };
    const zone = geometry.zones.find(
      (each) =>
        place.track >= each.from && place.track <= each.to && (each.side === undefined || each.side === place.side),
    );
    const there = zone && place.side < geometry.sides && place.sector >= 0 && place.sector < zone.sectors;
    return { drive, block: there ? drive.blocks.block(place) : -1 };
  }
}
