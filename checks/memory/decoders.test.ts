/**
 * The memory room against function tables of data sheets, and decoders that textbooks of the trade draw.
 */
import { readBench } from "@rouse/core/bench";
import { gatesOf, loadCatalogue } from "@rouse/core/catalogue";
import { analyse, evaluate, memoryMapOf, proveDecoding } from "@rouse/core/memory";
import { describe, expect, it } from "vitest";

const catalogue = loadCatalogue();
const mapOf = (computer: string) => {
  const { bench, issues } = readBench(`rouse: 1\nname: x\ncomputer:\n${computer}`, catalogue);
  if (!bench) throw new Error(issues.map((each) => `${each.line}: ${each.sentence}`).join("\n"));
  return memoryMapOf(bench)!;
};

/** Output levels of a part for inputs, written as the data sheets do: H, L, X (each of both). */
function outputs(part: string, names: readonly string[], row: string, wanted: readonly string[]): string[] {
  const { outputs: functions } = gatesOf(part)!;
  const rows = new Set<string>();
  for (let fill = 0; fill < 2 ** names.length; fill++) {
    const levels = new Map(
      names.map((name, index) => {
        const written = row[index]!;
        return [name, written === "X" ? ((fill >> index) & 1) === 1 : written === "H"];
      }),
    );
    const value = (name: string) => {
      const level = levels.get(name);
      if (level === undefined) throw new Error(`${part}: ${name} is not in the row`);
      return level;
    };
    rows.add(
      wanted
        .map((output) =>
          evaluate(functions.get(output)!, new Map(), {
            constant: (each: boolean) => each,
            input: value,
            not: (a) => !a,
            and: (a, b) => a && b,
            or: (a, b) => a || b,
            xor: (a, b) => a !== b,
          })
            ? "H"
            : "L",
        )
        .join(""),
    );
  }
  return [...rows];
}

// Source: DM74LS138, DM74LS139 data sheet, function tables. G2 is G2A or G2B.
describe("74LS138", () => {
  const inputs = ["G1", "G2A", "G2B", "C", "B", "A"];
  const y = [0, 1, 2, 3, 4, 5, 6, 7].map((number) => `Y${number}`);
  it.each([
    ["XHXXXX", "HHHHHHHH"],
    ["XXHXXX", "HHHHHHHH"],
    ["LXXXXX", "HHHHHHHH"],
    ["HLLLLL", "LHHHHHHH"],
    ["HLLLLH", "HLHHHHHH"],
    ["HLLLHL", "HHLHHHHH"],
    ["HLLLHH", "HHHLHHHH"],
    ["HLLHLL", "HHHHLHHH"],
    ["HLLHLH", "HHHHHLHH"],
    ["HLLHHL", "HHHHHHLH"],
    ["HLLHHH", "HHHHHHHL"],
  ])("gives for %s what its table says", (row, levels) => {
    expect(outputs("74LS138", inputs, row, y)).toEqual([levels]);
  });
});

describe("74LS139", () => {
  it.each([
    ["HXX", "HHHH"],
    ["LLL", "LHHH"],
    ["LLH", "HLHH"],
    ["LHL", "HHLH"],
    ["LHH", "HHHL"],
  ])("gives for %s what its table says", (row, levels) => {
    for (const half of ["1", "2"])
      expect(
        outputs(
          "74LS139",
          [`${half}G`, `${half}B`, `${half}A`],
          row,
          [0, 1, 2, 3].map((number) => `${half}Y${number}`),
        ),
      ).toEqual([levels]);
  });
});

// Source: DM74LS157, DM74LS158 data sheet, function table: strobe, select, A, B.
describe("74LS157 and 74LS158", () => {
  it.each([
    ["HXXX", "L", "H"],
    ["LLLX", "L", "H"],
    ["LLHX", "H", "L"],
    ["LHXL", "L", "H"],
    ["LHXH", "H", "L"],
  ])("give for %s what their table says", (row, true_, inverted) => {
    expect(outputs("74LS157", ["G", "S", "2A", "2B"], row, ["2Y"])).toEqual([true_]);
    expect(outputs("74LS158", ["G", "S", "2A", "2B"], row, ["2Y"])).toEqual([inverted]);
  });
});

