import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { type Ability, abilityOf, captureReport, idealAbility, Rendition, Screen, sideBySide } from "./index.ts";

const { terminals } = loadCatalogue();
const ability = (id: string, size = {}): Ability => abilityOf(terminals.get(id)!, size);
const shown = (terminal: Ability, text: string): string[] => {
  const screen = new Screen(terminal);
  screen.write(asciiBytes(text));
  return screen.lines();
};
const ideal = (text: string, columns = 10, rows = 4): string[] => shown(idealAbility(columns, rows), text);

describe("the ideal screen", () => {
  it("wraps with the next character and scrolls", () => {
    expect(ideal("abcdefghij\rX")).toEqual(["Xbcdefghij", "", "", ""]);
    expect(ideal("abcdefghijk")).toEqual(["abcdefghij", "k", "", ""]);
    expect(ideal("1\r\n2\r\n3\r\n4\r\n5")).toEqual(["2", "3", "4", "5"]);
  });

  it("erases, inserts and deletes as ECMA-48 8.3 says", () => {
    expect(ideal("abcdef\u001b[3G\u001b[K")).toEqual(["ab", "", "", ""]);
    expect(ideal("abcdef\u001b[3G\u001b[1K")).toEqual(["   def", "", "", ""]);
    expect(ideal("a\r\nb\r\nc\u001b[2H\u001b[L")).toEqual(["a", "", "b", "c"]);
    expect(ideal("a\r\nb\r\nc\u001b[2H\u001b[M")).toEqual(["a", "c", "", ""]);
    expect(ideal("abcdef\u001b[2G\u001b[2@")).toEqual(["a  bcdef", "", "", ""]);
    expect(ideal("abcdef\u001b[2G\u001b[2P")).toEqual(["adef", "", "", ""]);
    expect(ideal("abcdef\u001b[2G\u001b[2X")).toEqual(["a  def", "", "", ""]);
    expect(ideal("ab\u001b[3b\r\nx\u001b[2 A")).toEqual(["  abbbb", "  x", "", ""]);
  });

  it("keeps renditions with the characters", () => {
    const screen = new Screen(idealAbility(10, 2));
    screen.write(asciiBytes("\u001b[1;7ma\u001b[0;31;42mb\u001b[mc"));
    expect([...screen.page.row(0).renditions].slice(0, 4)).toEqual([
      Rendition.Bold | Rendition.Negative,
      (2 << 12) | (3 << 16),
      0,
      0,
    ]);
  });

  it("answers where its cursor is", () => {
    const screen = new Screen(idealAbility(10, 4));
    screen.write(asciiBytes("\u001b[3;5H\u001b[6n\u001b[5n"));
    expect(String.fromCharCode(...screen.takeReplies())).toBe("\u001b[3;5R\u001b[0n");
    expect(screen.takeReplies().length).toBe(0);
  });

  it("takes any bytes at all, in any pieces, and shows the same", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), fc.constantFrom("ideal", ...terminals.keys()), (bytes, id) => {
        const which = id === "ideal" ? idealAbility(20, 5) : ability(id, { columns: 20, rows: 5 });
        const [whole, bits] = [new Screen(which), new Screen(which)];
        whole.write(bytes);
        for (let i = 0; i < bytes.length; i++) bits.write(bytes, i, i + 1);
        expect(bits.lines()).toEqual(whole.lines());
        expect(bits.cursor).toEqual(whole.cursor);
      }),
      { seed: 48, numRuns: 400 },
    );
  });

  it("is not held up by huge parameters", () => {
    const start = process.hrtime.bigint();
    expect(ideal(`a\u001b[2147483647b\u001b[999999999L\u001b[999999999S`).join("")).toBe("");
    expect(Number(process.hrtime.bigint() - start) / 1e6).toBeLessThan(2000);
  });
});

