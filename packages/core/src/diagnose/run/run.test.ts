import { describe, expect, it } from "vitest";
import { makePrograms, type ProgramOptions, type Report, readReport, runProgram, type TestProgram } from "../index.ts";
import type { TestSpace } from "../machine/space.ts";
import { Board } from "./board.ts";
import { SMALL_NAMES, type SmallName, smallBench } from "./small-bench.ts";

const EXTRA = Uint8Array.from({ length: 256 }, (_, index) => (index * 7) & 0xff);
const IMAGES = new Map([["extra.rom", EXTRA]]);
const SHORT = 0.01;
/** Programs of one test are used for several faults. */
const MADE = new Map<string, TestProgram[]>();

/** A fault between the CPU and the memory chips. */
interface Meddler {
  /** The cells whose reads and writes it wants to see, counted over all memory; all where nothing is said. */
  cells?: { from: number; to: number };
  /** Gives what the CPU reads in place of `value`, or what is stored. */
  read?(cell: number, value: number): number;
  write?(cell: number, value: number): number;
  /** Gives what latches and translation really hold. */
  state?: TestSpace["distort"];
}

const spoiledBy =
  ({ cells, read, write, state }: Meddler) =>
  (space: TestSpace): void => {
    const { memory } = space.bus;
    space.distort = state;
    space.watch = {
      ranges: read || write ? [cells ?? { from: 0, to: memory.length - 1 }] : [],
      read: (cell) => (read ? read(cell, memory[cell]!) : memory[cell]!),
      write: (cell, value) => {
        memory[cell] = write ? write(cell, value) : value;
      },
    };
  };

/** Runs all programs of a small bench, and joins their reports. */
function reports(
  name: SmallName,
  options: ProgramOptions,
  meddler?: Meddler,
  changes: readonly (readonly [string, string])[] = [],
): { reports: Report[]; text: string; titles: string[] } {
  const bench = smallBench(name, changes);
  const key = JSON.stringify([name, options, changes]);
  const programs = MADE.get(key) ?? makePrograms(bench, { seconds: SHORT, roms: IMAGES, ...options });
  if (!options.roms) MADE.set(key, programs);
  const runs = programs.map((each) =>
    runProgram(bench, each, { ...(meddler ? { spoil: spoiledBy(meddler) } : {}), roms: IMAGES, seconds: 120 }),
  );
  for (const run of runs) expect(run.ended).toBe(true);
  return {
    reports: runs.map(({ text }) => readReport(text)),
    text: runs.map(({ text }) => text).join(""),
    titles: programs.flatMap(({ tests }) => tests.map(({ title }) => title)),
  };
}

/** Cells: main memory, the banks of the window, and the ROMs, in the order of the bench. */
const MAIN = (name: SmallName) => (name === "Z80" ? 0x2000 : 0);
const BANKS = (name: SmallName) => MAIN(name) + 0x400;
const EXTRA_AT = (name: SmallName) => BANKS(name) + 0x400;
const only = (from: number, bytes = 1) => ({ from, to: from + bytes - 1 });

const ALL = ["march-c-", "address", "banks", "latches", "retention", "rom", "timer", "port", "loop"];

