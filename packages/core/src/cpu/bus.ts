import { BugError } from "../errors/index.ts";
import { type Bus, LONGEST } from "./types.ts";

/** A chip or latch that answers at addresses. The address is the whole one that the CPU put out. */
export interface Device {
  read(address: number): number;
  write(address: number, value: number): void;
}

export type Access = "read" | "write" | "both";

export interface Mapping {
  /** Default `both`. ROM is mapped for `read` only; where RAM lies under it, that RAM for `write`. */
  access?: Access;
  /** Wait states of one access, cycles. Default 0. */
  waits?: number;
}

/** Both ways, without wait states. */
const WHOLE: Mapping = {};

const PAGE = 256;
const PAGES = 0x1_0000 / PAGE;
/** In `base`: this page is not one run of memory without wait states; look at its cells. */
const CELLS = -1;

/** One page byte by byte: an offset into the memory where it is 0 or more, else the complement of a device's number. */
interface Cells {
  target: Int32Array;
  waits: Uint8Array;
}

/** One direction: what answers each page. */
interface Side {
  base: Int32Array;
  cells: Cells[];
}

/** Number of the device that answers where nothing is mapped. */
const NOBODY = 0;

/**
 * A CPU's 64 KiB of addresses on memory chips and devices, in pages of 256 bytes, or single bytes where a page is shared.
 * Whole pages of memory without wait states are the fast path: one table look-up. Moving a window costs two writes a page.
 */
export class PagedBus implements Bus {
  left = 0;
  /** The contents of all memory chips end to end: RAM, banks and ROM alike. */
  readonly memory: Uint8Array;
  /** The deadline; counting down to it keeps the hot path in small whole numbers. */
  private end = 0;
  private readonly view: DataView;
  private readonly reads: Side;
  private readonly writes: Side;
  private readonly readBase: Int32Array;
  private readonly writeBase: Int32Array;
  private readonly devices: Device[];
  private ports: Device;
  private readonly vector: () => number;

  /**
   * @param memory all memory chips end to end; the bus uses it, it makes no copy
   * @param nobody what a read gives where nothing answers. FF is what pull-ups give; a real bus may keep the last byte.
   * @param vector the byte on the data bus when a Z80 acknowledges an INT
   */
  constructor(memory: Uint8Array, nobody = 0xff, vector: () => number = () => 0xff) {
    this.memory = memory;
    this.view = new DataView(memory.buffer, memory.byteOffset, memory.length);
    const silent: Device = { read: () => nobody, write: () => {} };
    this.devices = [silent];
    this.ports = silent;
    this.vector = vector;
    this.reads = side();
    this.writes = side();
    this.readBase = this.reads.base;
    this.writeBase = this.writes.base;
  }

  get clock(): number {
    return this.end - this.left;
  }

  set clock(cycles: number) {
    const left = this.end - cycles;
    if (Math.abs(left) > LONGEST) {
      this.end = cycles;
      this.left = 0;
    } else this.left = Math.trunc(left);
  }

  get deadline(): number {
    return this.end;
  }

  set deadline(cycles: number) {
    const { clock } = this;
    this.left = Math.max(-LONGEST, Math.min(LONGEST, Math.ceil(cycles - clock)));
    this.end = clock + this.left;
  }

  ahead(address: number): number {
    const base = this.readBase[address >> 8]!;
    const within = address & 0xff;
    // FC: the last four bytes of a page. Written out, since a bundler turns a name into a variable that is looked up.
    return base >= 0 && within <= 0xfc ? this.view.getInt32(base + within, true) : -1;
  }

  read(address: number): number {
    const base = this.readBase[address >> 8]!;
    return base >= 0 ? this.memory[base + (address & 0xff)]! : this.readCell(address);
  }

  write(address: number, value: number): void {
    const base = this.writeBase[address >> 8]!;
    if (base >= 0) this.memory[base + (address & 0xff)] = value;
    else this.writeCell(address, value);
  }

