import { describe, expect, it } from "vitest";
import { Cpu6502, PagedBus } from "../index.ts";

/** A CPU on 64 KiB of RAM with a program at 1000; NMI goes to 4000, reset to 1000, IRQ and BRK to 5000. */
function machine(...program: number[]) {
  const memory = new Uint8Array(0x10000);
  memory.set(program, 0x1000);
  memory.set([0x00, 0x40, 0x00, 0x10, 0x00, 0x50], 0xfffa);
  const bus = new PagedBus(memory);
  bus.mapMemory(0, 0xffff, 0);
  const cpu = new Cpu6502(bus);
  cpu.reset();
  cpu.set("S", 0xff);
  return { cpu, bus, memory };
}

/** Accesses to 2000 to 21FF while a program runs one instruction. */
function accesses(program: number[], registers: Record<string, number>): string[] {
  const seen: string[] = [];
  const { cpu, bus, memory } = machine(...program);
  memory.set([0xf0, 0x20], 0x80);
  bus.mapDevice(0x2000, 0x21ff, {
    read: (address) => {
      seen.push(`read ${address.toString(16)}`);
      return 0x41;
    },
    write: (address, value) => seen.push(`write ${value.toString(16)} to ${address.toString(16)}`),
  });
  for (const [name, value] of Object.entries(registers)) cpu.set(name, value);
  cpu.step();
  return seen;
}

describe("the 6502's bus", () => {
  // MCS6500 hardware manual, appendix A: what each cycle puts on the bus.
  it("reads without the carry first where an index crosses a page", () => {
    expect(accesses([0xbd, 0xf0, 0x20], { X: 0x20 })).toEqual(["read 2010", "read 2110"]);
    expect(accesses([0xb1, 0x80], { Y: 0x20 })).toEqual(["read 2010", "read 2110"]);
    expect(accesses([0xbd, 0xf0, 0x20], { X: 0x05 })).toEqual(["read 20f5"]);
  });

  it("always reads first where an indexed instruction writes", () => {
    expect(accesses([0x9d, 0x00, 0x20], { X: 1, A: 7 })).toEqual(["read 2001", "write 7 to 2001"]);
    expect(accesses([0x91, 0x80], { Y: 0x10, A: 7 })).toEqual(["read 2000", "write 7 to 2100"]);
  });

  it("writes the old value before the new one", () => {
    expect(accesses([0xee, 0x00, 0x20], {})).toEqual(["read 2000", "write 41 to 2000", "write 42 to 2000"]);
  });

  it("takes both bytes of JMP ($19FF) from one page", () => {
    const { cpu, memory } = machine(0x6c, 0xff, 0x19);
    memory[0x19ff] = 0x34;
    memory[0x1900] = 0x12;
    memory[0x1a00] = 0x56;
    expect(cpu.step()).toBe(5);
    expect(cpu.get("PC")).toBe(0x1234);
  });
});

describe("the 6502's interrupts", () => {
  it("takes IRQ in 7 cycles with B clear, and only while it is not masked", () => {
    const { cpu, memory } = machine(0x58, 0xea);
    cpu.drive("IRQ", true);
    expect(cpu.step()).toBe(2);
    expect(cpu.step()).toBe(7);
    expect(cpu.get("PC")).toBe(0x5000);
    expect([...memory.slice(0x1fd, 0x200)]).toEqual([0x20, 0x01, 0x10]);
    expect(cpu.get("P") & 0x04).toBe(0x04);
  });

  it("takes each edge of NMI once, masked or not", () => {
    const { cpu } = machine(0xea);
    cpu.drive("NMI", true);
    cpu.drive("NMI", true);
    expect(cpu.step()).toBe(7);
    expect(cpu.get("PC")).toBe(0x4000);
    cpu.set("PC", 0x1000);
    expect(cpu.step()).toBe(2);
  });

  it("pushes the address after BRK's second byte, with B set, and RTI goes there", () => {
    const { cpu, memory } = machine(0x00, 0x11, 0xea);
    memory[0x5000] = 0x40;
    expect(cpu.step()).toBe(7);
    expect(memory[0x1fd]! & 0x10).toBe(0x10);
    expect(cpu.step()).toBe(6);
    expect(cpu.get("PC")).toBe(0x1002);
  });
});

describe("the 6502 as a machine part", () => {
  it("jams at an opcode that jams it until reset", () => {
    const { cpu, bus } = machine(0xea, 0x02);
    cpu.run(500);
    expect(cpu.condition).toBe("stopped");
    expect(cpu.get("PC")).toBe(0x1001);
    expect(bus.clock).toBe(500);
    cpu.reset();
    expect(cpu.condition).toBe("runs");
  });

  it("runs on from a saved state as the first one did", () => {
    const { cpu, bus } = machine(0x69, 0x07, 0xaa, 0x4c, 0x00, 0x10);
    cpu.run(99);
    const other = new Cpu6502(bus);
    other.restore(JSON.parse(JSON.stringify(cpu.save())));
    for (let i = 0; i < 5; i++) expect(other.step()).toBe(cpu.step());
    expect(other.save()).toEqual(cpu.save());
  });

  it("tells an unknown register or line", () => {
    const { cpu } = machine();
    expect(() => cpu.set("B", 0)).toThrow("no register B");
    expect(() => cpu.drive("FIRQ", true)).toThrow("no FIRQ");
  });
});
