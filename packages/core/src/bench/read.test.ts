import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { loadCatalogue } from "../catalogue/index.ts";
import { benchJsonSchema, keysWithMeaning, printIssues, readBench } from "./index.ts";

const catalogue = loadCatalogue();
const issuesOf = (text: string) => readBench(text, catalogue).issues;

describe("readBench", () => {
  it("finds every error of a file at once, each with its line and column", () => {
    const text = [
      "rouse: 1",
      "name: x",
      "computer:",
      "  cpu: { clok: 1.5 MHz }",
      "  memory:",
      "    main: { kind: ramm, at: C000, size: 48 }",
      "images:",
      "  one: { file: a.img, drive: left }",
    ].join("\n");
    const found = issuesOf(text).map((each) => [each.line, each.column, each.path]);
    expect(found).toEqual([
      [4, 10, "computer.cpu.clok"],
      [6, 19, "computer.memory.main.kind"],
      [6, 29, "computer.memory.main.at"],
      [6, 41, "computer.memory.main.size"],
      [8, 30, "images.one.drive"],
    ]);
    expect(issuesOf(text)[0]!.sentence).toBe("“clok” is not a key here; did you mean “clock”?");
    expect(issuesOf(text)[1]!.sentence).toBe(
      "“kind” should be one of “ram”, “rom”, “io”, “window”, not “ramm”; did you mean “ram”?",
    );
  });

  it("looks names up beside errors, and blames no name for what had to be left out", () => {
    const text = [
      "drives:", // neither version nor name
      "  left: { class: five-inch-40-track-two-sid, step: 6 }",
      "media:",
      "  blank: { class: five-inch-100, sides: none }",
      "images:",
      "  one: { drive: left, medium: blank, recording: ecma-545 }", // no file
      "  two: { file: a.img, drive: right, medium: blank }",
      "ports: { a: { format: 9Q1 } }",
      "terminals: { b: {} }",
      "computer: { memory: { low: { kind: ram, size: 1 KiB }, high: { kind: ram, at: $F000, size: 8 KiB, shares: low } } }",
      "cables:",
      "  c: { from: a, to: b, kind: wired, wires: [[2, 3], [x, 7]] }",
      "  d: { from: a, to: c, kind: nul modem }",
      "show: { image: one, port: a }",
    ].join("\n");
    expect(issuesOf(text).map((each) => [each.line, each.path])).toEqual([
      [1, "rouse"],
      [1, "name"],
      [2, "drives.left.class"],
      [2, "drives.left.step"],
      [4, "media.blank.sides"],
      [6, "images.one.file"],
      [6, "images.one.recording"],
      [7, "images.two.drive"],
      [8, "ports.a.format"],
      [10, "computer.memory.low.at"], // `low` can't be used without it, and yet `shares` is not wrong
      [10, "computer.memory.high.size"],
      [12, "cables.c.wires.1.0"],
      [13, "cables.d.to"],
      [13, "cables.d.kind"],
    ]);
  });

  it("points at a reference that nothing on the bench carries", () => {
    const text = "rouse: 1\nname: x\ndrives:\n  left: {}\nimages:\n  one: { file: a.img, drive: lefty }\n";
    expect(issuesOf(text)).toMatchObject([{ line: 6, column: 30, path: "images.one.drive" }]);
    expect(issuesOf(text)[0]!.sentence).toContain("did you mean “left”?");
  });

  it("points at a catalogue name that the catalogue does not hold", () => {
    const text = "rouse: 1\nname: x\nports:\n  a: { connector: db-255 }\n";
    expect(issuesOf(text)[0]).toMatchObject({ line: 4, column: 19 });
    expect(issuesOf(text)[0]!.sentence).toContain("“db-25”");
  });

  it("marks a value that the bench overrides as the person's own", () => {
    const { bench } = readBench(
      "rouse: 1\nname: x\nterminals:\n  a: { class: screen-40-small, rows: 20 }\n",
      catalogue,
    );
    const terminal = bench!.terminals[0]!;
    expect(terminal.rows).toMatchObject({ value: 20, source: { kind: "user" } });
    expect(terminal.columns!.value).toBe(40);
    expect(terminal.columns!.source.kind).not.toBe("user");
  });

  it("leaves a chip that the catalogue lacks unknown instead of guessing", () => {
    const { bench } = readBench(
      "rouse: 1\nname: x\ncomputer: { boards: { main: { chips: [{ part: 74LS999 }] } } }\n",
      catalogue,
    );
    expect(bench!.computer!.boards[0]!.chips[0]).toMatchObject({ part: "74LS999", count: 1 });
    expect(bench!.computer!.boards[0]!.chips[0]!.chip).toBeUndefined();
  });

  it("refuses what cannot be: a cable of −5 m, a clock of 0 Hz, a tolerance that reaches nothing", () => {
    const cable = (length: string) =>
      issuesOf(
        `rouse: 1\nname: x\nports: { p: {} }\nterminals: { t: {} }\ncables: { c: { from: p, to: t, length: ${length} } }\n`,
      ).map((each) => each.sentence);
    expect(cable("-5 m")).toEqual(["“length”: “-5 m” goes below 0; expected something like “2 m”"]);
    expect(cable("0 m")).toEqual([]);
    const cpu = (clock: string) =>
      issuesOf(`rouse: 1\nname: x\ncomputer: { cpu: { clock: ${clock} } }\n`).map((each) => each.sentence);
    expect(cpu("0 Hz")).toEqual(["“clock”: “0 Hz” is nothing; expected something like “1.5 MHz”"]);
    expect(cpu("1 MHz ± 120 %")[0]).toContain("goes below 0");
    expect(cpu("1 MHz ± 1 %")).toEqual([]);
    expect(issuesOf("rouse: 1\nname: x\ncomputer: { supply: { -12 V: { voltage: -12 V ± 5 % } } }\n")).toEqual([]);
    const secondary = (volts: string) =>
      issuesOf(`rouse: 1\nname: x\ncomputer: { supply: { +5 V: { unregulated: { secondary: ${volts} } } } }\n`).map(
        (each) => each.sentence,
      );
    expect(secondary("0 V")).toEqual(["“secondary”: “0 V” is nothing; expected something like “5 V ± 5 %”"]);
    expect(secondary("-8 V")[0]).toContain("goes below 0");
    expect(secondary("8 V")).toEqual([]);
  });

  it("tells syntax errors in plain words", () => {
    expect(issuesOf("rouse: 1\nname: [x\n")[0]!.sentence).toMatch(/never closed|missing/);
    expect(issuesOf("rouse: 1\nname: a\nname: b\n")).toMatchObject([{ line: 3, column: 1 }]);
    expect(issuesOf("").map((each) => each.sentence)).toEqual([
      "“rouse” is missing; expected 1",
      "“name” is missing; expected a text",
    ]);
    expect(issuesOf("[1, 2]")[0]!.sentence).toBe("“this file” should be keys with values");
  });

  it("says so where a text is nested too deeply to be followed", () => {
    const deep = `rouse: 1\nname: x\nabout: ${"[".repeat(20_000)}${"]".repeat(20_000)}\n`;
    expect(issuesOf(deep).map((each) => each.sentence)).toContain("Lists or keys are nested too deeply here");
  });

  it("keeps names with a dot apart in keys", () => {
    const { bench, where } = readBench("rouse: 1\nname: x\nports:\n  a.b: { uart: MC6850 }\n", catalogue);
    expect(bench!.ports[0]!.path).toBe('ports."a.b"');
    expect(where(`${bench!.ports[0]!.path}.uart`)).toMatchObject({ line: 4, column: 16 });
  });

  it("answers any text with issues, never with a crash", () => {
    const piece = fc.constantFrom(
      "rouse: 1\n",
      "name: x\n",
      "drives:\n",
      "  a: {",
      "}",
      "[",
      "- ",
      "&a ",
      "*a ",
      ": ",
      "\t",
      '"',
      "$C000",
      "\n",
    );
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.array(piece, { maxLength: 20 }).map((all) => all.join("")),
        ),
        (text) => {
          const read = readBench(text, catalogue);
          for (const issue of read.issues) {
            expect(issue.line).toBeGreaterThanOrEqual(1);
            expect(issue.column).toBeGreaterThanOrEqual(1);
          }
          expect(read.bench !== undefined).toBe(read.issues.length === 0);
        },
      ),
      { numRuns: 400, seed: 9 },
    );
  });
});

