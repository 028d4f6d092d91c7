// The 6502 against Debian's sim65 (package cc65), instruction by instruction and by cycles; against the assembler's table,
// which another hand typed from the MCS6500 programming manual; and where no program here can say, against rules.
import { Cpu6502, PagedBus } from "@rouse/core/cpu";
import { describe, expect, it } from "vitest";
import { readTable } from "../../packages/core/src/assemble/table.ts";
import { INSTRUCTIONS_6502 } from "../../packages/core/src/assemble/tables/6502.ts";
import { compare6502, TRIED } from "./compare6502.ts";
import { Random } from "./random.ts";

const C = 0x01;
const Z = 0x02;
const D = 0x08;
const V = 0x40;
const N = 0x80;

function machine() {
  const memory = new Uint8Array(0x10000);
  const bus = new PagedBus(memory);
  bus.mapMemory(0, 0xffff, 0);
  const cpu = new Cpu6502(bus);
  const run = (program: number[], registers: Record<string, number>, steps = 1): number => {
    memory.set(program, 0x1000);
    for (const [name, value] of Object.entries({ ...registers, PC: 0x1000 })) cpu.set(name, value);
    let took = 0;
    for (let i = 0; i < steps; i++) took += cpu.step();
    return took;
  };
  return { cpu, memory, run };
}

describe("the 6502 and sim65", () => {
  it("agree on registers, stack, memory and cycles, 400 times on each documented opcode", () => {
    expect(TRIED).toHaveLength(150);
    expect(TRIED.flatMap((each, index) => compare6502(each, 400, 100 + index))).toEqual([]);
  });
});

describe("the 6502's cycles and the programming manual's table", () => {
  it("agree on every documented instruction and mode, at the least and at the most", () => {
    const { run, memory } = machine();
    for (const [mnemonic, modes] of readTable<string>(INSTRUCTIONS_6502))
      for (const [mode, { opcode, cycles }] of modes) {
        const seen = new Set<number>();
        // Operand 10F0 or pointer to it; with the index 20 it crosses a page. Branches go forward or far back, by every flag.
        for (const low of [0x10, 0xf0])
          for (const index of [0x00, 0x20])
            for (const p of [0x00, 0xff]) {
              memory.set([0x00, 0x20, 0x00, 0x20], 0x10);
              memory.set([0xf0, 0x20, 0xf0, 0x20], 0xf0);
              memory.set([0x00, 0x20, 0x00, 0x20], 0x30);
              seen.add(run([opcode[0]!, low, 0x20], { X: index, Y: index, P: p, S: 0xf0 }));
            }
        expect([mnemonic, mode, Math.min(...seen), Math.max(...seen)]).toEqual([
          mnemonic,
          mode,
          cycles.least,
          cycles.most,
        ]);
      }
  });
});

describe("what sim65 can't tell of the 6502", () => {
  it("rotates ROL abs,X in 7 cycles over three bytes", () => {
    const { cpu, memory, run } = machine();
    memory[0x2010] = 0x81;
    expect(run([0x3e, 0x00, 0x20], { X: 0x10, P: C })).toBe(7);
    expect(memory[0x2010]).toBe(0x03);
    expect(cpu.get("PC")).toBe(0x1003);
    expect(cpu.get("P") & (N | Z | C)).toBe(C);
  });

  it("takes the pointer of CMP (FF),Y from FF and 00", () => {
    const { cpu, memory, run } = machine();
    memory[0xff] = 0x10;
    memory[0x00] = 0x20;
    memory[0x100] = 0x30;
    memory[0x2010] = 0x55;
    run([0xd1, 0xff], { A: 0x55, Y: 0, P: 0 });
    expect(cpu.get("P") & Z).toBe(Z);
  });

  it("adds and subtracts decimally as whole numbers do, on all pairs of decimal bytes", () => {
    const { cpu, run } = machine();
    const bcd = (value: number) => Math.floor(value / 10) * 16 + (value % 10);
    for (let a = 0; a < 100; a++)
      for (let b = 0; b < 100; b++)
        for (const carry of [0, 1]) {
          run([0x69, bcd(b)], { A: bcd(a), P: D | carry });
          const sum = a + b + carry;
          if (cpu.a !== bcd(sum % 100) || (cpu.p & C) !== (sum > 99 ? C : 0))
            expect([a, "+", b, carry, cpu.a]).toEqual([]);
          run([0xe9, bcd(b)], { A: bcd(a), P: D | carry });
          const left = a - b - (1 - carry);
          if (cpu.a !== bcd((left + 100) % 100) || (cpu.p & C) !== (left < 0 ? 0 : C))
            expect([a, "-", b, carry, cpu.a]).toEqual([]);
        }
  });

  // Digit by digit after the public note `6502_adc_sbc.c` (S. Cadot, December 2024), which was compared with a part for all
  // inputs by its author.
  it("does with any bytes and all flags in decimal mode what was measured on a part", () => {
    const { cpu, run } = machine();
    const flags = (n: boolean, v: boolean, z: boolean, c: boolean) =>
      (n ? N : 0) + (v ? V : 0) + (z ? Z : 0) + (c ? C : 0);
    for (let a = 0; a < 256; a++)
      for (let b = 0; b < 256; b++) {
        const carry = (a + b) % 2;
        const low = (a % 16) + (b % 16) + carry;
        const high = Math.floor(a / 16) + Math.floor(b / 16) + (low > 9 ? 1 : 0);
        const n = high % 16 > 7;
        const added = [
          ((high > 9 ? high - 10 : high) % 16) * 16 + ((low > 9 ? low - 10 : low) % 16),
          flags(n, a > 127 !== n && b > 127 !== n, (a + b + carry) % 256 === 0, high > 9),
        ];
        run([0x69, b], { A: a, P: D | carry });
        if (cpu.a !== added[0] || (cpu.p & (N | V | Z | C)) !== added[1]) expect([a, b, cpu.a, cpu.p]).toEqual(added);

        const binary = (a - b - (1 - carry) + 512) % 256;
        const under = (a % 16) - (b % 16) - (1 - carry);
        const over = Math.floor(a / 16) - Math.floor(b / 16) - (under < 0 ? 1 : 0);
        const minus = binary > 127;
        const taken = [
          ((over < 0 ? over + 10 + 16 : over) % 16) * 16 + ((under < 0 ? under + 10 + 16 : under) % 16),
          flags(minus, a > 127 !== minus && b < 128 !== minus, binary === 0, over >= 0),
        ];
        run([0xe9, b], { A: a, P: D | carry });
        if (cpu.a !== taken[0] || (cpu.p & (N | V | Z | C)) !== taken[1]) expect([a, b, cpu.a, cpu.p]).toEqual(taken);
      }
  });
});

