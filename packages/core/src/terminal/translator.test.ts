import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { type Ability, abilityOf, createTranslator, foldTable, Screen, type TranslatorOptions } from "./index.ts";

const { terminals } = loadCatalogue();
const ability = (id: string): Ability => abilityOf(terminals.get(id)!);
const run = (
  ideal: { columns: number; rows: number },
  terminal: Ability,
  pieces: readonly Uint8Array[],
  options: TranslatorOptions = {},
) => {
  const translator = createTranslator(ideal, terminal, options);
  const sent = [translator.start(0).toTerminal];
  for (const piece of pieces) sent.push(translator.fromHost(piece, 0).toTerminal);
  // A terminal of its own, that knows only what was sent.
  const there = new Screen(terminal);
  for (const each of sent) there.write(each);
  return { translator, there, sent: sent.reduce((sum, each) => sum + each.length, 0) };
};
const folded = (screen: Screen, terminal: Ability): string[] => {
  const table = foldTable(terminal, "plain");
  return Array.from({ length: screen.rows }, (_, row) =>
    String.fromCharCode(...[...screen.page.row(row).characters].map((each) => table[each]!)).trimEnd(),
  );
};

const csi = fc
  .tuple(
    fc.constantFrom("", "1", "2", "3", "5", "12", "3;7", "10;30", ";9", "7", "1;4"),
    fc.constantFrom(..."@ABCDEFGHJKLMPSTXZ`abdefgm"),
  )
  .map(([parameters, final]) => `\u001b[${parameters}${final}`);
const words = fc.string({ unit: fc.constantFrom(..."abc XYZ{}|~ 09"), maxLength: 50 });
const screenful = fc
  .array(
    fc.oneof(
      words,
      words,
      csi,
      csi,
      fc.constantFrom("\r\n", "\n", "\r", "\b", "\t", "\u001bM", "\u001bE", "\u001b[H\u001b[2J"),
    ),
    { maxLength: 40 },
  )
  .map((parts) => parts.map((each) => asciiBytes(each)));
const lineText = fc
  .array(fc.oneof(words, words, fc.constantFrom("\r\n", "\r\n", "\r", "\b", "\t")), { maxLength: 40 })
  .map((parts) => parts.map((each) => asciiBytes(each)));

/** As the terminal is but as large as the program's screen. */
const withSize = (id: string, columns: number, rows: number): Ability => ({ ...ability(id), columns, rows });
const ADDRESSED = [...terminals.values()]
  .filter((each) => each.codes !== undefined || each.controls.length > 0)
  .map(({ id }) => id);

