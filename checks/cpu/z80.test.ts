// The Z80 against Debian's sz80 (package sdcc-ucsim), and where that one is wrong, against the rules of the user manual UM0080;
// its T states against the assembler's table, which another hand typed from that manual.
import { CpuZ80, PagedBus } from "@rouse/core/cpu";
import { describe, expect, it } from "vitest";
import { INSTRUCTIONS_Z80 } from "../../packages/core/src/assemble/tables/z80.ts";
import { compareZ80, isComparable } from "./compareZ80.ts";
import { DOCUMENTED, isReturn, MOST_RECORDS, UNDOCUMENTED } from "./harnessZ80.ts";
import { Random } from "./random.ts";

const [S, Z, H, P, N, C] = [0x80, 0x40, 0x10, 0x04, 0x02, 0x01] as const;
const XY = 0x28;

function machine() {
  const memory = new Uint8Array(0x10000);
  const bus = new PagedBus(memory);
  bus.mapMemory(0, 0xffff, 0);
  const ports = { value: 0, written: [] as number[] };
  bus.mapPorts({ read: () => ports.value, write: (_port, value) => void ports.written.push(value) });
  const cpu = new CpuZ80(bus);
  const run = (program: readonly number[], registers: Record<string, number> = {}): number => {
    memory.set(program, 0x1000);
    for (const [name, value] of Object.entries({ SP: 0x8000, ...registers, PC: 0x1000 })) cpu.set(name, value);
    return cpu.step();
  };
  return { cpu, memory, ports, run };
}

const flags = (...set: (number | false)[]): number => set.reduce<number>((all, one) => all | (one || 0), 0);
const parity = (value: number): boolean => [...value.toString(2)].filter((digit) => digit === "1").length % 2 === 0;
const signed = (value: number): number => (value > 127 ? value - 256 : value);
const sz = (value: number): number => flags(value > 127 && S, value === 0 && Z);

describe("the Z80 and sz80", () => {
  const groups = [
    DOCUMENTED.filter((each) => !isReturn(each) && isComparable(each)),
    DOCUMENTED.filter(isReturn),
    UNDOCUMENTED.filter(isComparable),
  ];
  it("agree on registers, flags and memory over 15,000 instructions, but for the flags that sz80 has wrong", () => {
    const runs = groups.flatMap((group, i) => Array.from({ length: [5, 1, 1][i]! }, () => group));
    expect(runs.flatMap((group, seed) => compareZ80(group, MOST_RECORDS, 50 + seed))).toEqual([]);
  });
});

describe("the Z80's T states and the user manual's table", () => {
  it("agree on every documented instruction, at the least and at the most", () => {
    const { run, memory, cpu } = machine();
    const letters: Record<string, number[]> = {
      r: [0, 1, 2, 3, 4, 5, 7],
      s: [0, 1, 2, 3, 4, 5, 7],
      dd: [0, 1, 2, 3],
      ds: [0, 1, 3],
      qq: [0, 1, 2, 3],
      cc: [0, 1, 2, 3, 4, 5, 6, 7],
      jc: [0, 1, 2, 3],
      b: [0, 1, 2, 3, 4, 5, 6, 7],
      p: [0, 8, 16, 24, 32, 40, 48, 56],
      X: [0xdd, 0xfd],
    };
    for (const line of INSTRUCTIONS_Z80.trim().split("\n")) {
      const [, text, bytes, least, most] =
        /^(\S+(?: \S+)?)\s+((?:X|[0-9A-F]{2})\S*(?: \S+)*?)\s+(\d+)(?:\/(\d+))?$/.exec(line.trim())!;
      let programs: number[][] = [[]];
      for (const token of bytes!.split(" ")) {
        const parts = token === "m" ? [[0x46, 0x56, 0x5e]] : token === "nn" ? [[0x00], [0x20]] : undefined;
        const [start, ...terms] = token.split("+") as [string, ...string[]];
        const choices = parts ?? [
          /^[nde]$/.test(token)
            ? [0x02]
            : terms.reduce<number[]>(
                (sums, term) => {
                  const [, factor, letter] = /^(\d*)([a-z]+)$/.exec(term)!;
                  return sums.flatMap((sum) => letters[letter!]!.map((value) => sum + Number(factor || 1) * value));
                },
                start === "X" ? letters.X! : [Number.parseInt(start, 16)],
              ),
        ];
        for (const choice of choices) programs = programs.flatMap((list) => choice.map((byte) => [...list, byte]));
      }
      const seen = new Set<number>();
      for (const program of programs)
        for (const f of [0x00, 0xff])
          for (const bc of [0x0001, 0x0101, 0x0202]) {
            memory[0x3000] = 0x55;
            seen.add(run(program, { F: f, BC: bc, DE: 0x4000, HL: 0x3000, IX: 0x3000, IY: 0x3000, A: 0x10 }));
            cpu.reset();
          }
      expect([text, Math.min(...seen), Math.max(...seen)]).toEqual([text, Number(least), Number(most ?? least)]);
    }
  });
});