describe.each(SMALL_NAMES)("test programs for the %s", (name) => {
  const base = name === "Z80" ? 0x8000 : 0;

  it("find nothing on a bench that is well, and say so of every test", () => {
    const { reports: found, titles } = reports(name, { tests: [...ALL, "translation"] });
    for (const { findings, counts, unread, end } of found) {
      expect([findings, counts, unread]).toEqual([[], [], []]);
      expect(end).toBe("good");
    }
    expect(found.flatMap(({ verdicts }) => verdicts)).toHaveLength(titles.length);
    expect(titles.length).toBeGreaterThan(name === "6809" ? 13 : 10);
  });

  it.each(["march-b", "march-g"])("find nothing by %s either", (test) => {
    const { reports: found } = reports(name, { tests: [test], over: ["main", "banks"] });
    expect(found.flatMap(({ findings }) => findings)).toEqual([]);
    expect(found[0]!.end).toBe("good");
  });

  it("name the address and the bit that sticks, wherever it is", () => {
    for (const offset of [0x000, 0x0ff, 0x100, 0x2bc, 0x3ff])
      for (const [mask, stuck] of [
        [0xfe, 0],
        [0x7f, 0x80],
      ] as const) {
        const cell = MAIN(name) + offset;
        const { reports: found } = reports(
          name,
          { tests: ["march-c-"], over: ["main"] },
          { cells: only(cell), read: (_, value) => (value & mask) | stuck },
        );
        const findings = found.flatMap((each) => each.findings);
        expect(found.at(-1)!.end).toBe("bad");
        expect(findings.length).toBeGreaterThan(0);
        for (const { address, wanted, got } of findings) {
          expect(address).toBe(base + offset);
          expect(wanted! ^ got!).toBe(~mask & 0xff);
        }
      }
  });

  it("name bank and address of a bad cell behind the window", () => {
    const cell = BANKS(name) + 2 * 0x100 + 0x23;
    const { reports: found } = reports(
      name,
      { tests: ["march-c-"], over: ["banks"] },
      { cells: only(cell), write: (_, value) => value & 0xef },
    );
    const findings = found.flatMap((each) => each.findings);
    expect(findings.length).toBeGreaterThan(0);
    for (const each of findings) expect(each).toMatchObject({ view: 2, address: 0x4023 });
  });

  it("tell a bank that is missing, and one that answers for another", () => {
    const missing = reports(
      name,
      { tests: ["banks"] },
      {
        cells: only(BANKS(name) + 0x300, 0x100),
        read: () => 0xff,
      },
    );
    const seen = missing.reports.flatMap((each) => each.findings);
    expect(seen.length).toBeGreaterThan(0);
    expect(new Set(seen.map(({ view }) => view))).toEqual(new Set([3]));
    const alias = reports(
      name,
      { tests: ["banks"] },
      {
        state: (state) => ({ ...state, latches: { ...state.latches, window: state.latches.window! & 1 } }),
      },
    );
    // Bit 1 of the latch is dead: 2 and 3 are 0 and 1, and whoever is written last is read.
    expect(alias.reports.flatMap((each) => each.findings)).toContainEqual(
      expect.objectContaining({ view: 0, wanted: 0, got: 2 }),
    );
  });

  it("tell a latch that does not take a bit after another value, and whose bit falls", () => {
    const { reports: found } = reports(
      name,
      { tests: ["latches"] },
      {
        state: (state) => ({
          ...state,
          latches: { ...state.latches, window: state.latches.window === 2 ? 0 : state.latches.window! },
        }),
      },
    );
    const findings = found.flatMap((each) => each.findings);
    expect(findings.length).toBeGreaterThan(0);
    for (const each of findings) expect([0, 2]).toContain(each.view ?? 0);
  });

  it("tell which address lines are one", () => {
    const dead = (at: number) => at & ~0x200;
    const memory = new Map<number, number>();
    const { reports: found } = reports(
      name,
      { tests: ["address"] },
      {
        read: (at, value) => memory.get(dead(at)) ?? value,
        write: (at, value) => {
          memory.set(dead(at), value);
          return value;
        },
      },
    );
    // The mark of line 9 lies where that of the first address is, and the other way round.
    const findings = found.flatMap((each) => each.findings);
    const marks = [0x80, 0x80 + 1 + 9, 0x7f, 0x7f - 1 - 9];
    expect(findings.length).toBeGreaterThan(0);
    for (const { wanted, got } of findings)
      expect([marks.includes(wanted!), marks.includes(got!)]).toEqual([true, true]);
  });

  it("tell memory that forgets", () => {
    let clock = 0;
    const from = MAIN(name);
    const held = new Map<number, number>();
    const { reports: found } = reports(
      name,
      { tests: ["retention"], over: ["main"], seconds: 0.05 },
      {
        write: (at, value) => {
          if (at === from + 0x200) held.set(at, clock);
          return value;
        },
        // Other cells are looked at before this one, so that their number is a clock.
        read: (at, value) => {
          clock++;
          const since = held.get(at);
          return since !== undefined && clock - since > 0x100 ? value & 0x0f : value;
        },
      },
    );
    const findings = found.flatMap((each) => each.findings);
    expect(findings.length).toBeGreaterThan(0);
    for (const each of findings) expect(each.address).toBe(base + 0x200);
  });

  it("tell the sum of a ROM that is not what its file says, and one that nobody knows", () => {
    const at = EXTRA_AT(name) + 5;
    const changed = reports(name, { tests: ["rom"] }, { cells: only(at), read: (_, value) => value ^ 1 });
    const wanted = EXTRA.reduce((sum, byte) => sum + byte, 0);
    const findings = changed.reports.flatMap((each) => each.findings);
    expect(findings).toEqual([expect.objectContaining({ wanted, got: wanted + 1 - 2 * (EXTRA[5]! & 1) })]);
    const unknown = reports(name, { tests: ["rom"], roms: new Map() });
    expect(unknown.reports.flatMap((each) => each.findings)).toEqual([expect.objectContaining({ got: wanted })]);
    expect(unknown.reports.at(-1)!.end).toBe("good");
  });

  it("run from memory too, and leave only their own place out", () => {
    const bench = smallBench(name, [
      [`at: $${name === "Z80" ? "8" : "0"}000, size: 1 KiB`, `at: $${name === "Z80" ? "8" : "0"}000, size: 4 KiB`],
    ]);
    const at = base + 0x400;
    const programs = makePrograms(bench, { tests: ["mats+"], over: ["main"], place: "memory", at });
    for (const program of programs) {
      expect(program.origin).toBe(at);
      const left = program.tests.at(-1)!.space!.left.find(({ from }) => from === at)!;
      const end = program.symbols.get("code_end")!;
      expect(left.to).toBeGreaterThanOrEqual(end - 1);
      expect(left.to).toBeLessThan(end + 255);
      expect(runProgram(bench, program, { seconds: 60 }).text).toContain("END GOOD");
    }
  });
});