describe("translation to a terminal that reaches every row", () => {
  it.each(ADDRESSED)("shows what the ideal screen shows, on %s", (id) => {
    const terminal = withSize(id, 40, 12);
    fc.assert(
      fc.property(screenful, (pieces) => {
        const { translator, there } = run({ columns: 40, rows: 12 }, terminal, pieces);
        const want = folded(translator.ideal, terminal);
        const shown = there.lines();
        // The one position it cannot fill: the last of all, where that would scroll the screen.
        if (terminal.wrap === "at once") want[11] = want[11]!.slice(0, 39).trimEnd();
        expect(shown).toEqual(want);
        const { row, column } = translator.ideal.cursor;
        expect(there.cursor).toEqual({ row, column, waits: false });
        if (terminal.obeys.has("SGR"))
          for (let each = 0; each < 12; each++)
            expect([...there.page.row(each).renditions]).toEqual([...translator.ideal.page.row(each).renditions]);
      }),
      { seed: 4, numRuns: 60 },
    );
  });

  it.each(ADDRESSED)("sends no more than it must for text on %s", (id) => {
    const terminal = withSize(id, 40, 12);
    const text = Array.from({ length: 30 }, (_, i) => `LINE ${i} OF THE TEXT\r\n`).join("");
    const { sent } = run({ columns: 40, rows: 12 }, terminal, [asciiBytes(text)]);
    expect(sent).toBeLessThan(text.length * 1.15 + 40);
  });

  it("places the cursor without a code for it by home and line feeds", () => {
    const terminal: Ability = { ...withSize("screen-80-plain", 20, 5), codes: [{ act: "home", bytes: [0x1e] }] };
    const { there } = run({ columns: 20, rows: 5 }, terminal, [
      asciiBytes("one\r\ntwo\r\nthree\u001b[1;2HNE\u001b[2;9Hx"),
    ]);
    expect(there.lines()).toEqual(["oNE", "two     x", "three", "", ""]);
    expect(there.cursor).toEqual({ row: 1, column: 9, waits: false });
  });

  it("reflows lines that are wider than the terminal", () => {
    const { there } = run({ columns: 80, rows: 24 }, withSize("screen-40-small", 10, 4), [
      asciiBytes("abcdefghijklmno\r\nxy"),
    ]);
    expect(there.lines()).toEqual(["abcdefghij", "klmno", "xy", ""]);
  });

  it("pans with the cursor, tells so in the status line, and lets a person move the part shown", () => {
    const options = { wide: "pan", status: true, panKey: 0x1f } as const;
    const { translator, there } = run(
      { columns: 80, rows: 24 },
      withSize("screen-40-small", 40, 4),
      [asciiBytes(`${"ab".repeat(25)}Z`)],
      options,
    );
    const window = "ab".repeat(15);
    expect(there.lines()).toEqual([`${window}Z`, "", "", "COLUMNS 21-60 OF 80  CURSOR 1,52"]);
    there.write(translator.fromTerminal(asciiBytes("\u001fl"), 0).toTerminal);
    expect(there.lines()[0]).toBe("ab".repeat(20));
    expect(there.lines()[3]).toBe("COLUMNS 1-40 OF 80  CURSOR 1,52  HELD");
    there.write(translator.fromTerminal(asciiBytes("\u001ff"), 0).toTerminal);
    expect(there.lines()[0]).toBe(`${window}Z`);
  });

  it("shows every part of a wide and high screen by panning, on any terminal that addresses", () => {
    fc.assert(
      fc.property(screenful, fc.constantFrom(...ADDRESSED), (pieces, id) => {
        const terminal = withSize(id, 18, 7);
        const { translator, there } = run({ columns: 40, rows: 12 }, terminal, pieces, { wide: "pan" });
        const want = folded(translator.ideal, terminal);
        const { row, column } = translator.ideal.cursor;
        const at = there.cursor;
        const [top, left] = [row - at.row, column - at.column];
        const part = Array.from({ length: 7 }, (_, i) =>
          (want[top + i] ?? "")
            .padEnd(40)
            .slice(left, left + 18)
            .trimEnd(),
        );
        if (terminal.wrap === "at once") part[6] = part[6]!.slice(0, 17).trimEnd();
        expect(there.lines()).toEqual(part);
      }),
      { seed: 4, numRuns: 80 },
    );
  });
});

describe("translation to a terminal that only goes on", () => {
  it.each(["screen-32-upper", "screen-64-upper", "screen-80-plain"])(
    "ends with what the ideal screen shows up to the cursor, on %s",
    (id) => {
      const terminal = withSize(id, 40, 12);
      fc.assert(
        fc.property(screenful, (pieces) => {
          const { translator, there } = run({ columns: 40, rows: 12 }, terminal, pieces);
          const want = folded(translator.ideal, terminal).slice(0, translator.ideal.cursor.row + 1);
          const bottom = there.cursor.row;
          expect(there.lines().slice(bottom + 1 - want.length, bottom + 1)).toEqual(want);
          expect(there.cursor.column).toBe(translator.ideal.cursor.column);
        }),
        { seed: 4, numRuns: 60 },
      );
    },
  );

  it("shows the whole screen and nothing else where it is told to send it again", () => {
    const terminal = withSize("screen-80-plain", 40, 12);
    fc.assert(
      fc.property(screenful, (pieces) => {
        const { translator, there } = run({ columns: 40, rows: 12 }, terminal, pieces, { unreachable: "repaint" });
        const trim = (lines: string[]): string => lines.join("\n").trim();
        expect(trim(there.lines())).toBe(trim(folded(translator.ideal, terminal)));
      }),
      { seed: 4, numRuns: 60 },
    );
  });

  it("prints lines of text once each on paper, in their order, with what is typed over below", () => {
    fc.assert(
      fc.property(lineText, (pieces) => {
        const terminal = withSize("printing-132", 40, 30);
        const roll: string[] = [];
        const translator = createTranslator({ columns: 40, rows: 12 }, terminal);
        const there = new Screen(terminal);
        there.page.onScrollOff = (row) => roll.push(String.fromCharCode(...row.characters).trimEnd());
        const final: string[] = [];
        translator.ideal.page.onScrollOff = (row) => final.push(String.fromCharCode(...row.characters).trimEnd());
        there.write(translator.start(0).toTerminal);
        for (const piece of pieces) there.write(translator.fromHost(piece, 0).toTerminal);
        const printed = [...roll, ...there.lines()];
        const want = [...final, ...translator.ideal.lines().slice(0, translator.ideal.cursor.row + 1)];
        let at = 0;
        for (const line of printed) if (line === want[at]) at++;
        expect(at).toBe(want.length);
        // Nothing is struck over anything it would spoil.
        expect(printed.join("\n")).not.toContain("▒");
      }),
      { seed: 4, numRuns: 80 },
    );
  });
});