describe("the flags that sz80 has wrong", () => {
  const { cpu, memory, ports, run } = machine();
  const F = () => cpu.get("F") & ~XY;

  it("are the manual's for ADC and SBC on all bytes and carries", () => {
    for (let a = 0; a < 256; a++)
      for (let b = 0; b < 256; b++)
        for (const c of [0, 1]) {
          run([0x88], { A: a, BC: b << 8, F: c });
          const sum = (a + b + c) % 256;
          const up = signed(a) + signed(b) + c;
          const added = flags(
            sz(sum),
            (a % 16) + (b % 16) + c > 15 && H,
            (up > 127 || up < -128) && P,
            a + b + c > 255 && C,
          );
          if (cpu.get("A") !== sum || F() !== added) expect([a, b, c, cpu.get("A"), F()]).toEqual([sum, added]);
          run([0x98], { A: a, BC: b << 8, F: c });
          const left = (a - b - c + 512) % 256;
          const down = signed(a) - signed(b) - c;
          const taken = flags(
            sz(left),
            (a % 16) - (b % 16) - c < 0 && H,
            (down > 127 || down < -128) && P,
            N,
            a - b - c < 0 && C,
          );
          if (cpu.get("A") !== left || F() !== taken) expect([a, b, c, cpu.get("A"), F()]).toEqual([left, taken]);
        }
  });

  it("are the manual's for ADC HL and SBC HL on random words", () => {
    const random = new Random(16);
    const wide = (value: number) => (value > 32767 ? value - 65536 : value);
    for (let i = 0; i < 20_000; i++) {
      const [hl, bc, c] = [random.word(), random.word(), random.below(2)];
      run([0xed, 0x4a], { HL: hl, BC: bc, F: c });
      const up = wide(hl) + wide(bc) + c;
      const sum = (hl + bc + c) % 65536;
      expect([cpu.get("HL"), F()]).toEqual([
        sum,
        flags(
          sum > 32767 && S,
          sum === 0 && Z,
          (hl % 4096) + (bc % 4096) + c > 4095 && H,
          (up > 32767 || up < -32768) && P,
          hl + bc + c > 65535 && C,
        ),
      ]);
      run([0xed, 0x42], { HL: hl, BC: bc, F: c });
      const down = wide(hl) - wide(bc) - c;
      const left = (hl - bc - c + 131072) % 65536;
      expect([cpu.get("HL"), F()]).toEqual([
        left,
        flags(
          left > 32767 && S,
          left === 0 && Z,
          (hl % 4096) - (bc % 4096) - c < 0 && H,
          (down > 32767 || down < -32768) && P,
          N,
          hl - bc - c < 0 && C,
        ),
      ]);
    }
  });

  it("are the manual's for AND, DEC and BIT", () => {
    for (let a = 0; a < 256; a++) {
      run([0xe6, 0x5a], { A: a, F: 0xff });
      expect(F()).toBe(flags(sz(a & 0x5a), H, parity(a & 0x5a) && P));
      for (const c of [0, 1]) {
        run([0x05], { BC: a << 8, F: c });
        expect(F()).toBe(flags(sz((a + 255) % 256), a % 16 === 0 && H, a === 0x80 && P, N, c));
        run([0xcb, 0x68], { BC: a << 8, F: c });
        expect(F() & (Z | H | N | C)).toBe(flags(a % 64 < 32 && Z, H, c));
      }
    }
  });

  it("are the manual's for rotates and shifts: parity from the result, but S, Z and P alone after RLA and RRA", () => {
    const rotated = (a: number, c: number): [number, number, number][] => [
      [0x00, (a * 2 + (a >> 7)) % 256, a >> 7],
      [0x08, (a >> 1) + (a % 2) * 128, a % 2],
      [0x10, (a * 2 + c) % 256, a >> 7],
      [0x18, (a >> 1) + c * 128, a % 2],
      [0x20, (a * 2) % 256, a >> 7],
      [0x28, (a >> 1) + (a > 127 ? 128 : 0), a % 2],
      [0x30, (a * 2 + 1) % 256, a >> 7],
      [0x38, a >> 1, a % 2],
    ];
    for (let a = 0; a < 256; a++)
      for (const c of [0, 1])
        for (const [opcode, result, carry] of rotated(a, c)) {
          run([0xcb, opcode], { BC: a << 8, F: c });
          expect([cpu.get("BC") >> 8, F()]).toEqual([result, flags(sz(result), parity(result) && P, carry)]);
          if (opcode > 0x18) continue;
          run([opcode + 0x07], { A: a, F: S | Z | P | H | N | c });
          expect([cpu.get("A"), F()]).toEqual([result, S | Z | P | carry]);
        }
  });

  // N and C before, the upper digit's range, H before, the lower digit's range, what is added, C after: UM0080, DAA (from memory).
  it("are those of the manual's table for DAA", () => {
    const TABLE: [number, number, number, number, number, number, number, number, number][] = [
      [0, 0, 0x0, 0x9, 0, 0x0, 0x9, 0x00, 0],
      [0, 0, 0x0, 0x8, 0, 0xa, 0xf, 0x06, 0],
      [0, 0, 0x0, 0x9, 1, 0x0, 0x3, 0x06, 0],
      [0, 0, 0xa, 0xf, 0, 0x0, 0x9, 0x60, 1],
      [0, 0, 0x9, 0xf, 0, 0xa, 0xf, 0x66, 1],
      [0, 0, 0xa, 0xf, 1, 0x0, 0x3, 0x66, 1],
      [0, 1, 0x0, 0x2, 0, 0x0, 0x9, 0x60, 1],
      [0, 1, 0x0, 0x2, 0, 0xa, 0xf, 0x66, 1],
      [0, 1, 0x0, 0x3, 1, 0x0, 0x3, 0x66, 1],
      [1, 0, 0x0, 0x9, 0, 0x0, 0x9, 0x00, 0],
      [1, 0, 0x0, 0x8, 1, 0x6, 0xf, 0xfa, 0],
      [1, 1, 0x7, 0xf, 0, 0x0, 0x9, 0xa0, 1],
      [1, 1, 0x6, 0xf, 1, 0x6, 0xf, 0x9a, 1],
    ];
    for (const [n, c, highFrom, highTo, h, lowFrom, lowTo, adds, after] of TABLE)
      for (let high = highFrom; high <= highTo; high++)
        for (let low = lowFrom; low <= lowTo; low++) {
          const a = high * 16 + low;
          run([0x27], { A: a, F: flags(n && N, c && C, h && H) });
          const result = (a + adds) % 256;
          expect([a, cpu.get("A"), F() & ~H]).toEqual([
            a,
            result,
            flags(sz(result), parity(result) && P, n && N, after),
          ]);
        }
  });

  it("are the manual's for IN r,(C)", () => {
    for (ports.value = 0; ports.value < 256; ports.value++) {
      run([0xed, 0x50], { F: 0xff });
      expect([cpu.get("DE") >> 8, F()]).toEqual([ports.value, flags(sz(ports.value), parity(ports.value) && P, C)]);
    }
  });

  it("are the manual's for CPI and CPD, which count HL up and down", () => {
    for (const [opcode, step] of [
      [0xa1, 1],
      [0xa9, -1],
    ] as const)
      for (let value = 0; value < 256; value++)
        for (const bc of [1, 2]) {
          memory[0x3000] = value;
          run([0xed, opcode], { A: 0x5a, HL: 0x3000, BC: bc, F: C });
          const left = (0x5a - value + 256) % 256;
          expect([cpu.get("HL"), cpu.get("BC"), F()]).toEqual([
            0x3000 + step,
            bc - 1,
            flags(sz(left), 0xa - (value % 16) < 0 && H, bc === 2 && P, N, C),
          ]);
        }
  });
});

