import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBench } from "../bench/index.ts";
import { type Logic, loadCatalogue, parseLogic } from "../catalogue/index.ts";
import { bitAlgebra, evaluate } from "./algebra.ts";
import {
  analyse,
  MemoryMap,
  maskLogic,
  memoryMapOf,
  packMemory,
  parseState,
  pictureOf,
  proveDecoding,
  proveEqual,
  rangeLogic,
  roomFor,
  segmentAt,
  stateText,
  unpackMemory,
} from "./index.ts";

const catalogue = loadCatalogue();
const benchOf = (computer: string) => {
  const { bench, issues } = readBench(`rouse: 1\nname: x\ncomputer:\n${computer}`, catalogue);
  if (!bench) throw new Error(issues.map((each) => `${each.line}: ${each.sentence}`).join("\n"));
  return bench;
};
const mapOf = (computer: string): MemoryMap => memoryMapOf(benchOf(computer))!;
const issuesOf = (computer: string) =>
  readBench(`rouse: 1\nname: x\ncomputer:\n${computer}`, catalogue).issues.map((each) => each.sentence);

const WINDOWED = `
  memory:
    main: { kind: ram, at: $0000, size: 48 KiB, chips: 4164, board: main board, places: [U20, U21, U22, U23, U24, U25, U26, U27] }
    window: { kind: window, at: $C000, size: 8 KiB, banks: 8, chips: 4164, latch: { at: $FF7F, bits: 3, powerOn: 2 } }
    monitor: { kind: rom, at: $E000, size: 7936 bytes, chips: 2764 }
    ports: { kind: io, at: $FF00, size: 128 bytes }
    vectors: { kind: rom, at: $FF80, size: 128 bytes, shares: monitor, offset: $1F80 }
  boards: { main board: {} }`;
const TRANSLATED = `${WINDOWED}
  translation:
    block: 4 KiB
    blocks: 28
    tasks: 2
    at: $FF60
    latch: { at: $FF70, enable: 7, task: 0, write: 1 }
    fixed: [{ at: $E000, size: 8 KiB }]`;

describe("entries of a translation's map", () => {
  const map = mapOf(TRANSLATED);
  const read = (text: string) => parseState(text, map.powerOn, map.latches);

  it("are set by number in the map of the task, and told where they are not as at the start", () => {
    const state = read("translation=on,task=1,map.5=13,map.0=$0C");
    expect(map.whoAnswers(state, 0x5004).read).toMatchObject({ region: "window", block: 13, bank: 0, offset: 0x1004 });
    expect(map.whoAnswers(state, 0x0004).read).toMatchObject({ block: 12, offset: 4 });
    expect(state.translation!.maps[0]).toEqual(map.powerOn.translation!.maps[0]);
    expect(stateText(state, map.powerOn)).toBe("window=2,translation=on,task=1,map.0=12,map.5=13");
    expect(read(stateText(state, map.powerOn))).toEqual(state);
    for (const text of ["map.16=0", "map.3=256", "map.3=", "map.x=1"])
      expect(() => read(text)).toThrow(/no entry|no physical block|no latch/);
  });

  it("come through JSON with the rest of the map", () => {
    const logic = `
  latches: { boot: { at: $40, bits: 1, powerOn: 1 } }
  memory:
    main: { kind: ram, at: $0000, size: 64 KiB, chips: 4164 }
    rom: { kind: rom, at: $0000, size: 8 KiB, under: true, select: low and boot }
  logic: { equations: { low: not A15 and not A14 and not A13 } }`;
    for (const each of [map, mapOf(logic)]) {
      const there = new MemoryMap(unpackMemory(JSON.parse(JSON.stringify(packMemory(each.computer)))));
      expect(there.powerOn).toEqual(each.powerOn);
      for (const state of each.states(64)) expect(there.view(state)).toEqual(each.view(state));
      expect(there.whoAnswers(there.powerOn, 0x123)).toEqual(each.whoAnswers(each.powerOn, 0x123));
    }
  });

  it("are named, as latches are, at the address that sets them", () => {
    expect(map.setBy(0xff65)).toEqual(["entry 5 of the map that is written"]);
    expect(map.setBy(0xff70)).toEqual(["the translation's latch"]);
    expect(map.setBy(0xff7f)).toEqual(["latch window, 3 bits"]);
    expect(map.setBy(0x1000)).toEqual([]);
  });
});

