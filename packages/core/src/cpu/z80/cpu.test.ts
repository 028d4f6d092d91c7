import { describe, expect, it } from "vitest";
import { CpuZ80, PagedBus } from "../index.ts";

/** A CPU on 64 KiB of RAM with a program at 1000 and the stack at 8000. `vector` is what acknowledging an INT reads. */
function machine(program: number[], vector = 0xff) {
  const memory = new Uint8Array(0x10000);
  memory.set(program, 0x1000);
  const bus = new PagedBus(memory, 0xff, () => vector);
  bus.mapMemory(0, 0xffff, 0);
  const cpu = new CpuZ80(bus);
  cpu.reset();
  cpu.set("PC", 0x1000);
  cpu.set("SP", 0x8000);
  return { cpu, bus, memory };
}

const returnAddress = (memory: Uint8Array) => memory[0x7ffe]! | (memory[0x7fff]! << 8);

describe("the Z80's interrupts", () => {
  // T states: UM0080, interrupt response; 13 in modes 0 (RST) and 1, 19 in mode 2, 11 for NMI.
  it("takes INT in mode 1 at 38 in 13 T states, and not before the instruction after EI", () => {
    const { cpu, memory } = machine([0xed, 0x56, 0xfb, 0x00, 0x00]);
    cpu.drive("INT", true);
    expect([cpu.step(), cpu.step(), cpu.step(), cpu.step()]).toEqual([8, 4, 4, 13]);
    expect(cpu.get("PC")).toBe(0x38);
    expect(returnAddress(memory)).toBe(0x1004);
    expect([cpu.get("IFF1"), cpu.get("IFF2")]).toEqual([0, 0]);
  });

  it("runs the acknowledged RST in mode 0 in 13 T states", () => {
    const { cpu, memory } = machine([0xfb, 0x00], 0xd7);
    cpu.drive("INT", true);
    expect([cpu.step(), cpu.step(), cpu.step()]).toEqual([4, 4, 13]);
    expect(cpu.get("PC")).toBe(0x10);
    expect(returnAddress(memory)).toBe(0x1002);
  });

  it("goes through the table at I and the acknowledged byte in mode 2 in 19 T states", () => {
    const { cpu, memory } = machine([0xed, 0x5e, 0xfb, 0x00], 0x20);
    cpu.set("I", 0x40);
    memory.set([0x34, 0x12], 0x4020);
    cpu.drive("INT", true);
    expect([cpu.step(), cpu.step(), cpu.step(), cpu.step()]).toEqual([8, 4, 4, 19]);
    expect(cpu.get("PC")).toBe(0x1234);
  });

  it("takes an edge of NMI at 66 in 11 T states, and RETN gives the enable back", () => {
    const { cpu, memory } = machine([0xfb, 0x00, 0x00]);
    memory.set([0xed, 0x45], 0x66);
    cpu.step();
    cpu.step();
    cpu.drive("NMI", true);
    expect(cpu.step()).toBe(11);
    expect([cpu.get("PC"), cpu.get("IFF1"), cpu.get("IFF2")]).toEqual([0x66, 0, 1]);
    expect(cpu.step()).toBe(14);
    expect([cpu.get("PC"), cpu.get("IFF1")]).toEqual([0x1002, 1]);
    expect(cpu.step()).toBe(4);
  });

  it("waits in HALT by 4 T states, counts R there, and goes on behind it", () => {
    const { cpu, bus, memory } = machine([0xed, 0x56, 0xfb, 0x76, 0x00]);
    cpu.run(16);
    const r = cpu.get("R");
    expect(cpu.condition).toBe("waits");
    cpu.run(30);
    expect(bus.clock).toBe(32);
    expect(cpu.get("R")).toBe(r + 4);
    cpu.drive("INT", true);
    expect(cpu.step()).toBe(13);
    expect(returnAddress(memory)).toBe(0x1004);
  });
});

describe("the Z80's undocumented flags", () => {
  const flagsAfter = (program: number[], registers: Record<string, number>, steps = 1) => {
    const { cpu } = machine(program);
    for (const [name, value] of Object.entries(registers)) cpu.set(name, value);
    for (let i = 0; i < steps; i++) cpu.step();
    return cpu.get("F") & 0x28;
  };

  // Worked by hand from the descriptions that are common practice.
  it("show the result's bits 5 and 3, the operand's for CP", () => {
    expect(flagsAfter([0xc6, 0x28], { A: 0 })).toBe(0x28);
    expect(flagsAfter([0xfe, 0x20], { A: 0x08 })).toBe(0x20);
  });

  it("show the upper address byte after BIT n,(IX+d), and after BIT n,(HL) that of the last such address", () => {
    expect(flagsAfter([0xdd, 0xcb, 0x01, 0x46], { IX: 0x28ff })).toBe(0x28);
    expect(flagsAfter([0x3a, 0x00, 0x28, 0xcb, 0x46], { HL: 0x1000 }, 2)).toBe(0x28);
  });

  it("show A after SCF, together with F only where the instruction before left F alone", () => {
    expect(flagsAfter([0x00, 0x37], { A: 0x08, F: 0x20 }, 2)).toBe(0x28);
    // XOR A,B gives 08 and sets F to 08's bits; so does SCF then.
    expect(flagsAfter([0xa8, 0x37], { A: 0x08, BC: 0, F: 0x20 }, 2)).toBe(0x08);
  });

  it("show bits 1 and 3 of A plus the byte after LDI", () => {
    expect(flagsAfter([0xed, 0xa0], { A: 0x02, HL: 0x9000, DE: 0xa000, BC: 5 })).toBe(0x20);
  });
});

describe("the Z80 as a machine part", () => {
  it("puts B or A on the upper half of a port's address", () => {
    const seen: string[] = [];
    const { cpu, bus } = machine([0xed, 0x78, 0xd3, 0x10]);
    bus.mapPorts({
      read: (port) => {
        seen.push(`read ${port.toString(16)}`);
        return 0x5a;
      },
      write: (port, value) => seen.push(`write ${value.toString(16)} to ${port.toString(16)}`),
    });
    cpu.set("BC", 0x1234);
    cpu.step();
    cpu.step();
    expect(seen).toEqual(["read 1234", "write 5a to 5a10"]);
  });

  it("runs on from a saved state as the first one did, the other registers included", () => {
    const { cpu, bus } = machine([0xd9, 0x08, 0x03, 0x04, 0xed, 0x5f, 0x37, 0x18, 0xf7]);
    cpu.set("AF'", 0x1234);
    cpu.set("HL'", 0x5678);
    cpu.run(101);
    const other = new CpuZ80(bus);
    other.restore(JSON.parse(JSON.stringify(cpu.save())));
    for (const { name } of cpu.registers) expect([name, other.get(name)]).toEqual([name, cpu.get(name)]);
    for (let i = 0; i < 9; i++) expect(other.step()).toBe(cpu.step());
    expect(other.save()).toEqual(cpu.save());
  });

  it("tells an unknown register or line", () => {
    const { cpu } = machine([]);
    expect(() => cpu.get("X")).toThrow("no register X");
    expect(() => cpu.drive("IRQ", true)).toThrow("no IRQ");
  });
});