describe("lamp, bell and screen", () => {
  it("show the verdict where the bench has them", () => {
    const signals = "  signals: { lamp: { at: $D030, bit: 3, lit: 0 }, bell: { at: $D031 }, screen: { at: $4000 } }";
    for (const name of SMALL_NAMES) {
      const key = name === "6502" ? "  timers:" : "  tick:";
      const bench = smallBench(name, [[key, `${signals}\n${key}`]]);
      const [program] = makePrograms(bench, { tests: ["address"] });
      for (const broken of [false, true]) {
        const board = new Board(bench, program!, 100);
        if (broken) spoiledBy({ cells: only(MAIN(name) + 0x200, 0x20), read: () => 0x5a })(board.space);
        expect(board.run(5e6)).toBe(true);
        const shown = [0, 1, 2, 3].map((each) => String.fromCharCode(board.bus.read(0x4000 + each))).join("");
        expect([name, shown]).toEqual([name, broken ? "BAD " : "GOOD"]);
      }
      expect(program!.source).toMatch(/the lamp is lit/);
      expect(program!.source).toMatch(/the bell/);
    }
  });
});

describe("timers and ports", () => {
  it.each(["6809", "6502"] as const)("know a %s's periods where memory makes the CPU wait", (name) => {
    for (const waits of [1, 3]) {
      const { text } = reports(name, { tests: ["timer"] }, undefined, [
        ["size: 8 KiB, chips: 2764", `size: 8 KiB, waits: ${waits}, chips: 2764`],
        [
          "devices: { kind: io, at: $D000, size: 256 bytes",
          `devices: { kind: io, at: $D000, size: 256 bytes, waits: ${waits}`,
        ],
      ]);
      expect(text).toMatch(/END GOOD\r\n$/);
    }
  });

  it("tell a tick of another period, and an interrupt that does not come", () => {
    const bench = smallBench("6809");
    const [program] = makePrograms(bench, { tests: ["timer"] });
    const faster = smallBench("6809", [["every: 20000, interrupts: true", "every: 15000"]]);
    const { findings, end } = readReport(runProgram(faster, program!, { seconds: 60 }).text);
    expect(end).toBe("bad");
    // 18 cycles a turn of the counting loop.
    expect(findings[0]).toMatchObject({ element: 1, wanted: Math.round(20_000 / 18) });
    expect(Math.abs(findings[0]!.got! - 15_000 / 18)).toBeLessThan(4);
    expect(findings[1]).toMatchObject({ element: 2, wanted: 1, got: 0 });
  });

  it("find nothing where a Z80's second port and tick lie among its memory", () => {
    const { text, reports: found } = reports("Z80", { tests: ["timer", "loop"] }, undefined, [
      ["second: { uart: 8251, at: $14", "second: { uart: 8251, at: $D014"],
      ["tick: { at: $20", "tick: { at: $D020"],
    ]);
    expect(found.flatMap(({ findings }) => findings)).toEqual([]);
    expect(text).toMatch(/A GOOD[\s\S]*B GOOD[\s\S]*END GOOD/);
  });

  it("speak of refresh only in the program that waits", () => {
    const bench = smallBench("6809", [["kind: ram", "kind: ram, chips: 4164"]]);
    const spoken = (tests: readonly string[]) =>
      makePrograms(bench, { tests })[0]!.notes.some((each) => /refresh/.test(each));
    expect([spoken(["march-c-"]), spoken(["march-c-", "retention"])]).toEqual([false, true]);
    const several = makePrograms(bench, { tests: ["march-c-", "march-b", "retention"], eprom: 4096 });
    expect(several.length).toBeGreaterThan(1);
    for (const { tests, notes } of several)
      expect(notes.some((each) => /refresh/.test(each))).toBe(tests.some(({ kind }) => kind === "retention"));
  });

  it("say every character that can be printed", () => {
    const { text } = reports("6502", { tests: ["port"] });
    for (let code = 0x20; code < 0x7f; code++) expect(text).toContain(String.fromCharCode(code));
  });

  it("set each rate that the part can make and compare what comes back", () => {
    const bench = smallBench("6502");
    const [program] = makePrograms(bench, { tests: ["loop"] });
    expect(program!.source).toContain("; 19200 bit/s.");
    expect(program!.source).toContain("; 300 bit/s.");
    const single = smallBench("6809", [["second: { uart: MC6850", "second: { uart: 8250-none"]]);
    const own = makePrograms(single, { tests: ["loop"] });
    expect(own[0]!.notes.join(" ")).toContain("There is no second port");
  });
});