describe("the memory map", () => {
  const map = mapOf(WINDOWED);

  it("starts with what the latches hold at power-on", () => {
    expect(map.powerOn.latches).toEqual({ window: 2 });
    expect(map.whoAnswers(map.powerOn, 0xc123).read).toMatchObject({
      region: "window",
      bank: 2,
      offset: 2 * 0x2000 + 0x123,
    });
  });

  it("names chip, bit, bank and board of an address", () => {
    const { read, write } = map.whoAnswers(map.powerOn, 0x1234);
    expect(read).toMatchObject({ region: "main", board: "main board", chipPart: "4164", offset: 0x1234 });
    expect(read!.chips.map((each) => [each.place, each.bits[0], each.word])).toEqual(
      [0, 1, 2, 3, 4, 5, 6, 7].map((bit) => [`U2${bit}`, bit, 0x1234]),
    );
    expect(write).toEqual(read);
  });

  it("lets nothing answer a write to a ROM", () => {
    expect(map.whoAnswers(map.powerOn, 0xe000)).toMatchObject({ read: { region: "monitor" } });
    expect(map.whoAnswers(map.powerOn, 0xe000).write).toBeUndefined();
  });

  it("finds both ends of a ROM that a hole for ports divides in the same chip", () => {
    expect(map.whoAnswers(map.powerOn, 0xfffe).read).toMatchObject({ part: "monitor", offset: 0x1ffe });
    expect(map.parts.find((each) => each.name === "monitor")).toMatchObject({ bytes: 0x2000, rows: 1 });
  });

  it("follows a write to a latch, and no other write", () => {
    expect(map.after(map.powerOn, 0xff7f, 0xfd).latches).toEqual({ window: 5 });
    expect(map.after(map.powerOn, 0xff7e, 5)).toBe(map.powerOn);
  });

  it("goes through every state once, the one at power-on first", () => {
    expect([...map.states()].map((state) => state.latches.window)).toEqual([2, 3, 4, 5, 6, 7, 0, 1]);
    expect([...map.states(3)]).toHaveLength(3);
    expect(map.stateCount).toBe(8);
  });

  it("covers all 64 KiB without gap or overlap in every state", () => {
    for (const state of map.states()) {
      let next = 0;
      for (const { from, to } of map.view(state)) {
        expect(from).toBe(next);
        next = to + 1;
      }
      expect(next).toBe(0x1_0000);
    }
  });

  it("has one run of 56 KiB, no holes and no clash; the ports hide 128 bytes of the ROM", () => {
    expect(analyse(map)).toMatchObject({
      holes: [],
      clashes: [],
      unseen: [{ part: "monitor", bytes: 128, of: 8192, banks: [] }],
      longest: { least: { bytes: 56 * 1024 }, most: { bytes: 56 * 1024 } },
    });
  });

  it("reads states as people write them", () => {
    const state = parseState("window=7", map.powerOn, map.latches);
    expect(stateText(state)).toBe("window=7");
    for (const text of ["window=8", "widow=1", "window", "task=1"])
      expect(() => parseState(text, map.powerOn, map.latches)).toThrow(/no value|no latch|sets nothing/);
  });

  it("draws lines from the CPU's space to the chips", () => {
    const picture = pictureOf(map, parseState("window=3", map.powerOn, map.latches));
    expect(picture.lines).toContainEqual({
      from: 0xc000,
      to: 0xdfff,
      part: "window",
      first: 3 * 0x2000,
      last: 4 * 0x2000 - 1,
      access: "both",
    });
    expect(picture.space.map((each) => each.title)).toEqual(["main", "window", "monitor", "ports", "vectors"]);
  });
});

