// The 6809 against a second model of ours (plain6809.ts), and its cycles against the assembler's table, which another hand
// typed from the data sheet. No reference program for the 6809 is known here: both models are ours.
import { Cpu6809, PagedBus } from "@rouse/core/cpu";
import { describe, expect, it } from "vitest";
import { readTable } from "../../packages/core/src/assemble/table.ts";
import { INSTRUCTIONS_6809 } from "../../packages/core/src/assemble/tables/6809.ts";
import { compare6809 } from "./compare6809.ts";

const rows = [...readTable<string>(INSTRUCTIONS_6809)].flatMap(([mnemonic, modes]) =>
  [...modes].map(([mode, row]) => ({ name: `${mnemonic} ${mode}`, mode, ...row })),
);

describe("the 6809 and a second, plain model", () => {
  it("agree on 50,000 random instructions, and every documented opcode is among them", () => {
    const { ran, refused, opcodes, differences } = compare6809(50_000, 6809);
    expect(differences).toEqual([]);
    expect(ran).toBe(50_000);
    expect(refused).toBeGreaterThan(1000);
    const documented = new Set(rows.map(({ opcode }) => opcode.reduce((number, byte) => number * 256 + byte)));
    expect(opcodes).toEqual(documented);
  });
});

describe("the 6809's cycles and the data sheet's table", () => {
  it("agree on every instruction and mode, for every setting of the flags", () => {
    const memory = new Uint8Array(0x10000);
    const bus = new PagedBus(memory);
    bus.mapMemory(0, 0xffff, 0);
    const cpu = new Cpu6809(bus);
    for (const { name, mode, opcode, cycles } of rows) {
      const seen = new Set<number>();
      for (let cc = 0; cc < 256; cc++) {
        cpu.reset();
        // An indexed operand is ,X (nothing added); lists and register pairs are empty or D,D; RTI pulls the flags that it tries.
        memory.set([...opcode, mode === "idx" ? 0x84 : 0, 0, 0], 0x1000);
        memory[0x8000] = cc;
        for (const [register, value] of Object.entries({ PC: 0x1000, CC: cc, X: 0x4000, S: 0x8000, U: 0x7000 }))
          cpu.set(register, value);
        const took = cpu.step();
        // CWAI fetches its vector when the interrupt comes: 3 of its 20 cycles.
        seen.add(name === "CWAI imm8" ? took + 3 : took);
      }
      expect([name, Math.min(...seen), Math.max(...seen)]).toEqual([name, cycles.least, cycles.most]);
    }
  });
});