describe("the instructions that sz80 can't run", () => {
  const { cpu, memory, ports, run } = machine();

  // UM0080's worked examples: A 7A and (HL) 31; A 84 and (HL) 20.
  it("turn digits by RLD and RRD as in the manual's examples", () => {
    memory[0x5000] = 0x31;
    run([0xed, 0x6f], { A: 0x7a, HL: 0x5000 });
    expect([cpu.get("A"), memory[0x5000]]).toEqual([0x73, 0x1a]);
    memory[0x5000] = 0x20;
    run([0xed, 0x67], { A: 0x84, HL: 0x5000 });
    expect([cpu.get("A"), memory[0x5000]]).toEqual([0x80, 0x42]);
  });

  it("repeat INIR and OTDR until B is 0, 21 T states a turn and 16 the last", () => {
    ports.value = 0x77;
    const took = [run([0xed, 0xb2], { BC: 0x0310, HL: 0x5000 }), cpu.step(), cpu.step()];
    expect(took).toEqual([21, 21, 16]);
    expect([...memory.slice(0x5000, 0x5004)]).toEqual([0x77, 0x77, 0x77, 0]);
    expect([cpu.get("BC"), cpu.get("HL"), cpu.get("F") & Z]).toEqual([0x0010, 0x5003, Z]);
    memory.set([1, 2, 3], 0x5000);
    expect([run([0xed, 0xbb], { BC: 0x0310, HL: 0x5002 }), cpu.step(), cpu.step()]).toEqual([21, 21, 16]);
    expect(ports.written).toEqual([3, 2, 1]);
    expect(cpu.get("PC")).toBe(0x1002);
  });

  it("count R once an opcode byte, in seven bits", () => {
    run([0xed, 0x4f, 0xdd, 0x23, 0x00, 0xed, 0x5f], { A: 0xfe });
    cpu.step();
    cpu.step();
    cpu.step();
    // LD A,R counts its own two: FE, then two, one and two more.
    expect(cpu.get("A")).toBe(0x80 | ((0x7e + 5) & 0x7f));
  });

  it("do with the halves of IX and IY what they do with H and L, four T states longer", () => {
    const random = new Random(80);
    const opcodes = Array.from({ length: 0x80 }, (_, i) => 0x40 + i).filter(
      (op) => (op & 7) !== 6 && (op & 0xf8) !== 0x70,
    );
    for (const opcode of [...opcodes, 0x24, 0x25, 0x26, 0x2c, 0x2d, 0x2e])
      for (let i = 0; i < 50; i++) {
        const [af, bc, de, index, n] = [random.word(), random.word(), random.word(), random.word(), random.byte()];
        const registers = { A: af >> 8, F: af & 0xff, BC: bc, DE: de };
        const took = run([opcode, n], { ...registers, HL: index });
        const plain = ["A", "F", "BC", "DE", "HL"].map((name) => cpu.get(name));
        for (const [prefix, name] of [
          [0xdd, "IX"],
          [0xfd, "IY"],
        ] as const) {
          expect(run([prefix, opcode, n], { ...registers, HL: 0x1234, [name]: index })).toBe(took + 4);
          expect(["A", "F", "BC", "DE", name].map((each) => cpu.get(each))).toEqual(plain);
          expect(cpu.get("HL")).toBe(0x1234);
        }
      }
  });
});
