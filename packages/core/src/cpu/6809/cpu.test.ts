import { describe, expect, it } from "vitest";
import { Cpu6809, PagedBus } from "../index.ts";

/** A CPU on 64 KiB of RAM with a program at 1000 and the reset vector on it. */
function machine(...program: number[]) {
  const memory = new Uint8Array(0x10000);
  memory.set(program, 0x1000);
  memory.set([0x20, 0x00, 0x30, 0x00, 0x40, 0x00, 0x50, 0x00, 0x60, 0x00, 0x70, 0x00, 0x10, 0x00], 0xfff2);
  const bus = new PagedBus(memory);
  bus.mapMemory(0, 0xffff, 0);
  const cpu = new Cpu6809(bus);
  cpu.reset();
  return { cpu, bus, memory };
}

const steps = (cpu: Cpu6809, count: number) => Array.from({ length: count }, () => cpu.step());

describe("the 6809's cycles", () => {
  // Worked by hand from the MC6809 data sheet: the instruction's cycles plus those of its postbyte.
  it.each([
    ["LDA 1000,X", [0xa6, 0x89, 0x03, 0xe8], 8],
    ["LDD ,X++", [0xec, 0x81], 8],
    ["LDA [D,Y]", [0xa6, 0xbb], 11],
    ["PSHS with all registers", [0x34, 0xff], 17],
    ["LEAX 5,X", [0x30, 0x05], 5],
    ["JSR [$2000]", [0xad, 0x9f, 0x20, 0x00], 12],
    ["CMPS [$1234,PCR]", [0x11, 0xac, 0x9d, 0x12, 0x34], 15],
    ["MUL", [0x3d], 11],
    ["LBRA", [0x16, 0, 0], 5],
    ["LBCC taken", [0x10, 0x24, 0, 0], 6],
    ["LBCS not taken", [0x10, 0x25, 0, 0], 5],
  ])("counts %s", (_name, program, cycles) => {
    const { cpu } = machine(...program);
    cpu.set("S", 0x8000);
    expect(cpu.step()).toBe(cycles);
  });
});

describe("the 6809's interrupts", () => {
  it("stacks all registers for IRQ, masks it, and comes back by RTI in 15 cycles", () => {
    const { cpu, memory } = machine(0x12);
    memory[0x5000] = 0x3b;
    for (const [name, value] of Object.entries({ S: 0x8000, CC: 0x40, A: 1, B: 2, X: 0x1122, Y: 0x3344, U: 0x5566 }))
      cpu.set(name, value);
    cpu.drive("IRQ", true);
    expect(cpu.step()).toBe(19);
    expect(cpu.get("PC")).toBe(0x5000);
    expect(cpu.get("CC")).toBe(0xd0);
    expect([...memory.slice(0x7ff4, 0x8000)]).toEqual([0xc0, 1, 2, 0, 0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x10, 0x00]);
    cpu.drive("IRQ", false);
    expect(cpu.step()).toBe(15);
    expect(cpu.get("PC")).toBe(0x1000);
    expect(cpu.get("CC")).toBe(0xc0);
  });

  it("stacks only PC and CC for FIRQ, which goes before IRQ, and comes back in 6 cycles", () => {
    const { cpu, memory } = machine(0x12);
    memory[0x4000] = 0x3b;
    cpu.set("S", 0x8000);
    cpu.set("CC", 0x80);
    cpu.drive("IRQ", true);
    cpu.drive("FIRQ", true);
    expect(cpu.step()).toBe(10);
    expect(cpu.get("S")).toBe(0x7ffd);
    expect(cpu.get("PC")).toBe(0x4000);
    expect(cpu.get("CC")).toBe(0x50);
    expect(cpu.step()).toBe(6);
    expect(cpu.get("CC")).toBe(0x00);
  });

  it("ignores NMI until S is loaded, then takes each edge once", () => {
    const { cpu } = machine(0x12, 0x10, 0xce, 0x80, 0x00, 0x12);
    const pulse = () => {
      cpu.drive("NMI", true);
      cpu.drive("NMI", false);
    };
    pulse();
    expect(steps(cpu, 2)).toEqual([2, 4]);
    pulse();
    expect(cpu.step()).toBe(19);
    expect(cpu.get("PC")).toBe(0x7000);
    cpu.drive("NMI", true);
    cpu.step();
    cpu.set("PC", 0x1000);
    expect(cpu.step()).toBe(2);
  });

  it("waits in CWAI with all stacked, so that the interrupt then takes 3 cycles of the 20", () => {
    const { cpu } = machine(0x3c, 0xef);
    cpu.set("S", 0x8000);
    expect(cpu.step()).toBe(17);
    expect(cpu.condition).toBe("waits");
    expect(cpu.step()).toBe(1);
    cpu.drive("IRQ", true);
    expect(cpu.step()).toBe(3);
    expect(cpu.get("S")).toBe(0x7ff4);
    expect(cpu.get("PC")).toBe(0x5000);
  });

  it("leaves SYNC by a masked interrupt without taking it", () => {
    const { cpu } = machine(0x13, 0x12);
    cpu.step();
    cpu.step();
    expect(cpu.condition).toBe("waits");
    cpu.drive("IRQ", true);
    expect(cpu.step()).toBe(2);
    expect(cpu.get("PC")).toBe(0x1002);
  });
});

describe("the 6809 as a machine part", () => {
  it("stops at an undefined opcode with PC on it", () => {
    const { cpu, bus } = machine(0x12, 0x01);
    cpu.run(1000);
    expect(cpu.condition).toBe("stopped");
    expect(cpu.get("PC")).toBe(0x1001);
    expect(bus.clock).toBe(1000);
  });

  it("reads before it writes in CLR, and a device sees the clock of the instruction's end", () => {
    const seen: string[] = [];
    const { cpu, bus } = machine(0x7f, 0xe0, 0x00);
    bus.mapDevice(0xe000, 0xe003, {
      read: (address) => seen.push(`read ${address.toString(16)} at ${bus.clock}`),
      write: (address, value) => seen.push(`write ${value} to ${address.toString(16)} at ${bus.clock}`),
    });
    expect(cpu.step()).toBe(7);
    expect(seen).toEqual(["read e000 at 7", "write 0 to e000 at 7"]);
  });

  it("runs on from a saved state as the first one did", () => {
    const { cpu, bus } = machine(0x8b, 0x07, 0x3a, 0x20, 0xfb);
    cpu.run(100);
    const state = JSON.parse(JSON.stringify(cpu.save()));
    const other = new Cpu6809(bus);
    other.restore(state);
    expect(other.save()).toEqual(cpu.save());
    expect(steps(other, 5)).toEqual(steps(cpu, 5));
    expect(other.save()).toEqual(cpu.save());
  });

  it("tells an unknown register, line or state", () => {
    const { cpu } = machine();
    expect(() => cpu.get("HL")).toThrow("no register HL");
    expect(() => cpu.drive("INT", true)).toThrow("no INT");
    expect(() => cpu.restore({ a: 1 })).toThrow("CPU state: no b");
  });
});