describe("partial decode", () => {
  const map = mapOf("  memory: { port: { kind: io, at: $E000, size: 2 bytes, decode: A15..A12 } }");

  it("makes a part answer at every mirror, with the right register", () => {
    expect(map.whoAnswers(map.powerOn, 0xe001).read).toMatchObject({ offset: 1, mirror: false });
    expect(map.whoAnswers(map.powerOn, 0xeabd).read).toMatchObject({ offset: 1, mirror: true });
    expect(map.whoAnswers(map.powerOn, 0xf000).read).toBeUndefined();
    expect(analyse(map).mirrors).toEqual([{ region: "port", ranges: [{ from: 0xe002, to: 0xefff }], bytes: 4094 }]);
  });

  it("clashes with what lies in the mirror", () => {
    const clashing = mapOf(
      "  memory: { port: { kind: io, at: $E000, size: 2 bytes, decode: A15..A12 }, rom: { kind: rom, at: $E800, size: 2 KiB } }",
    );
    expect(analyse(clashing).clashes[0]).toMatchObject({ regions: ["port", "rom"], from: 0xe800, to: 0xefff });
  });

  it("answers where the lines of its mask agree, and nowhere else", () => {
    fc.assert(
      fc.property(fc.integer({ min: 5, max: 15 }), fc.nat(0xffff), fc.nat(0xffff), (log, mask, start) => {
        const size = 2 ** log;
        const at = start & ~(size - 1);
        const lines = Array.from({ length: 16 }, (_, bit) => bit).filter((bit) => mask & (1 << bit));
        const each = mapOf(
          `  memory: { r: { kind: ram, at: ${at}, size: ${size} bytes, decode: "${lines.map((bit) => `A${bit}`).join(", ")}" } }`,
        );
        for (const address of [0, at, at ^ 0x8000, 0xffff, start, mask]) {
          const { read } = each.whoAnswers(each.powerOn, address);
          expect(read?.offset).toBe(((address ^ at) & mask) === 0 ? address & (size - 1) : undefined);
        }
      }),
      { seed: 5, numRuns: 20 },
    );
  });
});

describe("ROM over RAM", () => {
  it("is read where it lies, and takes no write away from the RAM under it", () => {
    const map = mapOf(
      "  memory: { main: { kind: ram, at: $0000, size: 64 KiB, under: true }, rom: { kind: rom, at: $F000, size: 4 KiB } }",
    );
    expect(map.whoAnswers(map.powerOn, 0xf800)).toMatchObject({
      read: { region: "rom" },
      write: { region: "main", offset: 0xf800 },
      hidden: ["main"],
      clash: [],
    });
    expect(analyse(map).unseen).toEqual([]);
  });

  it("goes away with a latch that its select asks for", () => {
    const map = mapOf(
      '  latches: { rom off: { at: $40, port: true, powerOn: 0 } }\n  memory: { main: { kind: ram, at: $0000, size: 64 KiB, under: true }, rom: { kind: rom, at: $F000, size: 4 KiB, when: not "rom off" } }',
    );
    expect(map.whoAnswers(map.powerOn, 0xf000).read).toMatchObject({ region: "rom" });
    const away = map.after(map.powerOn, 0x40, 1, true);
    expect(map.whoAnswers(away, 0xf000).read).toMatchObject({ region: "main" });
    expect(analyse(map).longest).toMatchObject({ least: { bytes: 0xf000 }, most: { bytes: 0x10000 } });
  });

  it("leaves RAM that is never seen in any state unseen", () => {
    const map = mapOf(
      "  memory: { main: { kind: ram, at: $0000, size: 64 KiB }, ports: { kind: io, at: $D000, size: 4 KiB, under: true } }",
    );
    expect(analyse(map).unseen).toEqual([{ part: "main", bytes: 4096, of: 65536, banks: [] }]);
  });
});