describe("a terminal of small ability", () => {
  const size = { columns: 12, rows: 3 };

  it("shows control functions as garbage where it knows none", () => {
    expect(shown(ability("screen-80-plain", size), "\u001b[2J\u001b[1;1HHi")).toEqual(["[2J[1;1HHi", "", ""]);
  });

  it("shows capitals for small letters and columns 6 and 7 as 4 and 5", () => {
    expect(shown(ability("screen-32-upper", size), "Hello {x}~`")).toEqual(["HELLO [X]^@", "", ""]);
  });

  it("passes over the functions it lacks where it knows some", () => {
    expect(shown(ability("screen-40-small", size), "a\u001b[2Lb\u001b[5mc")).toEqual(["abc", "", ""]);
  });

  it("stays on the last column where it does not wrap", () => {
    expect(shown(ability("screen-80-cursor", size), "abcdefghijklmnop")).toEqual(["abcdefghijkp", "", ""]);
  });

  it("goes to the next line at once where that is its way", () => {
    const screen = new Screen(ability("screen-40-upper", size));
    screen.write(asciiBytes("ABCDEFGHIJKL"));
    expect(screen.cursor).toEqual({ row: 1, column: 0, waits: false });
  });

  it("obeys its own short codes, split anywhere", () => {
    const bytes = Uint8Array.of(0x0c, 0x10, 0x20 + 1, 0x20 + 4, 0x41, 0x1c, 0x42, 0x1e, 0x43, 0x19);
    const screen = new Screen(ability("screen-80-short-codes", size));
    for (const byte of bytes) screen.write(Uint8Array.of(byte));
    expect(screen.lines()).toEqual(["C", "    A", ""]);
    expect(screen.atRest).toBe(true);
  });

  it("swallows an unknown pair after ESC where its own codes begin with ESC", () => {
    const terminal: Ability = { ...ability("screen-80-plain", size), codes: [{ act: "clear", bytes: [0x1b, 0x54] }] };
    expect(shown(terminal, "ab\u001b[2Jc")).toEqual(["ab2Jc", "", ""]);
    expect(shown(terminal, "ab\u001bTc")).toEqual(["c", "", ""]);
  });

  it("takes the eighth bit for parity", () => {
    const screen = new Screen(ability("screen-80-plain", size));
    screen.write(Uint8Array.of(0xc8, 0x69));
    expect(screen.lines()[0]).toBe("Hi");
  });

  it("shows the national characters of its code", () => {
    const screen = new Screen(ability("screen-80-full", size));
    screen.write(asciiBytes("[{#"));
    expect(screen.line(0, "DE").trimEnd()).toBe("Ää#");
  });
});

describe("paper", () => {
  it("strikes over what was printed, and erases nothing", () => {
    const paper = ability("printing-132", { columns: 20, rows: 4 });
    expect(shown(paper, "abc\rxb\r\nunder\b\b\b\b\b_____")).toEqual(["▒bc", "under", "", ""]);
    const screen = new Screen(paper);
    screen.write(asciiBytes("a\b_"));
    expect(screen.page.row(0).renditions[0]).toBe(Rendition.Underlined);
  });

  it("feeds to the head of the next page", () => {
    const screen = new Screen(ability("printing-132", { columns: 20, rows: 4 }));
    screen.write(asciiBytes("a\nb\f"));
    expect(screen.page.scrolledOff + screen.cursor.row).toBe(4);
  });
});

describe("the report on a capture", () => {
  const capture = asciiBytes(`\u001b[2J\u001b[1;1HWelcome ${"x".repeat(50)}\u001b[3;1H\u001b[7mname\u001b[m`);

  it("says what a terminal lacks and what the audience sees", () => {
    const report = captureReport(capture, ability("screen-40-upper"));
    expect(report.lacking).toEqual(["ED", "CUP", "SGR"]);
    expect(report.functions.map(({ treatment }) => treatment)).toEqual([
      "shown as garbage",
      "shown as garbage",
      "shown as garbage",
    ]);
    expect(report.audience[0]).toBe("ED (erase in page), once, first at byte 0: shown as characters, “[2J”.");
    expect(report.audience).toContain("60 lower-case letters shown as capitals.");
    expect(report.audience).toContain("1 line wider than 40 columns (widest 58): each goes on in the next row.");
    expect(report.here[0]).toBe("[2J[1;1HWELCOME XXXXXXXXXXXXXXXXXXXXXXXX");
    expect(report.ideal[2]).toBe("name");
  });

  it("has nothing to say where the terminal does all of it", () => {
    const report = captureReport(capture, ability("screen-80-full"));
    expect([report.lacking, report.audience]).toEqual([[], []]);
    expect(report.here).toEqual(report.ideal);
  });

  it("puts both screens side by side and marks where they differ", () => {
    const left = { title: "ideal", columns: 6, lines: ["name", "x"] };
    expect(sideBySide(left, { title: "here", columns: 4, lines: ["NAME", "x"] }).split("\n")).toEqual([
      "ideal      here",
      "┌──────┐   ┌────┐",
      "│name  │ ≠ │NAME│",
      "│x     │   │x   │",
      "└──────┘   └────┘",
    ]);
  });
});