describe("printIssues", () => {
  it("refuses control characters, and prints none of them", () => {
    for (const text of [
      'rouse: 1\nname: "\\e[31mred"\n',
      "rouse: 1\nname: a\u001b[31mred\n",
      'rouse: 1\nname: x\nshow: { "\\e]0;t\\a": 1 }\n',
      'rouse: 1\nname: x\ndrives: { d: { class: "five\u202einch" } }\n',
    ]) {
      const issues = issuesOf(text);
      expect(issues.length).toBeGreaterThan(0);
      expect(printIssues("bench.yaml", text, issues).replaceAll("\n", "")).not.toMatch(
        /[\u0000-\u001f\u007f-\u009f\u202e]/,
      );
    }
    expect(issuesOf("rouse: 1\nname: x\nabout: |\n  two\n  lines\tof it\n")).toEqual([]);
  });

  it("puts a caret under what is meant", () => {
    const text = "rouse: 1\nname: x\nshow: { people: many }\n";
    expect(printIssues("bench.yaml", text, issuesOf(text))).toBe(
      "bench.yaml:3:17: “people” should be a number\n    show: { people: many }\n                    ^^^^",
    );
  });
});

describe("schema", () => {
  it("carries a description for every key, for hover texts", () => {
    const bare: string[] = [];
    const walk = (path: string[], schema: { properties?: Record<string, { description?: string }> }) => {
      for (const [key, value] of Object.entries(schema.properties ?? {})) {
        if (!value.description && !["file", "note", "socketed", "wires", "size", "codes"].includes(key))
          bare.push([...path, key].join("."));
        walk([...path, key], value as never);
      }
    };
    walk([], benchJsonSchema() as never);
    expect(bare).toEqual([]);
  });

  it("offers keys and values for completion", () => {
    expect(keysWithMeaning(["computer", "memory", "main"]).find((each) => each.key === "kind")!.values).toContain(
      "window",
    );
    expect(keysWithMeaning([]).map((each) => each.key)).toContain("cables");
  });
});