describe("translation", () => {
  const map = mapOf(TRANSLATED);

  it("shows the memory as it is wired until it is switched on", () => {
    expect(map.powerOn.translation).toMatchObject({ on: false });
    expect(map.whoAnswers(map.powerOn, 0x5000).read!.block).toBeUndefined();
  });

  it("shows the block that the map in use names, and leaves fixed stretches alone", () => {
    // Block 27 is the upper half of bank 7: 12 blocks of main memory and 16 in the banks.
    let state = map.after(map.powerOn, 0xff70, 0x02);
    state = map.after(state, 0xff65, 27);
    expect(map.whoAnswers(state, 0x5000).read).toMatchObject({ region: "main" });
    state = map.after(state, 0xff70, 0x81);
    expect(map.whoAnswers(state, 0x5678).read).toMatchObject({
      region: "window",
      bank: 7,
      block: 27,
      offset: 7 * 0x2000 + 0x1678,
    });
    expect(map.whoAnswers(state, 0xe000).read).toMatchObject({ region: "monitor" });
    expect(map.whoAnswers(map.after(state, 0xff70, 0x80), 0x5678).read).toMatchObject({ region: "main", block: 5 });
  });

  it("lets nothing answer a block that is not there", () => {
    let state = map.after(map.powerOn, 0xff70, 0x80);
    state = map.after(state, 0xff60, 28);
    expect(map.whoAnswers(state, 0x0800).read).toBeUndefined();
  });

  it("looks at each task, without the banks that it hides", () => {
    expect(map.stateCount).toBe(8 + 2);
  });

  it("agrees with a plain look-up for any map and address", () => {
    fc.assert(
      fc.property(fc.array(fc.nat(31), { minLength: 16, maxLength: 16 }), fc.nat(0xffff), (blocks, address) => {
        const state = { ...map.powerOn, translation: { on: true, task: 0, writes: 0, maps: [blocks, blocks] } };
        const { read } = map.whoAnswers(state, address);
        const block = address >= 0xe000 ? undefined : blocks[address >> 12]!;
        if (block === undefined) expect(read?.block).toBeUndefined();
        else if (block >= 28) expect(read).toBeUndefined();
        else {
          const physical = block * 0x1000 + (address & 0xfff);
          expect([read!.part, read!.offset]).toEqual(
            physical < 0xc000 ? ["main", physical] : ["window", physical - 0xc000],
          );
        }
      }),
      { seed: 7, numRuns: 200 },
    );
  });
});

