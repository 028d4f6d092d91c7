import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { crc16 } from "../bytes/index.ts";
import { createRehearsal } from "./index.ts";
import { simulated } from "./simulated.ts";
import { type Small, smallBench, smallMachine, smallRom } from "./small-bench.ts";

const FILES = { roms: new Map(), images: new Map() };

const COUNTER = `  ldx #0
again leax 1,x
  stx $4000
  bra again
`;

describe("a rehearsal", () => {
  it("runs whole instructions for a number of cycles or seconds", () => {
    const machine = smallMachine({ cpu: "6809" }, COUNTER);
    expect(machine.run({ cycles: 1000 })).toBe("time");
    expect(machine.cycles).toBeGreaterThanOrEqual(1000);
    expect(machine.cycles).toBeLessThan(1010);
    machine.run({ seconds: 0.01 });
    // ldx 3, then leax 5, stx 6, bra 3 cycles (MC6809 data sheet): the n-th store ends at 14 n.
    expect((machine.peek(0x4000)! << 8) | machine.peek(0x4001)!).toBe(Math.floor(machine.cycles / 14));
  });

  it("stops before a breakpoint, shows registers and the next instruction, and steps on", () => {
    const machine = smallMachine({ cpu: "6809" }, COUNTER);
    machine.breakpoints.add(0xe005);
    expect(machine.run({ seconds: 1 })).toBe("breakpoint");
    const { registers, next } = machine.state();
    expect(registers.find(({ name }) => name === "X")!.value).toBe(1);
    expect(next).toEqual({ address: 0xe005, text: "STX $4000" });
    machine.step();
    expect(machine.state().next).toEqual({ address: 0xe008, text: "BRA $E003" });
    expect(machine.disassemble(0xe000, 3).map(({ text }) => text)).toEqual(["LDX #$0000", "LEAX 1,X", "STX $4000"]);
    expect(machine.run({ seconds: 1 })).toBe("breakpoint");
    expect(machine.state().registers.find(({ name }) => name === "X")!.value).toBe(2);
  });

  it.each(["mapped", "asks"])("does the same with a breakpoint that is never reached: a tick that is %s", (how) => {
    const small: Small = {
      cpu: "6809",
      computer: [`tick: { at: $D008, every: 777, interrupts: ${how === "asks"} }`],
      rest: [
        "ports: { one: { uart: MC6850, at: $D000, clock: 153.6 kHz, ratio: 16, format: 8N1 } }",
        "terminals: { desk: { class: screen-80-cursor, rate: 9600 bit/s, format: 8N1 } }",
        "cables: { lead: { kind: null modem, from: one, to: desk } }",
      ],
    };
    const source = `  lds #$4000
  ldx #tick
  stx $3000
  lda #3
  sta $D000
  lda #$95
  sta $D000
  andcc #$EF
again inc $4100
  lda $D000
  bita #2
  beq again
  lda $4100
  ora #$20
  sta $D001
  bra again
tick inc $4101
  sta $D008
  lda $D000
  lda $D001
  rti
  org $FFF8
  fdb tick
`;
    const [plain, watched] = [smallMachine(small, source), smallMachine(small, source)];
    watched.breakpoints.add(1);
    for (let k = 0; k < 10; k++)
      for (const each of [plain, watched]) {
        each.type("x");
        each.run({ cycles: 9999 });
      }
    expect(plain.received().length).toBeGreaterThan(50);
    expect(watched.peek(0x4101)).toBe(plain.peek(0x4101));
    expect(watched.received()).toBe(plain.received());
    expect(watched.state()).toEqual(plain.state());
  });

  it("says that the CPU stopped at an opcode without a meaning", () => {
    expect(smallMachine({ cpu: "6809" }, "  fcb 1").run({ seconds: 1 })).toBe("stopped");
  });

  it("begins with the same disorder in memory each time, and never with cleared memory", () => {
    const bytes = () => {
      const machine = smallMachine({ cpu: "6809" }, COUNTER);
      return Array.from({ length: 64 }, (_, index) => machine.peek(index));
    };
    expect(bytes()).toEqual(bytes());
    expect(new Set(bytes()).size).toBeGreaterThan(32);
  });

  it("answers devices at their mirrors, and gives FF where nothing is", () => {
    const machine = smallMachine(
      {
        cpu: "6809",
        computer: ["tick: { at: $D008, every: 100 }"],
      },
      `  lda $D008
  sta $4000
  lda $C800
  sta $4001
done bra done
`,
    );
    machine.run({ seconds: 0.001 });
    expect(machine.peek(0x4001)).toBe(0xff);
    expect(machine.peek(0xd008)).toBeUndefined();
  });

  it("changes banks by their latch, reads the latch back where it can be read, and returns to the bank of a kept moment", () => {
    const small: Small = {
      cpu: "6809",
      computer: ["latches: { spare: { at: $D041, bits: 2, readable: true, powerOn: 1 } }"],
    };
    const bench = smallBench(small);
    const withWindow = {
      ...bench,
      computer: {
        ...bench.computer!,
        regions: [
          ...bench.computer!.regions,
          {
            name: "window",
            path: "computer.memory.window",
            kind: "window" as const,
            from: 0xc000,
            to: 0xcfff,
            banks: 4,
            latch: { at: 0xd040, bits: 2, powerOn: 0 },
            under: false,
          },
        ],
      },
    };
    const machine = createRehearsal(withWindow, {
      roms: new Map([
        [
          "rom",
          smallRom(
            "6809",
            `  ldb $D041
  stb $4000
  ldb #3
again stb $D040
  stb $C000
  decb
  bpl again
  stb $D041
  ldb $D041
  stb $4001
halt bra halt
`,
          ),
        ],
      ]),
      images: new Map(),
    });
    machine.run({ cycles: 30 });
    const moment = machine.save();
    machine.run({ cycles: 500 });
    expect(machine.peek(0x4000)).toBe(1);
    expect(machine.peek(0x4001)).toBe(0xff);
    // The last bank is 0.
    expect(machine.peek(0xc000)).toBe(0);
    expect(machine.state().memory).toContain("window=0");
    machine.load(moment);
    expect(machine.state().memory).not.toContain("window=0");
    machine.run({ cycles: 500 });
    expect(machine.peek(0xc000)).toBe(0);
  });

  it.each([
    ["computer.cpu.part", (text: string) => text.replace("part: MC68A09E, ", "")],
    ["computer.cpu.clock", (text: string) => text.replace(", clock: 1 MHz", "")],
  ])("names the key that it lacks: %s", (key, change) => {
    const bench = smallBench({ cpu: "6809" });
    const { cpu } = bench.computer!;
    const without = change("part: MC68A09E, clock: 1 MHz").includes("part")
      ? { part: cpu!.part!, ...(cpu!.chip ? { chip: cpu!.chip } : {}) }
      : { clock: cpu!.clock! };
    expect(() => createRehearsal({ ...bench, computer: { ...bench.computer!, cpu: without } }, FILES)).toThrow(key);
  });

  it("names the ROM image that it lacks", () => {
    expect(() => createRehearsal(smallBench({ cpu: "6809" }), FILES)).toThrow("computer.memory.monitor.file");
    expect(() => smallMachine({ cpu: "6809" }, COUNTER).screen()).toThrow("No terminal is on this bench");
  });

  it("takes a moment of its own bench only", () => {
    const other = smallMachine({ cpu: "6809", computer: ["tick: { at: $D008, every: 100 }"] }, COUNTER);
    expect(() => other.load(smallMachine({ cpu: "6809" }, COUNTER).save())).toThrow("another bench");
  });

  it.each(["6809", "6502", "Z80"] as const)(
    "bears any ROM at all, and goes on the same from a kept moment (%s)",
    (cpu) => {
      const bench = smallBench({
        cpu,
        computer: [
          "tick: { at: $D008, every: 777, interrupts: true }",
          "controller: { at: $D050, registers: { command: 0, track: 1, sector: 2, data: 3 } }",
          "timers: { a: { part: 6522, at: $D020 }, b: { part: MC6821, at: $D030, every: 999 }, c: { part: Z80-CTC, at: $D038 } }",
          "latches: { bank: { at: $D040, bits: 3 } }",
        ],
        rest: [
          "buses: { cable: { kind: 50-wire drive bus } }",
          "drives: { A: { class: eight-inch-one-side, bus: cable } }",
          "images: { system: { file: disk, recording: ecma-54, drive: A } }",
          "ports: { one: { uart: MC6850, at: $D000, clock: 1 MHz, ratio: 16 }, two: { uart: 16450, at: $D010, clock: 1 MHz, divisor: 1 }, three: { uart: Z80-SIO, at: $D018, clock: 1 MHz, ratio: 16 } }",
          "terminals: { desk: { class: screen-80-cursor, rate: 9600 bit/s, format: 8N1 } }",
          "cables: { lead: { kind: straight, from: one, to: desk } }",
        ],
      });
      fc.assert(
        fc.property(
          fc.uint8Array({ minLength: 64, maxLength: 64 }),
          fc.array(fc.nat(0x5f), { maxLength: 24 }),
          (bytes, at) => {
            // Random bytes, with writes and reads of the devices strewn in.
            const store = { "6809": [0xb7, 0xd0], "6502": [0x8d, 0], Z80: [0x32, 0] }[cpu];
            const rom = new Uint8Array(0x2000);
            for (let index = 0; index < rom.length; index++) rom[index] = bytes[index % bytes.length]!;
            for (const [index, each] of at.entries())
              rom.set(cpu === "6809" ? [store[0]!, 0xd0, each] : [store[0]!, each, 0xd0], index * 12);
            const machine = createRehearsal(bench, {
              roms: new Map([["rom", rom]]),
              images: new Map([["disk", new Uint8Array(5000)]]),
            });
            machine.type("a");
            machine.run({ cycles: 3000 });
            const moment = machine.save();
            const go = () => {
              machine.run({ cycles: 3000 });
              const { memory, ...rest } = machine.save();
              return [crc16(memory), JSON.stringify([machine.state(), machine.screen(), rest])];
            };
            const first = go();
            machine.load(moment);
            expect(go()).toEqual(first);
          },
        ),
        { seed: 7, numRuns: 30 },
      );
    },
  );
});

describe("what is simulated", () => {
  it("is said on its page in the same words", () => {
    const page = readFileSync(new URL("../../../../docs/rehearsal.md", import.meta.url), "utf8");
    expect(page.replaceAll(/\s+/g, " ")).toContain(simulated("[Time](timing.md)"));
  });
});