describe("the 6502's undocumented opcodes", () => {
  /** Undocumented opcode and the documented ones, all in page zero or immediate, that do its two halves. */
  const PAIRS: [string, number, number, number][] = [
    ["SLO = ASL, ORA", 0x07, 0x06, 0x05],
    ["RLA = ROL, AND", 0x27, 0x26, 0x25],
    ["SRE = LSR, EOR", 0x47, 0x46, 0x45],
    ["RRA = ROR, ADC", 0x67, 0x66, 0x65],
    ["DCP = DEC, CMP", 0xc7, 0xc6, 0xc5],
    ["ISC = INC, SBC", 0xe7, 0xe6, 0xe5],
    ["LAX = LDA, LDX", 0xa7, 0xa5, 0xa6],
  ];
  it.each(PAIRS)("does %s", (_name, opcode, first, second) => {
    const { cpu, memory, run } = machine();
    const random = new Random(opcode);
    for (let i = 0; i < 2000; i++) {
      const registers = { A: random.byte(), X: random.byte(), Y: 0, S: 0xff, P: random.byte() };
      const value = random.byte();
      memory[0x40] = value;
      run([opcode, 0x40], registers);
      const once = [cpu.a, cpu.x, cpu.p, memory[0x40]];
      memory[0x40] = value;
      run([first, 0x40, second, 0x40], registers, 2);
      expect(once).toEqual([cpu.a, cpu.x, cpu.p, memory[0x40]]);
    }
  });

  // Worked by hand from the descriptions that are common practice.
  it.each([
    ["SAX stores A AND X", [0x87, 0x40], { A: 0xf3, X: 0x3c }, { A: 0xf3, X: 0x3c }, 0x30],
    ["ANC copies N into C", [0x0b, 0xf0], { A: 0x8f, P: 0 }, { A: 0x80, P: 0x20 | N | C }, 0],
    ["ALR is AND, LSR A", [0x4b, 0x03], { A: 0xff, P: 0 }, { A: 0x01, P: 0x20 | C }, 0],
    ["ARR takes C from bit 6, V from 6 and 5", [0x6b, 0x80], { A: 0xff, P: 0 }, { A: 0x40, P: 0x20 | V | C }, 0],
    ["SBX subtracts from A AND X", [0xcb, 0x10], { A: 0x3f, X: 0x38, P: 0 }, { X: 0x28, P: 0x20 | C }, 0],
    ["LAX (n),Y loads both", [0xb3, 0x10], { Y: 2 }, { A: 0x99, X: 0x99 }, 0],
  ])("%s", (_name, program, before, after, stored) => {
    const { cpu, memory, run } = machine();
    memory.set([0x00, 0x20], 0x10);
    memory[0x2002] = 0x99;
    run(program, before);
    for (const [name, value] of Object.entries(after)) expect([name, cpu.get(name)]).toEqual([name, value]);
    expect(memory[0x40]).toBe(stored);
  });
});