describe("decoding logic", () => {
  const GATES = `
  logic:
    parts:
      U3: { part: 74LS138, pins: { A: A13, B: A14, C: A15, G1: "1", G2A: "0", G2B: "0", Y6: y6, Y7: y7 } }
      U4: { part: 74LS04, pins: { 1: y7, 2: high } }
  memory:
    window: { kind: window, at: $C000, size: 8 KiB, banks: 8, select: [not y6, A15 and A14 and not A13] }
    rom: { kind: rom, at: $E000, size: 8 KiB, select: [high, A15..A13 = 7] }`;

  it("proves wired parts and equations to be the same map", () => {
    const proofs = proveDecoding(mapOf(GATES));
    expect(proofs).toHaveLength(4);
    for (const { proof } of proofs) expect(proof).toMatchObject({ equal: true, method: "every combination" });
  });

  it("shows the first address at which they differ", () => {
    const swapped = mapOf(GATES.replace("A: A13, B: A14", "A: A14, B: A13"));
    const proof = proveDecoding(swapped)[0]!.proof;
    // With A13 and A14 swapped Y6 is low for A15, A13 and not A14: $A000.
    expect(proof).toMatchObject({ equal: false, address: 0xa000, first: true });
    expect(swapped.whoAnswers(swapped.powerOn, 0xa000).read).toMatchObject({ region: "window" });
    expect(swapped.whoAnswers(swapped.powerOn, 0xc000).read).toBeUndefined();
  });

  it("takes decision diagrams where there are more inputs than can be tried", () => {
    const wide = mapOf(
      "  latches: { a: { bits: 8 }, b: { bits: 8 } }\n  memory: { r: { kind: ram, at: $8000, size: 32 KiB, select: [A15 and (a = 3 or b = 7) and A0 | A15 and (a = 3 or b = 7) and not A0, A15 and (b = 7 or a = 3)] } }",
    );
    const [between, place] = proveDecoding(wide);
    expect(between!.proof).toMatchObject({ equal: true, method: "decision diagrams" });
    expect(place!.proof).toMatchObject({ equal: false, address: 0x8000, first: false });
  });

  it("gives the same answer by both methods for any two equations", () => {
    const names = ["A15", "A14", "A3", "A0", "w.0"];
    const leaf = fc.constantFrom(...names).map((name): Logic => ({ op: "is", name }));
    const { logic } = fc.letrec<{ logic: Logic }>((tie) => ({
      logic: fc.oneof(
        { maxDepth: 4 },
        leaf,
        tie("logic").map((of): Logic => ({ op: "not", of })),
        fc
          .tuple(fc.constantFrom("and" as const, "or" as const, "xor" as const), tie("logic"), tie("logic"))
          .map(([op, a, b]): Logic => ({ op, of: [a, b] })),
      ),
    }));
    // Inputs that change nothing push the proof over to decision diagrams.
    const idle: Logic = {
      op: "and",
      of: Array.from(
        { length: 14 },
        (_, bit): Logic => ({
          op: "or",
          of: [
            { op: "is", name: `z.${bit}` },
            { op: "not", of: { op: "is", name: `z.${bit}` } },
          ],
        }),
      ),
    };
    fc.assert(
      fc.property(logic, logic, (one, other) => {
        const tried = proveEqual(one, other, new Map());
        const drawn = proveEqual({ op: "and", of: [one, idle] }, other, new Map());
        expect(drawn.equal).toBe(tried.equal);
        if (tried.equal !== false || drawn.equal !== false) return;
        expect(drawn.address).toBe(tried.address);
        const at = (each: Logic) =>
          evaluate(
            each,
            new Map(),
            bitAlgebra((name) =>
              name.startsWith("A") ? ((tried.address >> Number(name.slice(1))) & 1) === 1 : tried.others.get(name)!,
            ),
          );
        expect(at(one)).toBe(tried.first);
        expect(at(other)).toBe(!tried.first);
      }),
      { seed: 11, numRuns: 30 },
    );
  });

  it("builds ranges and masks as they are meant", () => {
    const at = (logic: Logic, address: number) =>
      evaluate(
        logic,
        new Map(),
        bitAlgebra((name) => ((address >> Number(name.slice(1))) & 1) === 1),
      );
    fc.assert(
      fc.property(fc.nat(0xffff), fc.nat(0xffff), fc.nat(0xffff), (a, b, address) => {
        const [from, to] = [Math.min(a, b), Math.max(a, b)];
        expect(at(rangeLogic(from, to), address)).toBe(from <= address && address <= to);
        expect(at(maskLogic(a, b), address)).toBe(((address ^ b) & a) === 0);
      }),
      { seed: 3 },
    );
  });

  it("names what is wrong with a decoder by its place in the file", () => {
    const memory = "  memory: { r: { kind: ram, at: $8000, size: 32 KiB, select: A15 } }\n";
    expect(issuesOf(`${memory}  logic: { equations: { a: b, b: a } }`)[0]).toContain("depends on itself");
    expect(issuesOf(`${memory}  logic: { equations: { a: A15 and (A14 }}`)[0]).toContain("bracket");
    expect(issuesOf(`${memory}  logic: { equations: { a: A16 } }`)[0]).toContain("Nothing gives the signal “A16”");
    expect(issuesOf(`${memory}  logic: { parts: { U1: { part: 74LS244, pins: {} } } }`)[0]).toContain("not known here");
    expect(issuesOf(`${memory}  logic: { parts: { U1: { part: 74LS00, pins: { 3: x, 1: A15 } } } }`)[0]).toContain(
      "1B, which is not wired",
    );
    expect(
      issuesOf(
        `${memory}  logic: { equations: { x: A15 }, parts: { U1: { part: 74LS04, pins: { 1: A1, 2: x } } } }`,
      )[0],
    ).toContain("two outputs would drive one wire");
  });

  it("reads any text as an equation or refuses it with a sentence", () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.stringMatching(/^[A0-9().=!&|^ $]{0,30}$/)), (text) => {
        try {
          parseLogic(text);
        } catch (error) {
          expect((error as { code?: string }).code).toMatch(/^bad-l/);
        }
      }),
      { seed: 2 },
    );
  });
});