  input(port: number): number {
    return this.ports.read(port);
  }

  output(port: number, value: number): void {
    this.ports.write(port, value);
  }

  acknowledge(): number {
    return this.vector();
  }

  /** Maps addresses `first` to `last` onto the memory from `offset` on. Throws BugError beyond its end. */
  mapMemory(first: number, last: number, offset: number, mapping: Mapping = WHOLE): void {
    if (offset < 0 || offset + last - first >= this.memory.length)
      throw new BugError(`mapMemory: ${offset} and ${last - first + 1} bytes are not within the memory`);
    if (mapping === WHOLE && ((first | ~last) & (PAGE - 1)) === 0) {
      // Systems that translate addresses do this thousands of times a second.
      for (let page = first / PAGE, begins = offset; page * PAGE < last; page++, begins += PAGE)
        this.readBase[page] = this.writeBase[page] = begins;
    } else this.map(first, last, offset, 1, mapping);
  }

  /** Maps addresses `first` to `last` onto a device. */
  mapDevice(first: number, last: number, device: Device, mapping: Mapping = {}): void {
    let number = this.devices.indexOf(device);
    if (number < 0) number = this.devices.push(device) - 1;
    this.map(first, last, ~number, 0, mapping);
  }

  /** Leaves addresses `first` to `last` without anything that answers. */
  unmap(first: number, last: number, access: Access = "both"): void {
    this.map(first, last, ~NOBODY, 0, { access });
  }

  /** Z80: what answers at port numbers. */
  mapPorts(device: Device): void {
    this.ports = device;
  }

  private map(
    first: number,
    last: number,
    target: number,
    stride: 0 | 1,
    { access = "both", waits = 0 }: Mapping,
  ): void {
    if (!(first >= 0 && first <= last && last < PAGES * PAGE)) throw new BugError(`map: ${first} to ${last}`);
    if (access !== "write") mapSide(this.reads, first, last, target, stride, waits);
    if (access !== "read") mapSide(this.writes, first, last, target, stride, waits);
  }

  private readCell(address: number): number {
    const { target, waits } = this.reads.cells[address >> 8]!;
    const cell = address & 0xff;
    this.left -= waits[cell]!;
    const found = target[cell]!;
    return found >= 0 ? this.memory[found]! : this.devices[~found]!.read(address) & 0xff;
  }

  private writeCell(address: number, value: number): void {
    const { target, waits } = this.writes.cells[address >> 8]!;
    const cell = address & 0xff;
    this.left -= waits[cell]!;
    const found = target[cell]!;
    if (found >= 0) this.memory[found] = value;
    else this.devices[~found]!.write(address, value);
  }
}

const blank = (): Cells => ({ target: new Int32Array(PAGE).fill(~NOBODY), waits: new Uint8Array(PAGE) });

const side = (): Side => ({
  base: new Int32Array(PAGES).fill(CELLS),
  cells: Array.from({ length: PAGES }, blank),
});

function mapSide(side: Side, first: number, last: number, target: number, stride: 0 | 1, waits: number): void {
  for (let start = first; start <= last; ) {
    const page = start >> 8;
    const end = Math.min(last, page * PAGE + PAGE - 1);
    const begins = target + (start - first) * stride;
    if (end - start === PAGE - 1 && stride === 1 && waits === 0) side.base[page] = begins;
    else mapCells(side, page, start, end, begins, stride, waits);
    start = end + 1;
  }
}

function mapCells(side: Side, page: number, start: number, end: number, target: number, stride: 0 | 1, waits: number) {
  const cells = side.cells[page]!;
  const base = side.base[page]!;
  if (base !== CELLS) {
    for (let i = 0; i < PAGE; i++) cells.target[i] = base + i;
    cells.waits.fill(0);
    side.base[page] = CELLS;
  }
  for (let address = start; address <= end; address++) {
    cells.target[address & 0xff] = target + (address - start) * stride;
    cells.waits[address & 0xff] = waits;
  }
}