describe("the translator's other duties", () => {
  it("paces what it sends, and waits longer after a line", () => {
    const translator = createTranslator({ columns: 80, rows: 24 }, ability("screen-80-plain"), {
      pace: { toTerminal: { perCharacter: 10, afterLine: 100 } },
    });
    let now = 0;
    let got = translator.start(now).toTerminal.length;
    let wake = translator.fromHost(asciiBytes("ab\r\nc"), now).wake;
    const start = translator.shown.rows * 2 + 2;
    while (wake !== undefined) {
      now = wake;
      const sent = translator.tick(now);
      got += sent.toTerminal.length;
      expect(sent.toTerminal.length).toBeLessThanOrEqual(1);
      wake = sent.wake;
    }
    expect(got).toBe(start + 5);
    // 54 characters after the first, 10 ms each; 50 line feeds, 100 ms each.
    expect(now).toBe((start + 4) * 10 + (start - 1 + 1) * 100);
  });

  it("stops the computer while the terminal is behind, and obeys the terminal's own stop", () => {
    const translator = createTranslator({ columns: 80, rows: 24 }, ability("screen-80-full"), {
      flow: "characters",
      pace: { toTerminal: { perCharacter: 1 } },
    });
    translator.start(0);
    expect([...translator.fromHost(asciiBytes("x".repeat(79).concat("\r\n").repeat(12)), 0).toHost]).toEqual([0x13]);
    const toHost: number[] = [];
    let now = 0;
    while (toHost.length === 0) toHost.push(...translator.tick(++now).toHost);
    expect(toHost).toEqual([0x11]);
    translator.fromTerminal(Uint8Array.of(0x13), ++now);
    expect(translator.tick(now + 5000).toTerminal.length).toBe(0);
    expect(translator.fromTerminal(Uint8Array.of(0x11), now + 5001).toTerminal.length).toBe(2);
    expect(translator.tick(now + 5002).toTerminal.length).toBe(1);
  });

  it("answers the computer in the terminal's place, and sends cursor keys as it expects them", () => {
    const translator = createTranslator({ columns: 80, rows: 24 }, ability("screen-80-short-codes"));
    expect(String.fromCharCode(...translator.fromHost(asciiBytes("\u001b[3;4H\u001b[6n"), 0).toHost)).toBe(
      "\u001b[3;4R",
    );
    expect(String.fromCharCode(...translator.fromTerminal(Uint8Array.of(0x1c, 0x1d, 0x08, 0x41), 0).toHost)).toBe(
      "\u001b[A\u001b[C\bA",
    );
  });

  it("sends lower case for capitals where it is told to", () => {
    const translator = createTranslator({ columns: 80, rows: 24 }, ability("screen-40-upper"), { typed: "lower case" });
    expect(String.fromCharCode(...translator.fromTerminal(asciiBytes("DIR 1\r"), 0).toHost)).toBe("dir 1\r");
  });

  it("takes any bytes from both sides", () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ maxLength: 120 }),
        fc.constantFrom(...terminals.keys()),
        fc.boolean(),
        (bytes, id, pan) => {
          const translator = createTranslator({ columns: 80, rows: 24 }, ability(id), {
            wide: pan ? "pan" : "reflow",
            status: pan,
            panKey: 0x10,
          });
          translator.start(0);
          translator.fromHost(bytes, 1);
          translator.fromTerminal(bytes, 2);
          const there = new Screen(ability(id));
          expect(there.rows).toBe(translator.shown.rows);
        },
      ),
      { seed: 4, numRuns: 200 },
    );
  });
});