describe("room for the system", () => {
  const need = {
    kind: "memory" as const,
    bytes: 0x5000,
    contiguous: 0x4000,
    parts: [
      { what: "boot file", bytes: 0x4000 },
      { what: "module login", bytes: 0x800 },
      { what: "storage of login", bytes: 0x800 },
    ],
    computed: "",
    evidence: [],
  };

  it("lays the parts in order and counts the logins that the rest carries", () => {
    const bench = benchOf(TRANSLATED);
    const room = roomFor(memoryMapOf(bench)!, need, bench);
    expect(room).toMatchObject({ total: 112 * 1024, left: 112 * 1024 - 0x5000, homeless: [] });
    expect(room.placed[1]).toEqual({ what: "module login", bytes: 0x800, from: 0x4000, to: 0x47ff });
    // 92 KiB are left; each login takes a block of 4 KiB, and the first is among the needs.
    expect(room.login).toMatchObject({ bytes: 4096 });
    expect(room.logins).toBe(1 + 23);
  });

  it("counts without translation only what one view shows", () => {
    const bench = benchOf(WINDOWED);
    const room = roomFor(memoryMapOf(bench)!, need, bench);
    expect(room).toMatchObject({ left: 56 * 1024 - 0x5000, behindWindows: 56 * 1024 });
  });

  it("says what fits nowhere", () => {
    const bench = benchOf(
      "  memory: { a: { kind: ram, at: $0000, size: 8 KiB }, b: { kind: ram, at: $8000, size: 8 KiB } }",
    );
    const room = roomFor(memoryMapOf(bench)!, need, bench);
    expect(room.homeless).toEqual([{ what: "boot file", bytes: 0x4000 }]);
    expect(room.logins).toBe(0);
  });
});

describe("a map of any bench", () => {
  it("is whole in every state, whatever the regions", () => {
    const region = fc.record({
      kind: fc.constantFrom("ram", "rom", "io", "window"),
      at: fc.nat(0xff).map((page) => page * 256),
      size: fc.integer({ min: 1, max: 64 }).map((pages) => pages * 256),
      under: fc.boolean(),
      banks: fc.integer({ min: 1, max: 5 }),
    });
    fc.assert(
      fc.property(fc.array(region, { minLength: 1, maxLength: 6 }), (regions) => {
        const lines = regions
          .filter((each) => each.at + each.size <= 0x1_0000)
          .map(
            (each, index) =>
              `    r${index}: { kind: ${each.kind}, at: ${each.at}, size: ${each.size} bytes, under: ${each.under}, banks: ${each.banks} }`,
          );
        if (lines.length === 0) return;
        const map = mapOf(`  memory:\n${lines.join("\n")}`);
        for (const state of map.states(16)) {
          const view = map.view(state);
          expect(view.reduce((sum, each) => sum + each.to - each.from + 1, 0)).toBe(0x1_0000);
          for (const address of [0, 0x7fff, 0xffff]) {
            const { from, to, read, write, clash } = segmentAt(view, address);
            expect(from <= address && address <= to).toBe(true);
            // One address by itself is answered as in the view of all.
            const alone = map.answering(state, address);
            expect([alone.read?.region, alone.read?.bank, alone.write?.region, alone.clash]).toEqual([
              read?.region,
              read?.bank,
              write?.region,
              clash,
            ]);
          }
        }
        const found = analyse(map, 64);
        expect(found.longest.most.bytes).toBeGreaterThanOrEqual(found.longest.least.bytes);
      }),
      { seed: 13, numRuns: 30 },
    );
  });
});
