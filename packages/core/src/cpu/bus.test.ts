import { describe, expect, it } from "vitest";
import { type Cpu, Cpu6502, Cpu6809, CpuZ80, type Device, PagedBus } from "./index.ts";

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

describe("the clock", () => {
  it("goes on while a deadline is set, lowered and passed", () => {
    const bus = new PagedBus(new Uint8Array(256));
    bus.clock = 5e12;
    bus.deadline = 5e12 + 1000;
    bus.left -= 10;
    expect([bus.clock, bus.deadline, bus.left]).toEqual([5e12 + 10, 5e12 + 1000, 990]);
    bus.deadline = 5e12 + 50;
    expect([bus.clock, bus.left]).toEqual([5e12 + 10, 40]);
    bus.clock += 100;
    expect([bus.clock, bus.left]).toEqual([5e12 + 110, -60]);
    bus.clock = 7;
    expect(bus.clock).toBe(7);
  });

  it("lets run end early where a device lowers the deadline, and go beyond the longest slice otherwise", () => {
    const memory = new Uint8Array(0x10000);
    // HALT at 0: waits for ever. At 100: OUT (0),A, then HALT.
    memory.set([0x76], 0);
    memory.set([0xd3, 0x00, 0x76], 0x100);
    const bus = new PagedBus(memory);
    bus.mapMemory(0, 0xffff, 0);
    bus.mapPorts({
      read: () => 0,
      write: () => {
        bus.deadline = bus.clock + 40;
      },
    });
    const cpu = new CpuZ80(bus);
    cpu.run(3e10);
    expect(bus.clock).toBe(3e10);
    cpu.reset();
    cpu.set("PC", 0x100);
    cpu.run(4e10);
    expect(bus.clock).toBe(3e10 + 11 + 40);
  });
});

describe("a CPU on the paged bus", () => {
  const kinds: [string, (bus: PagedBus) => Cpu][] = [
    ["6502", (bus) => new Cpu6502(bus)],
    ["Z80", (bus) => new CpuZ80(bus)],
    ["6809", (bus) => new Cpu6809(bus)],
  ];
  it.each(kinds)("runs a %s on memory that is mapped by the byte as on whole pages", (_name, make) => {
    let seed = 99;
    const random = (below: number) => {
      seed = (Math.imul(seed, 1103515245) + 12345) >>> 0;
      return Math.floor((seed / 2 ** 32) * below);
    };
    const content = Uint8Array.from({ length: 0x10000 }, () => random(256));
    const whole = new PagedBus(content.slice());
    const bytewise = new PagedBus(content.slice());
    whole.mapMemory(0, 0xffff, 0);
    for (let half = 0; half < 0x10000; half += 128) bytewise.mapMemory(half, half + 127, half);
    const [fast, slow] = [make(whole), make(bytewise)];
    for (let i = 0; i < 20_000; i++) {
      if (i % 8 === 0 || fast.condition !== "runs") {
        fast.reset();
        const pc = random(0x10000);
        for (const { name, bits } of fast.registers) fast.set(name, name === "PC" ? pc : random(2 ** bits));
        slow.restore(fast.save());
      }
      if (fast.step() !== slow.step()) expect(slow.save()).toEqual(fast.save());
      if (i % 8 === 7) expect(slow.save()).toEqual(fast.save());
    }
    expect(whole.memory.every((byte, at) => byte === bytewise.memory[at])).toBe(true);
    expect(bytewise.clock).toBe(whole.clock);
  });

  it("waits for slow memory at each byte of an instruction", () => {
    const memory = new Uint8Array(0x10000);
    memory.set([0xad, 0x34, 0x12], 0x8000);
    const bus = new PagedBus(memory);
    bus.mapMemory(0, 0x7fff, 0);
    bus.mapMemory(0x8000, 0xffff, 0x8000, { waits: 1 });
    const cpu = new Cpu6502(bus);
    cpu.set("PC", 0x8000);
    expect(cpu.step()).toBe(4 + 3);
  });
});