// Source: function tables of SDLS025B (00) and of the 02, 08, 32, 86 data sheets: inputs LL, LH, HL, HH.
describe("gates", () => {
  it.each([
    ["74LS00", "HHHL"],
    ["74LS02", "HLLL"],
    ["74LS08", "LLLH"],
    ["74LS32", "LHHH"],
    ["74LS86", "LHHL"],
  ])("%s", (part, levels) => {
    expect(["LL", "LH", "HL", "HH"].map((row) => outputs(part, ["3A", "3B"], row, ["3Y"]).join()).join("")).toBe(
      levels,
    );
  });
});

// Common practice, no source: a 138 on A15 to A13 divides 64 KiB into eight blocks of 8 KiB, $0000 to $E000.
describe("a 138 on the three highest address lines", () => {
  const pins = `A: A13, B: A14, C: A15, G1: "1", G2A: "0", G2B: "0"`;
  const regions = Array.from(
    { length: 8 },
    (_, block) =>
      `    block ${block}: { kind: rom, at: ${block * 0x2000}, size: 8 KiB, chips: 2764, select: not y${block} }`,
  );
  const map = mapOf(
    `  logic: { parts: { U1: { part: 74LS138, pins: { ${pins}, ${Array.from({ length: 8 }, (_, n) => `Y${n}: y${n}`).join(", ")} } } } }\n  memory:\n${regions.join("\n")}`,
  );

  it("is proved to make eight blocks of 8 KiB", () => {
    for (const { proof } of proveDecoding(map)) expect(proof.equal).toBe(true);
    expect(map.view(map.powerOn).map((each) => [each.from, each.read?.region])).toEqual(
      Array.from({ length: 8 }, (_, block) => [block * 0x2000, `block ${block}`]),
    );
    expect(analyse(map)).toMatchObject({ holes: [], clashes: [], unseen: [] });
  });
});

// Common practice, no source: a part with two registers behind a select that looks at eight lines answers at 128 places.
describe("partial decode", () => {
  it("shows two registers 128 times in a page of 256", () => {
    const map = mapOf("  memory: { port: { kind: io, at: $FF00, size: 2 bytes, decode: A15..A8 } }");
    const own = map.view(map.powerOn).filter((each) => each.read);
    expect(own).toHaveLength(128);
    expect(own.filter((each) => each.read!.mirror)).toHaveLength(127);
  });
});

// Arithmetic: eight 64K × 1 chips are 64 KiB, sixteen 16K × 1 chips 32 KiB, two 1K × 4 chips 1 KiB (the parts' data sheets).
describe("chips of a region", () => {
  it.each([
    ["4164", "64 KiB", 1, 8],
    ["4116", "32 KiB", 2, 8],
    ["2114", "1 KiB", 1, 2],
    ["41464", "64 KiB", 1, 2],
    ["6264", "16 KiB", 2, 1],
  ])("%s for %s are %d rows of %d", (part, size, rows, columns) => {
    const map = mapOf(`  memory: { m: { kind: ram, at: $0000, size: ${size}, chips: "${part}" } }`);
    expect(map.parts[0]).toMatchObject({ rows, columns });
    const chips = map.whoAnswers(map.powerOn, 0).read!.chips;
    expect(chips.flatMap((each) => each.bits)).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
  });
});

// Arithmetic: 12 blocks of 4 KiB main memory and 16 in eight banks of 8 KiB are 112 KiB, 28 blocks.
describe("translation", () => {
  it("reaches every bank of a window through blocks", () => {
    const map = mapOf(`  memory:
    main: { kind: ram, at: $0000, size: 48 KiB }
    window: { kind: window, at: $C000, size: 8 KiB, banks: 8, latch: { at: $FF7F, bits: 3 } }
  translation: { block: 4 KiB, tasks: 1, at: $FF60 }`);
    expect(map.translation!.blocks).toBe(28);
    for (let block = 0; block < 28; block++) {
      const maps = [Array.from({ length: 16 }, () => block)];
      const { read } = map.whoAnswers({ ...map.powerOn, translation: { on: true, task: 0, writes: 0, maps } }, 0x3000);
      expect(read).toMatchObject(
        block < 12 ? { part: "main", offset: block * 0x1000 } : { part: "window", bank: (block - 12) >> 1 },
      );
    }
  });
});
