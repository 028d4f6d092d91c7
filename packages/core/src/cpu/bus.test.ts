import { describe, expect, it } from "vitest";
import { type Device, PagedBus } from "./index.ts";

const filled = (size: number) => Uint8Array.from({ length: size }, (_, i) => (i >> 8) + i);

describe("PagedBus", () => {
  it("reads what nobody drives as pull-ups, and drops writes there", () => {
    const bus = new PagedBus(new Uint8Array(256));
    bus.write(0x1234, 5);
    expect(bus.read(0x1234)).toBe(0xff);
    expect(bus.memory.every((byte) => byte === 0)).toBe(true);
  });

  it("moves a window over banks", () => {
    const bus = new PagedBus(filled(0x8000));
    bus.mapMemory(0xc000, 0xdfff, 0x2000);
    expect(bus.read(0xc001)).toBe(0x21);
    bus.mapMemory(0xc000, 0xdfff, 0x4000);
    expect(bus.read(0xc001)).toBe(0x41);
    bus.write(0xdfff, 0x99);
    expect(bus.memory[0x5fff]).toBe(0x99);
  });

  it("reads ROM and writes the RAM under it", () => {
    const bus = new PagedBus(filled(0x2000));
    bus.mapMemory(0, 0xfff, 0);
    bus.mapMemory(0, 0xfff, 0x1000, { access: "read" });
    bus.write(0x10, 0x77);
    expect(bus.read(0x10)).toBe(0x20);
    expect(bus.memory[0x10]).toBe(0x77);
  });

  it("gives a device single bytes of a page of memory, and gives them back", () => {
    const bus = new PagedBus(new Uint8Array(0x10000));
    const device: Device = {
      read: (address) => address & 3,
      write: (_address, value) => void bus.memory.fill(value, 0, 1),
    };
    bus.mapMemory(0, 0xffff, 0);
    bus.mapDevice(0xff6a, 0xff6b, device);
    expect([0xff69, 0xff6a, 0xff6b, 0xff6c].map((address) => bus.read(address))).toEqual([0, 2, 3, 0]);
    bus.write(0xff6a, 0x55);
    expect(bus.memory[0]).toBe(0x55);
    bus.write(0xff6c, 0x66);
    expect(bus.read(0xff6c)).toBe(0x66);
    bus.unmap(0xff6a, 0xff6a);
    expect(bus.read(0xff6a)).toBe(0xff);
    bus.mapMemory(0xff00, 0xffff, 0xff00);
    expect(bus.read(0xff6a)).toBe(0);
  });

  it("adds wait states to the clock, on the reads and writes of the slow addresses only", () => {
    const bus = new PagedBus(new Uint8Array(0x200));
    bus.mapMemory(0, 0xff, 0);
    bus.mapMemory(0x100, 0x1ff, 0x100, { waits: 2 });
    bus.write(0x180, 3);
    expect(bus.clock).toBe(2);
    expect(bus.read(0x180)).toBe(3);
    expect(bus.clock).toBe(4);
    bus.read(0x80);
    expect(bus.clock).toBe(4);
  });

  it("agrees with a map kept byte by byte, whatever is mapped over what", () => {
    const memory = filled(0x4000);
    const bus = new PagedBus(memory);
    const device: Device = { read: () => 0x5a, write: () => {} };
    const plain = new Uint8Array(0x10000).fill(0xff);
    let seed = 12345;
    const below = (n: number) => {
      seed = (Math.imul(seed, 1103515245) + 12345) >>> 0;
      return (seed >>> 8) % n;
    };
    for (let i = 0; i < 300; i++) {
      const aligned = below(2) === 0;
      const first = aligned ? below(0xe0) * 256 : below(0xe000);
      const length = aligned ? (1 + below(8)) * 256 : 1 + below(700);
      const last = first + length - 1;
      const kind = below(4);
      if (kind === 0) bus.unmap(first, last);
      else if (kind === 1) bus.mapDevice(first, last, device);
      else bus.mapMemory(first, last, 0x1000, { access: kind === 2 ? "both" : "read" });
      for (let a = first; a <= last; a++)
        plain[a] = kind === 0 ? 0xff : kind === 1 ? 0x5a : memory[0x1000 + a - first]!;
    }
    expect(Uint8Array.from({ length: 0x10000 }, (_, address) => bus.read(address))).toEqual(plain);
  });

  it("refuses memory beyond its end and addresses beyond FFFF", () => {
    const bus = new PagedBus(new Uint8Array(256));
    expect(() => bus.mapMemory(0, 256, 0)).toThrow("not within the memory");
    expect(() => bus.mapDevice(0xfff0, 0x10000, { read: () => 0, write: () => {} })).toThrow("map");
  });
});
